//! What `assay` is told of the calibrated plane: checks, kit, adapters.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::support::{GOOD_75, Run, codes, folder, run_in, sweeps_of};

/// The invented sweeps of an analyser that calls its kit ideal.
fn example() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/fog-signal-raw")
}

fn assay(options: &str) -> Run {
    let sweeps = "assay --json --open ideal-open.s1p --load ideal-load.s1p --length 3.150m";
    let all = format!("{sweeps} {options}");
    let arguments: Vec<&str> = all.split_whitespace().collect();
    run_in(&example(), &arguments)
}

#[track_caller]
fn number(finding: &Value, at: &str) -> f64 {
    let value = finding.pointer(at).and_then(Value::as_f64);
    value.unwrap_or_else(|| panic!("no number at {at} in {finding:#}"))
}

/// `examples/fog-signal-raw/notes.md`: what is really there.
const TRUE_OHM: f64 = 49.82;
const TRUE_LOSS_DB: f64 = 0.4059;

fn loss_at_100_mhz(finding: &Value) -> (f64, f64) {
    let rows = finding["loss"].as_array().unwrap();
    let row = rows.iter().find(|r| r["at_hz"] == 1e8).unwrap();
    (row["db"].as_f64().unwrap(), row["u95_db"].as_f64().unwrap())
}

#[test]
fn checks_narrow_the_loss_and_show_in_the_finding() {
    let without = assay("--kit kit.toml").has_code(0).json();
    let with = assay("--kit kit.toml --check open=check-open.s1p --check short=check-short.s1p");
    let with = with.has_code(0).json();
    let ((_, wide), (loss_db, narrow)) = (loss_at_100_mhz(&without), loss_at_100_mhz(&with));
    assert!(narrow < 0.95 * wide, "{narrow} against {wide}");
    assert!(
        (loss_db - TRUE_LOSS_DB).abs() <= narrow,
        "{loss_db} ± {narrow}"
    );
    assert_eq!(with["sweeps"][2]["far_end"], "open at the plane");
    let off = number(&with, "/sweeps/2/off_rms");
    assert!((1e-4..0.01).contains(&off), "{off}");
    assert_eq!(codes(&with), Vec::<&str>::new());
}

#[test]
fn a_kit_tells_the_loads_value_and_corrected_sweeps_have_it() {
    let by_kit = assay("--kit kit.toml").has_code(0).json();
    let out = folder("plane-corrected", &[]);
    let out_text = out.display().to_string();
    let arguments = [
        "correct",
        "--overwrite",
        "--kit",
        "kit.toml",
        "--called-ideal",
        "--out",
        &out_text,
        "ideal-open.s1p",
        "ideal-load.s1p",
    ];
    run_in(&example(), &arguments).has_code(0);
    let kit = example().join("kit.toml").display().to_string();
    let arguments = [
        "assay",
        "--json",
        "--corrected",
        "--kit",
        &kit,
        "--open",
        "ideal-open-corrected.s1p",
        "--load",
        "ideal-load-corrected.s1p",
        "--length",
        "3.150m",
    ];
    let corrected = run_in(&out, &arguments).has_code(0).json();
    for finding in [by_kit, corrected] {
        let (ohm, u95) = (
            number(&finding, "/impedance/ohm"),
            number(&finding, "/impedance/u95_ohm"),
        );
        assert!((ohm - TRUE_OHM).abs() <= u95 && u95 < 0.08, "{ohm} ± {u95}");
    }
}

#[test]
fn an_adapter_comes_off_the_delay_and_widens_it() {
    let plain = assay("--kit kit.toml").has_code(0).json();
    let with = assay("--kit kit.toml --adapter near=100ps+-5ps")
        .has_code(0)
        .json();
    let shorter = number(&plain, "/delay/one_way_s") - number(&with, "/delay/one_way_s");
    // Limits of 5 ps are a standard uncertainty of 2.9 ps.
    assert!((shorter - 100e-12).abs() < 3e-12, "{shorter}");
    let u95 = number(&with, "/delay/u95_s");
    assert!((4e-12..8e-12).contains(&u95), "{u95}");
}

#[test]
fn what_is_said_of_the_plane_and_makes_no_sense_is_refused() {
    let cases = [
        (
            "--check open=ideal-load.s1p",
            1,
            "is not the calibration's open",
        ),
        ("--adapter middle=100ps", 2, "near=sma-bnc"),
        ("--adapter near=3kg", 2, "3kg"),
        ("--adapter near=none.s2p", 2, "none.s2p"),
        ("--adapter far=kit-load.csv", 2, "kit-load.csv"),
        ("--kit notes.md", 2, "is no kit"),
        ("--corrected", 2, "--kit"),
    ];
    for (options, code, wanted) in cases {
        let run = assay(options).has_code(code);
        assert!(run.stderr.contains(wanted), "{options}: {}", run.stderr);
    }
}

/// A resistor of 75 ohm reads 0.2 against 50 ohm, whatever the frequency.
#[test]
fn a_mismatch_is_a_check_and_comes_back_from_the_shelf() {
    let folder = sweeps_of("mismatch", GOOD_75);
    let flat: Vec<String> = (0..201)
        .map(|i| format!("{} 0.2002 0.0001\n", 1e5 + 1.5e6 * f64::from(i)))
        .collect();
    let flat = flat.concat();
    std::fs::write(folder.join("r75.s1p"), format!("# Hz S RI R 50\n{flat}")).unwrap();
    let of = |line: &str| run_in(&folder, &line.split_whitespace().collect::<Vec<_>>());
    let assay = "assay open.s1p load.s1p --length 1.497m --json";
    let checked = of(&format!(
        "{assay} --check 75ohm+-0.1ohm=r75.s1p --shelve x --shelf s.db"
    ));
    let finding = checked.has_code(0).json();
    assert_eq!(
        finding["sweeps"][2]["far_end"], "75ohm+-0.1ohm at the plane",
        "{finding:#}"
    );
    assert!(finding["sweeps"][2]["off_rms"].as_f64().unwrap() < 2e-2);
    let z = &finding["impedance"];
    let off = z["ohm"].as_f64().unwrap() - GOOD_75.impedance_ohm(1e8);
    assert!(off.abs() < z["u95_ohm"].as_f64().unwrap(), "{z}");
    let without = of(assay).json();
    let u95 = |f: &serde_json::Value| f["loss"][1]["u95_db"].as_f64().unwrap();
    assert!(
        u95(&finding) < u95(&without),
        "{} {}",
        u95(&finding),
        u95(&without)
    );
    of("shelf again x --keep --shelf s.db").has_code(0);
    let refused = of(&format!("{assay} --check 75ohm=open.s1p")).has_code(1);
    assert!(
        refused.stderr.contains("is not the 75ohm at the plane"),
        "{}",
        refused.stderr
    );
    let unknown = of(&format!("{assay} --check mismatch=r75.s1p")).has_code(2);
    assert!(
        unknown.stderr.contains("`mismatch` is no part"),
        "{}",
        unknown.stderr
    );
}
