//! `lineproof assay`.

use std::process::{Command, Stdio};

use serde_json::Value;

use crate::support::{GOOD_75, Line, codes, folder, run, run_in, sweeps_of};

/// Closed-form data hold no errors of an analyser, so the estimate has to come this close.
const Z0_TOL_OHM: f64 = 0.3;
const DELAY_TOL_S: f64 = 10e-12;
const LOSS_TOL_DB: f64 = 0.02;

#[track_caller]
fn number(finding: &Value, at: &str) -> f64 {
    let value = finding.pointer(at).and_then(Value::as_f64);
    value.unwrap_or_else(|| panic!("no number at {at} in {finding:#}"))
}

fn known_cable(folder: &str) -> Value {
    let folder = sweeps_of(folder, GOOD_75);
    let arguments = "assay --json --open open.s1p --load load.s1p --short short.s1p \
                     --load-ohms 50.000 --length 1.500m";
    let arguments: Vec<&str> = arguments.split_whitespace().collect();
    run_in(&folder, &arguments).has_code(0).json()
}

#[test]
fn the_json_has_the_quantities_that_others_read() {
    let finding = known_cable("keys");
    assert_eq!(finding["schema"], 1);
    let ohm = number(&finding, "/impedance/ohm");
    assert!(
        (ohm - GOOD_75.impedance_ohm(1e8)).abs() < Z0_TOL_OHM,
        "{ohm}"
    );
    assert_eq!(number(&finding, "/impedance/at_hz"), 1e8);
    assert!(number(&finding, "/impedance/u95_ohm") > 0.0);
    assert!(finding["impedance"]["limited_by"].is_string());
    let delay_s = number(&finding, "/delay/one_way_s");
    assert!(
        (delay_s - GOOD_75.delay_s(3e8)).abs() < DELAY_TOL_S,
        "{delay_s}"
    );
    assert!(number(&finding, "/delay/u95_s") > 0.0);
    // the line of this test has no plugs, which the sweeps can't tell from short ones of 75 ohm
    let ratio = number(&finding, "/velocity_factor/ratio");
    let u95 = number(&finding, "/velocity_factor/u95");
    assert!(
        (ratio - 0.6595).abs() < u95 && u95 < 0.02,
        "{ratio} ± {u95}"
    );
    assert_eq!(number(&finding, "/length/m"), 1.5);
    assert_eq!(finding["length"]["basis"], "tape");
    assert_eq!(codes(&finding), Vec::<&str>::new());
}

#[test]
fn the_json_has_losses_and_methods_and_nothing_that_was_not_asked() {
    let finding = known_cable("rows");
    let rows = finding["loss"].as_array().unwrap();
    let row = rows.iter().find(|r| r["at_hz"] == 1e8).unwrap();
    let db = row["db"].as_f64().unwrap();
    assert!((db - GOOD_75.loss_db_at_100mhz).abs() < LOSS_TOL_DB, "{db}");
    assert!(row["u95_db"].is_f64() && row["db_per_100m"].is_f64());
    let methods = finding["methods"].as_array().unwrap();
    let quarter = methods
        .iter()
        .find(|m| m["name"] == "quarter wave")
        .unwrap();
    assert!((quarter["ohm"].as_f64().unwrap() - 75.0).abs() < 1.0);
    assert!(quarter["working"].as_str().unwrap().contains("sqrt"));
    assert!(finding.get("marking").is_none(), "nothing was claimed");
    assert_eq!(finding["condition"], "sound");
    assert_eq!(finding["events"].as_array().unwrap().len(), 0);
}

#[test]
fn far_ends_are_judged_and_the_judgement_is_stated() {
    let folder = sweeps_of("judged", GOOD_75);
    let arguments = ["assay", "--json", "open.s1p", "load.s1p", "short.s1p"];
    let finding = run_in(&folder, &arguments).has_code(0).json();
    let sweeps = finding["sweeps"].as_array().unwrap();
    let ends: Vec<&str> = sweeps
        .iter()
        .map(|s| s["far_end"].as_str().unwrap())
        .collect();
    assert_eq!(ends, ["open", "load", "short"]);
    // a line for each guess
    let wanted = [
        "far-end-guessed",
        "far-end-guessed",
        "far-end-guessed",
        "load-not-measured",
        "length-not-given",
    ];
    assert_eq!(codes(&finding), wanted);
    assert!(finding.get("velocity_factor").is_none());
    assert!(finding.get("length").is_none());
}

