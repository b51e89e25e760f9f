//! Condition and verdict, with the criteria that they are made by.

use serde_json::Value;

use crate::support::{GOOD_75, Run, folder, run_in, sweeps_of};

fn assay(name: &str, options: &[&str]) -> Run {
    let common = [
        "assay", "--json", "open.s1p", "load.s1p", "--length", "1.497m",
    ];
    run_in(&sweeps_of(name, GOOD_75), &[&common, options].concat())
}

fn failed(finding: &Value) -> Vec<&str> {
    let criteria = finding["verdict"]["criteria"].as_array().unwrap();
    criteria
        .iter()
        .filter(|c| c["passed"] == false)
        .map(|c| c["name"].as_str().unwrap())
        .collect()
}

#[test]
fn a_good_cable_is_kept() {
    let finding = assay("keep", &["--marked-loss", "10.7dB/100m@100MHz"])
        .has_code(0)
        .json();
    assert_eq!(finding["condition"], "sound");
    assert_eq!(finding["verdict"]["action"], "keep", "{finding:#}");
    assert_eq!(failed(&finding), Vec::<&str>::new());
}

/// A quarter wave of loss A turns 50 ohm to Z(1 + ρt)/(1 − ρt) with ρ = (Z − 50)/(Z + 50) and
/// t = 10^(−A/10); its SWR against 50 ohm loses 10 lg((S + 1)²/4S) by mismatch (closed forms).
#[test]
fn the_wrong_impedance_is_priced() {
    let finding = assay("elsewhere", &["--system-impedance", "50ohm"])
        .has_code(0)
        .json();
    assert_eq!(finding["verdict"]["action"], "use-elsewhere");
    let reasons = finding["verdict"]["reasons"].to_string();
    let z = GOOD_75.impedance_ohm(1e8);
    let rows = finding["loss"].as_array().unwrap();
    let at_100 = rows.iter().find(|row| row["at_hz"] == 1e8).unwrap();
    let turned = (z - 50.0) / (z + 50.0) * 10f64.powf(-at_100["db"].as_f64().unwrap() / 10.0);
    let swr = z / 50.0 * (1.0 + turned) / (1.0 - turned);
    let lost_db = 10.0 * ((swr + 1.0).powi(2) / (4.0 * swr)).log10();
    let priced = format!("at the worst length VSWR {swr:.2} and {lost_db:.2} dB mismatch loss");
    assert!(reasons.contains(&priced), "{reasons}, not {priced}");
    assert_eq!(failed(&finding), ["impedance_tolerance"]);
}

/// Open or loaded, the far end looks open: the cable is broken, here at its end of 1.5 m out of 3 m.
#[test]
fn a_load_that_is_not_seen_is_behind_a_break() {
    let [open, load] = [0.0, 1.0].map(|shift| GOOD_75.touchstone_from("open", 1e5 + shift, 1.5e6));
    let folder = folder("broken", &[("open.s1p", open), ("load.s1p", load)]);
    let arguments = "assay --json --open open.s1p --load load.s1p --length 3m \
                     --marked-velocity-factor 0.66";
    let arguments: Vec<&str> = arguments.split_whitespace().collect();
    let finding = run_in(&folder, &arguments).has_code(0).json();
    assert_eq!(finding["condition"], "faulty", "{finding:#}");
    let event = &finding["events"][0];
    assert_eq!(event["kind"], "open");
    let (at_m, u95_m) = (
        event["at_m"].as_f64().unwrap(),
        event["u95_m"].as_f64().unwrap(),
    );
    // 7.57 ns at a velocity factor of 0.66
    assert!((at_m - 1.498).abs() < u95_m, "{at_m} ± {u95_m}");
    assert_eq!(finding["verdict"]["action"], "repair");
    let reasons = finding["verdict"]["reasons"].to_string();
    assert!(reasons.contains("from the other end"), "{reasons}");
}

#[test]
fn a_clubs_own_criteria_count() {
    let strict = "most_loss_db = 0.1\n".to_owned();
    let folder = sweeps_of("criteria", GOOD_75);
    std::fs::write(folder.join("strict.toml"), strict).unwrap();
    std::fs::write(folder.join("wrong.toml"), "most_los_db = 0.1\n").unwrap();
    let with = |file: &str| {
        let arguments = [
            "assay",
            "--json",
            "open.s1p",
            "--use",
            "100MHz",
            "--criteria",
            file,
        ];
        run_in(&folder, &arguments)
    };
    let finding = with("strict.toml").has_code(0).json();
    assert_eq!(failed(&finding), ["most_loss_db"]);
    with("wrong.toml").has_code(2);
    with("nowhere.toml").has_code(2);
}
