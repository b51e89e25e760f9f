//! `lineproof shelf` and `assay --shelve`.

use std::path::Path;

use serde_json::Value;

use crate::support::{GOOD_75, Line, Run, folder, run_in, sweeps_of};

/// An assay of the sweeps in `folder`, kept in its own shelf.
fn shelved(folder: &Path, tag: &str, day: &str, more: &str) -> Run {
    let line = format!(
        "assay --json open.s1p load.s1p short.s1p --load-ohms 50.000 --length 1.500m \
         --shelve {tag} --shelf shelf.db --measured-on {day} {more}"
    );
    run_in(folder, &line.split_whitespace().collect::<Vec<_>>()).has_code(0)
}

fn shelf(folder: &Path, line: &str) -> Run {
    let words = line.split_whitespace();
    let arguments: Vec<&str> = ["shelf", "--shelf", "shelf.db"]
        .into_iter()
        .chain(words)
        .collect();
    run_in(folder, &arguments)
}

/// A folder with sweeps and no shelf yet.
fn bench(name: &str, line: Line) -> std::path::PathBuf {
    let folder = sweeps_of(name, line);
    for file in [
        "shelf.db",
        "shelf.db-wal",
        "shelf.db-shm",
        "all.zip",
        "copy.db",
    ] {
        let _may_not_exist = std::fs::remove_file(folder.join(file));
    }
    folder
}

#[test]
fn what_is_shelved_is_listed_shown_and_found_again() {
    let folder = bench("shelf-again", GOOD_75);
    let run = shelved(
        &folder,
        "mast-1",
        "2026-05-31",
        "--marked-impedance 75 --temperature 21C",
    );
    assert!(
        run.stderr.contains("stored under new cable `mast-1`"),
        "{}",
        run.stderr
    );
    let finding = run.json();
    let list = shelf(&folder, "list --json").has_code(0).json();
    assert_eq!(list["cables"][0]["tag"], "mast-1");
    assert_eq!(
        list["cables"][0]["impedance_ohm"],
        finding["impedance"]["ohm"]
    );
    let shown = shelf(&folder, "show MAST-1 --json").has_code(0).json();
    assert!(
        shown["assays"][0]["finding"] == finding,
        "as it was printed"
    );
    assert_eq!(shown["assays"][0]["at"], "2026-05-31T12:00:00Z");
    let again = shelf(&folder, "again --keep").has_code(0);
    assert!(
        again.stdout.contains("1 assay repeated, 0 differ"),
        "{}",
        again.stdout
    );
    let shown = shelf(&folder, "show mast-1 --json").json();
    assert_eq!(shown["assays"][0]["findings"], 2);
    assert_eq!(
        shown["assays"][0]["finding"], finding,
        "set-up and sweeps give the same again"
    );
}

/// A loss-free adapter of 100 ps, matched, from its definition: S21 = exp(−jωT).
pub(crate) fn adapter_file() -> String {
    let row = |mhz: f64| {
        let degrees = -360.0 * mhz * 1e6 * 100e-12;
        format!("{mhz} 0 0 1 {degrees} 1 {degrees} 0 0\n")
    };
    let rows: String = (1..=50).map(|n| row(20.0 * f64::from(n))).collect();
    format!("# MHz S MA R 50\n{rows}")
}

/// Kit, adapters, checks, criteria and purpose go with the assay, whatever becomes of their files.
#[test]
fn what_was_said_of_the_plane_holds_without_its_files() {
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/fog-signal-raw");
    let copied = |name: &'static str| (name, std::fs::read_to_string(example.join(name)).unwrap());
    let files = [
        copied("ideal-open.s1p"),
        copied("ideal-load.s1p"),
        copied("check-open.s1p"),
        copied("kit.toml"),
        (
            "strict.toml",
            "loss_excess = 0.01\nmost_loss_db = 0.01\n".to_owned(),
        ),
        ("pad.s2p", adapter_file()),
    ];
    let folder = folder("shelf-plane", &files);
    let _may_not_exist = std::fs::remove_file(folder.join("shelf.db"));
    let line = "assay --json --open ideal-open.s1p --load ideal-load.s1p --length 3.150m \
                --kit kit.toml --kit-note inherited --check open=check-open.s1p \
                --adapter near=pad.s2p --adapter far=20ps --use 145MHz --system-impedance 75 \
                --criteria strict.toml --shelve fog --shelf shelf.db";
    let arguments: Vec<&str> = line.split_whitespace().collect();
    let finding = run_in(&folder, &arguments).has_code(0).json();
    for (file, _) in &files {
        std::fs::remove_file(folder.join(file)).unwrap();
    }
    shelf(&folder, "again --keep").has_code(0);
    let shown = shelf(&folder, "show fog --json").json();
    assert_eq!(shown["assays"][0]["findings"], 2);
    assert_eq!(shown["assays"][0]["finding"], finding);
    let criteria = finding["verdict"]["criteria"].as_array().unwrap();
    let most = criteria.iter().find(|c| c["name"] == "most_loss_db");
    assert_eq!(most.unwrap()["passed"], false, "{finding:#}");
    let arguments = "report fog --output fog.html --shelf shelf.db".split(' ');
    run_in(&folder, &arguments.collect::<Vec<_>>()).has_code(0);
    let page = std::fs::read_to_string(folder.join("fog.html")).unwrap();
    for wanted in [
        "kit.toml",
        "inherited",
        "pad.s2p",
        "20ps",
        "145 MHz",
        "FAIL",
    ] {
        assert!(page.contains(wanted), "{wanted}");
    }
}