#[test]
fn a_wrong_far_end_is_noticed() {
    let folder = sweeps_of("mismatch", GOOD_75);
    let declared = run_in(&folder, &["assay", "--json", "--open", "short.s1p"]);
    assert!(codes(&declared.json()).contains(&"far-end-mismatch"));
    std::fs::copy(folder.join("short.s1p"), folder.join("open-2.s1p")).unwrap();
    let named = run_in(&folder, &["assay", "--json", "open-2.s1p"]).json();
    assert!(codes(&named).contains(&"far-end-mismatch"));
    // the name says what was screwed on; that the sweep looks otherwise may be the fault that is sought
    assert_eq!(named["sweeps"][0]["far_end"], "open");
    assert_ne!(named["condition"], "sound");
}

#[test]
fn the_text_starts_with_the_verdict_and_what_the_cable_is() {
    let folder = sweeps_of("text", GOOD_75);
    let known = ["--load-ohms", "50.000", "--length", "1.500m"];
    let arguments = [&["assay", "open.s1p", "load.s1p"], &known[..]].concat();
    let run = run_in(&folder, &arguments).has_code(0);
    let mut lines = run.stdout.lines();
    assert_eq!(
        lines.next(),
        Some("Keep it: sound, as far as these sweeps show.")
    );
    let wanted = "ohm coaxial cable, 1.500 m, velocity factor 0.67.";
    assert!(lines.next().unwrap().contains(wanted), "{}", run.stdout);
    assert!(run.stderr.is_empty(), "{}", run.stderr);
}

/// 60 to 169 lines; a screen has 24 to 30.
#[test]
fn the_answer_fits_on_a_screen_and_the_full_one_has_the_arithmetic() {
    let examples = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    for (sweeps, facts, most) in [
        (
            "harbour-75",
            "--load-ohms 50.05 --length 2.400m --marked-impedance 75",
            24,
        ),
        (
            "lamp-room-50",
            "--load-ohms 50.15 --length 1.780m --use 156MHz",
            24,
        ),
        (
            "drawer-mislabelled",
            "--load-ohms 50.44 --length 1.120m --marked-impedance 50",
            26,
        ),
        (
            "stairs-dented",
            "--load-ohms 50.05 --length 4.210m --marked-impedance 50",
            30,
        ),
    ] {
        let line = format!("assay {sweeps}/open.s1p {sweeps}/load.s1p {facts}");
        let arguments: Vec<&str> = line.split(' ').collect();
        let short = run_in(&examples, &arguments).has_code(0).stdout;
        let lines = short.lines().count();
        assert!(lines <= most, "{lines} lines:\n{short}");
        assert!(short.lines().all(|l| l.chars().count() <= 80), "{short}");
        let full = run_in(&examples, &[&arguments[..], &["--full"]].concat());
        let full = full.has_code(0).stdout;
        assert!(full.lines().next() == short.lines().next(), "{full}");
        let [warnings, arithmetic] =
            ["\nWarnings\n", "\nEach method by itself"].map(|h| full.find(h));
        assert!(arithmetic.is_some(), "{full}");
        assert!(warnings.is_none() || warnings < arithmetic, "{full}");
    }
}

#[test]
fn frequencies_that_the_sweep_does_not_reach_are_named() {
    let folder = sweeps_of("reach", GOOD_75);
    let arguments = [
        "assay",
        "--json",
        "open.s1p",
        "--frequency",
        "145MHz,1.2GHz",
    ];
    let finding = run_in(&folder, &arguments).has_code(0).json();
    assert!(codes(&finding).contains(&"frequency-not-covered"));
    for rows in ["loss", "impedances"].map(|key| finding[key].as_array().unwrap()) {
        let at = |hz: f64| rows.iter().find(|r| r["at_hz"] == hz).unwrap();
        assert!(at(145e6).get("extrapolated").is_none());
        assert_eq!(at(1.2e9)["extrapolated"], true);
    }
}

/// 40 m of solid polyethylene with a step that turns the phase 1.8 times from point to point.
fn folded(name: &str, length: &[&str], code: i32) -> Value {
    let line = Line {
        z0_ohm: 50.0,
        one_way_s: 202e-9,
        loss_db_at_100mhz: 5.0,
    };
    let texts = ["open", "load"].map(|end| line.touchstone_from(end, 4.5e6, 4.5e6));
    let [open, load] = texts;
    let folder = folder(name, &[("open.s1p", open), ("load.s1p", load)]);
    let arguments = ["assay", "--json", "open.s1p", "load.s1p"];
    run_in(&folder, &[&arguments, length].concat())
        .has_code(code)
        .json()
}

#[test]
fn a_folded_delay_is_not_stated() {
    let finding = folded("folded", &[], 3);
    assert_eq!(finding["condition"], "undetermined");
    for key in ["impedance", "delay", "velocity_factor", "helps", "loss"] {
        assert!(finding.get(key).is_none(), "{key}: {finding:#}");
    }
    assert!(codes(&finding).contains(&"delay-ambiguous"), "{finding:#}");
}

/// The tape was thrown out, and the delay that it contradicts was stated.
#[test]
fn the_tape_decides_between_delays_that_fit_alike() {
    let finding = folded("folded-tape", &["--length", "40.00m"], 0);
    let delay_s = finding["delay"]["one_way_s"].as_f64().unwrap();
    // 40 m of solid polyethylene, with two plugs
    assert!((delay_s / 202e-9 - 1.0).abs() < 0.01, "{delay_s:e}");
    assert!(!codes(&finding).contains(&"tape-slip"), "{finding:#}");
    // a tape that suits none of them decides nothing
    let finding = folded("folded-other-tape", &["--length", "1.00m"], 3);
    assert!(finding.get("delay").is_none(), "{finding:#}");
}

/// IEC 60028: the resistance of copper rises by 0.393 % per kelvin of that at 20 °C, so where skin
/// effect rules the loss of a line without dielectric loss rises by the root of that.
#[test]
fn the_loss_is_stated_at_20_degrees_if_the_temperature_is_known() {
    let folder = sweeps_of("warm", GOOD_75);
    let arguments = "assay --json open.s1p load.s1p short.s1p --temperature 45C";
    let arguments: Vec<&str> = arguments.split_whitespace().collect();
    let finding = run_in(&folder, &arguments).has_code(0).json();
    assert_eq!(finding["temperature_c"], 45.0);
    let rows = finding["loss"].as_array().unwrap();
    let row = rows.iter().find(|r| r["at_hz"] == 1e8).unwrap();
    let ratio = row["db_at_20c"].as_f64().unwrap() / row["db"].as_f64().unwrap();
    // what the fit gives to the dielectric does not change
    let wanted = (1.0 + 0.00393 * 25.0_f64).sqrt().recip();
    assert!(
        (wanted..wanted + 0.01).contains(&ratio),
        "{ratio}, {wanted}"
    );
    run_in(&folder, &["assay", "open.s1p", "--temperature", "45"]).has_code(2);
}

#[test]
fn what_would_help_is_told_with_its_figures() {
    let folder = sweeps_of("helps", GOOD_75);
    let finding = run_in(&folder, &["assay", "--json", "--open", "open.s1p"])
        .has_code(0)
        .json();
    let helps = finding["helps"].as_array().unwrap();
    for help in helps {
        let (now, then) = (number(help, "/u95_now"), number(help, "/u95_then"));
        assert!(then < 0.8 * now, "{help}");
    }
    let has = |quantity: &str, measure: &str| {
        helps
            .iter()
            .any(|h| h["quantity"] == quantity && h["measure"] == measure)
    };
    // one open sweep: the load's value limits the impedance, the plugs the delay
    assert!(has("impedance", "load-by-ohmmeter"), "{helps:#?}");
    assert!(has("delay", "short") || has("delay", "load"), "{helps:#?}");
    let advice = finding["advice"].to_string();
    assert!(
        advice.contains("would narrow the impedance from ±"),
        "{advice}"
    );
}