#[test]
fn a_cable_that_got_worse_is_noticed() {
    let folder = bench("shelf-worse", GOOD_75);
    shelved(&folder, "feeder", "2025-05-31", "");
    let worse = Line {
        loss_db_at_100mhz: 0.24,
        ..GOOD_75
    };
    sweeps_of("shelf-worse", worse);
    shelved(&folder, "feeder", "2026-05-31", "");
    let shown = shelf(&folder, "show feeder --json").has_code(0).json();
    let quantities: Vec<&Value> = shown["history"][0]["changes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|c| &c["quantity"])
        .collect();
    assert!(quantities.contains(&&Value::from("loss")), "{shown:#}");
    assert!(
        !quantities.contains(&&Value::from("velocity factor")),
        "{shown:#}"
    );
    let text = shelf(&folder, "show feeder").stdout;
    assert!(
        text.contains("loss up by") && text.contains("within a month"),
        "{text}"
    );
}

#[test]
fn the_same_cable_has_not_changed() {
    let folder = bench("shelf-same", GOOD_75);
    for day in ["2024-05-31", "2025-05-31", "2026-05-31"] {
        shelved(&folder, "feeder", day, "");
    }
    let shown = shelf(&folder, "show feeder --json").json();
    assert_eq!(shown["history"], serde_json::json!([]));
    assert_eq!(shown["retest_in_days"], 365.0);
    let trend = &shown["trend"];
    let growth = trend["db_per_year"].as_f64().unwrap();
    assert!(growth.abs() < trend["u95_db_per_year"].as_f64().unwrap());
}

#[test]
fn cables_are_edited_decided_on_and_retired() {
    let folder = bench("shelf-edit", GOOD_75);
    shelved(&folder, "a", "2026-05-31", "");
    shelf(&folder, "edit a --new-tag b --place loft").has_code(0);
    shelf(&folder, "decide b keep --why enough").has_code(0);
    shelf(&folder, "note b dusty").has_code(0);
    shelf(&folder, "photo b open.s1p --caption none").has_code(0);
    let text = shelf(&folder, "show b").has_code(0).stdout;
    for wanted in ["loft", "keep: enough", "dusty", "Photos: 1"] {
        assert!(text.contains(wanted), "{wanted} in {text}");
    }
    shelf(&folder, "retire b --why sold").has_code(0);
    assert!(shelf(&folder, "list").stdout.contains("No cable"));
    assert!(shelf(&folder, "list --all").stdout.contains("retired"));
    shelf(&folder, "take-back b").has_code(0);
    assert!(shelf(&folder, "list --text LOFT").stdout.contains("keep"));
    assert_eq!(shelf(&folder, "show a").code, 2);
    assert_eq!(shelf(&folder, "edit b").code, 2, "nothing to change");
}

#[test]
fn shelves_go_out_and_come_back() {
    let folder = bench("shelf-archive", GOOD_75);
    shelved(&folder, "a", "2026-05-31", "");
    shelf(&folder, "export all.zip").has_code(0);
    assert_eq!(
        shelf(&folder, "export all.zip").code,
        5,
        "nothing is overwritten"
    );
    shelf(&folder, "back-up copy.db").has_code(0);
    shelf(&folder, "check").has_code(0);
    let here = shelf(&folder, "show a --json").json();
    std::fs::remove_file(folder.join("shelf.db")).unwrap();
    assert_eq!(shelf(&folder, "show a").code, 4, "no shelf");
    shelf(&folder, "import all.zip").has_code(0);
    assert_eq!(shelf(&folder, "show a --json").json(), here);
    let copy = run_in(
        &folder,
        &["shelf", "show", "a", "--json", "--shelf", "copy.db"],
    );
    assert_eq!(copy.json(), here);
}

#[test]
fn a_finding_that_cannot_be_kept_is_printed_all_the_same() {
    let folder = bench("shelf-no-room", GOOD_75);
    std::fs::write(folder.join("shelf.db"), "a diary, and no shelf ".repeat(50)).unwrap();
    let arguments = [
        "assay", "--json", "open.s1p", "--shelve", "a", "--shelf", "shelf.db",
    ];
    let run = run_in(&folder, &arguments);
    assert_eq!(run.code, 5);
    assert!(run.stderr.contains("is not a shelf"), "{}", run.stderr);
    assert!(run.json()["sweeps"].is_array());
}