#[test]
fn a_length_in_the_wrong_unit_is_not_used() {
    let folder = sweeps_of("feet", GOOD_75);
    let arguments = ["assay", "--json", "open.s1p", "--length", "4.92m"];
    let finding = run_in(&folder, &arguments).has_code(0).json();
    let warnings = finding["warnings"].to_string();
    assert!(warnings.contains("tape-slip"), "{warnings}");
    assert!(warnings.contains("feet"), "{warnings}");
    assert!(finding.get("velocity_factor").is_none());
}

#[test]
fn one_bad_file_does_not_stop_the_rest_but_shows() {
    let folder = sweeps_of("bad", GOOD_75);
    std::fs::write(folder.join("garbage.s1p"), "a shopping list\nmilk\n").unwrap();
    let arguments = ["assay", "--json", "open.s1p", "garbage.s1p", "missing.s1p"];
    let run = run_in(&folder, &arguments).has_code(1);
    assert!(run.json()["impedance"].is_object());
    assert!(run.stderr.contains("garbage.s1p"), "{}", run.stderr);
    assert!(run.stderr.contains("missing.s1p"), "{}", run.stderr);
    let run = run_in(&folder, &["assay", "garbage.s1p"]).has_code(4);
    assert!(run.stdout.is_empty());
}

/// A name may hold anything but a slash; what steers a terminal must not reach it.
#[test]
fn names_of_files_cannot_steer_the_terminal() {
    let folder = sweeps_of("names", GOOD_75);
    let (sweep, garbage) = ("open\u{1b}[31m\n.s1p", "\u{7}garbage.s1p");
    std::fs::copy(folder.join("open.s1p"), folder.join(sweep)).unwrap();
    std::fs::write(folder.join(garbage), "milk\n").unwrap();
    let run = run_in(&folder, &["assay", sweep, garbage, "\u{1b}[2Jmissing.s1p"]).has_code(1);
    let steers = |c: char| c.is_control() && c != '\n';
    assert!(!run.stdout.contains(steers), "{:?}", run.stdout);
    assert!(!run.stderr.contains(steers), "{:?}", run.stderr);
    assert!(
        run.stdout.contains("open\u{FFFD}[31m\u{FFFD}.s1p"),
        "{}",
        run.stdout
    );
}

#[test]
fn an_undecidable_far_end_is_asked_for() {
    let text = "# MHz S RI R 50\n100 0.5 0.1\n".to_owned();
    let folder = folder("undecidable", &[("cable.s1p", text)]);
    let run = run_in(&folder, &["assay", "cable.s1p"]).has_code(4);
    assert!(run.stderr.contains("--open cable.s1p"), "{}", run.stderr);
}

#[test]
fn data_that_determine_nothing_end_with_their_own_code() {
    let text = "# MHz S RI R 50\n100 0.9 0.1\n".to_owned();
    let folder = folder("one-point", &[("open.s1p", text)]);
    let run = run_in(&folder, &["assay", "--json", "--open", "open.s1p"]).has_code(3);
    assert!(run.json().get("impedance").is_none());
    assert!(codes(&run.json()).contains(&"no-estimate"));
}

#[test]
fn a_bare_number_is_refused_where_the_unit_matters() {
    let folder = sweeps_of("bare", GOOD_75);
    let run = run_in(&folder, &["assay", "open.s1p", "--length", "1.5"]).has_code(2);
    let both = run.stderr.contains("1.5m") && run.stderr.contains("1.5ft");
    assert!(both, "{}", run.stderr);
}

#[test]
fn a_load_far_from_the_reference_has_two_readings() {
    let folder = sweeps_of("two-readings", GOOD_75);
    let arguments = ["assay", "open.s1p", "load.s1p", "--load-ohms", "100.1"];
    let run = run_in(&folder, &arguments).has_code(2);
    let both = ["--far-load-ohms 100.1", "calibration load"];
    assert!(
        both.iter().all(|b| run.stderr.contains(b)),
        "{}",
        run.stderr
    );
}

#[test]
fn help_and_version_are_answers_and_wrong_uses_are_not() {
    run(&["assay"]).has_code(2);
    run(&["assay", "--no-such-flag"]).has_code(2);
    let help = run(&["assay", "--help"]).has_code(0);
    assert!(help.stdout.contains("Examples:"));
    let version = run(&["--version"]).has_code(0);
    assert!(version.stdout.starts_with("lineproof "));
}

#[test]
fn a_closed_pipe_is_no_error() {
    let folder = sweeps_of("pipe", GOOD_75);
    let mut child = Command::new(env!("CARGO_BIN_EXE_lineproof"))
        .args(["assay", "open.s1p", "load.s1p"])
        .current_dir(&folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert!(output.stderr.is_empty());
}

/// What lies a cell away from both ends of a cable without plugs: its own impedance, within what the
/// analyser's residual is taken to shift it.
#[test]
fn the_view_along_the_cable_has_its_impedance_and_says_its_limits() {
    let folder = sweeps_of("along", GOOD_75);
    let arguments =
        "assay --json --load load.s1p --load-ohms 50.000 --length 1.500m --along along.csv";
    let arguments: Vec<&str> = arguments.split_whitespace().collect();
    run_in(&folder, &arguments).has_code(0);
    let text = std::fs::read_to_string(folder.join("along.csv")).unwrap();
    let limits: Vec<&str> = text.lines().filter(|l| l.starts_with('#')).collect();
    assert!(
        limits.iter().any(|l| l.contains("velocity factor of 0.66")),
        "{limits:?}"
    );
    assert!(
        limits.iter().any(|l| l.contains("are not resolved")),
        "{limits:?}"
    );
    let mut rows = text.lines().skip(limits.len());
    let columns: Vec<&str> = rows.next().unwrap().split(',').collect();
    let column = |name| columns.iter().position(|c| *c == name).unwrap();
    let (near, peeled) = (column("from_near_m"), column("peeled_ohm"));
    let mut seen = 0;
    for row in rows {
        let fields: Vec<&str> = row.split(',').collect();
        let place: f64 = fields[near].parse().unwrap();
        if (0.5..1.0).contains(&place) {
            let ohm: f64 = fields[peeled].parse().unwrap();
            assert!((ohm - 75.0).abs() < 0.5, "{ohm} at {place}");
            seen += 1;
        }
    }
    assert!(seen > 3, "{seen}");
}

#[test]
fn a_view_that_cannot_be_written_is_an_error() {
    let folder = sweeps_of("along-nowhere", GOOD_75);
    let arguments = ["assay", "open.s1p", "--along", "no/such/folder.csv"];
    let run = run_in(&folder, &arguments).has_code(5);
    assert!(run.stderr.contains("cannot write"), "{}", run.stderr);
}

/// Open swept and given as short, loaded swept and given as open: whatever the fit makes of it, no number
/// is stated, and the reason is.
#[test]
fn a_contradicted_far_end_is_not_explained_away() {
    let folder = sweeps_of("contradicted", GOOD_75);
    for line in [
        "--short open.s1p",
        "--open load.s1p",
        "--open open.s1p --short load.s1p",
    ] {
        let line = format!("assay --json {line} --length 1.497m");
        let run = run_in(&folder, &line.split_whitespace().collect::<Vec<_>>());
        let finding = run.has_code(3).json();
        assert_eq!(finding["condition"], "undetermined", "{line}: {finding:#}");
        assert!(
            finding["impedance"].is_null() && finding["delay"].is_null(),
            "{line}"
        );
        assert_eq!(finding["events"], serde_json::json!([]), "{line}");
        let said = codes(&finding);
        let why = ["far-end-contradicted", "no-estimate", "not-converged"];
        assert!(
            why.iter().any(|code| said.contains(code)),
            "{line}: {said:?}"
        );
    }
}
