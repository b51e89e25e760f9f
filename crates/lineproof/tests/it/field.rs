//! Stories of the field: what a person there types, and what must not be answered. Cables and analyser are the
//! simulator's; each test names the wrong answer that it keeps away.

use lineproof_core::bench::FarEnd;
use lineproof_core::sweep::Sweep;
use lineproof_simulator::touchstone::{Notation, one_port};
use lineproof_simulator::{Body, Cable, Scenario, Water, linear_grid};
use serde_json::Value;

use crate::support::{codes, folder, run_in};

const BOTH: [FarEnd; 2] = [FarEnd::Open, FarEnd::Load];

/// A cable with this body, swept with both ends.
pub(crate) fn line(body: Body) -> Scenario {
    Scenario::new(Cable::solid_pe_50(), body.length_m())
        .with_body(body)
        .ended_by(&BOTH)
        .on_grid(linear_grid(1e6, 200e6, 401))
}

/// Assays sweeps in files of these names; `{}` in the options stands for nothing.
fn assay(name: &str, files: &[(&str, &Sweep)], options: &str) -> Value {
    let texts: Vec<(&str, String)> = files
        .iter()
        .map(|(file, sweep)| (*file, one_port(sweep, Notation::Ri, "invented")))
        .collect();
    let folder = folder(name, &texts);
    let mut arguments = vec!["assay", "--json"];
    arguments.extend(options.split_whitespace());
    run_in(&folder, &arguments).json()
}

/// The sweeps alone.
pub(crate) fn swept(scenario: &Scenario, seed: u64) -> Vec<Sweep> {
    let sweeps = scenario.simulate(seed).unwrap().sweeps;
    sweeps.into_iter().map(|(_, sweep)| sweep).collect()
}

/// Open and loaded sweep, declared.
fn declared(name: &str, body: Body, seed: u64, options: &str) -> Value {
    let sweeps = swept(&line(body), seed);
    let files = [("open.s1p", &sweeps[0]), ("load.s1p", &sweeps[1])];
    let options = format!("--open open.s1p --load load.s1p {options}");
    assay(name, &files, &options)
}

fn action(finding: &Value) -> &str {
    finding["verdict"]["action"].as_str().unwrap()
}

#[track_caller]
fn is_not_called_good(finding: &Value) {
    assert_ne!(finding["condition"], "sound", "{finding:#}");
    assert!(
        !["keep", "use-elsewhere"].contains(&action(finding)),
        "{finding:#}"
    );
}

/// A broken cable whose sweeps are named for what was screwed on was "sound, keep".
#[test]
fn a_broken_cable_whose_ends_are_named_only() {
    for (k, body) in [
        Body::broken(Cable::solid_pe_50(), 7.0),
        Body::shorted(Cable::solid_pe_50(), 7.0),
    ]
    .into_iter()
    .enumerate()
    {
        let sweeps = swept(&line(body), 40 + k as u64);
        let files = [("open.s1p", &sweeps[0]), ("load.s1p", &sweeps[1])];
        for marked in ["", "--marked-impedance 50 --marked-velocity-factor 0.66"] {
            let options = format!("open.s1p load.s1p --length 12.00m {marked}");
            let finding = assay(&format!("field-broken-{k}"), &files, &options);
            is_not_called_good(&finding);
            assert!(codes(&finding).contains(&"far-end-mismatch"), "{finding:#}");
        }
    }
}

/// Two sweeps that each look like the other's end are swapped names; the answer is given.
#[test]
fn swapped_names_are_said_and_answered() {
    let sweeps = swept(&line(Body::sound(Cable::solid_pe_50(), 6.0)), 3);
    let files = [("load.s1p", &sweeps[0]), ("open.s1p", &sweeps[1])];
    for options in ["open.s1p load.s1p", "--open open.s1p --load load.s1p"] {
        let finding = assay(
            "field-swapped",
            &files,
            &format!("{options} --length 6.000m"),
        );
        assert!(codes(&finding).contains(&"names-swapped"), "{finding:#}");
        assert_eq!(finding["condition"], "sound", "{finding:#}");
        let ohm = finding["impedance"]["ohm"].as_f64().unwrap();
        assert!((ohm - 50.0).abs() < 2.0, "{ohm}");
    }
}

/// A name claims what its sheet says. Belden 8267: 2.1 dB/100 ft at 100 MHz; this cable loses three times
/// that.
#[test]
fn a_name_is_compared_with_its_sheet() {
    let good = Cable::solid_pe_50();
    let lossy = Cable {
        corrosion_factor: 4.0,
        ..good
    };
    let finding = declared(
        "field-sheet",
        Body::sound(lossy, 12.0),
        5,
        "--length 12.000m --marked RG-213",
    );
    assert_ne!(finding["condition"], "sound", "{finding:#}");
    assert_eq!(
        finding["marking"]["agrees"], false,
        "{:#}",
        finding["marking"]
    );
    let differences = finding["marking"]["differences"].to_string();
    assert!(differences.contains("the sheet of RG-213"), "{differences}");
}

/// What the piece loses as it lies. A resistance R in series with a matched line of Z0 loses
/// 20 log(1 + R/2Z0) (Pozar, Microwave Engineering, 4th ed., example 4.6), beside what the cable loses itself.
#[test]
fn the_loss_of_a_bad_joint_is_in_the_insertion_loss() {
    let cable = Cable::solid_pe_50();
    let ohm = 25.0;
    let body = Body::with_joint(cable, 10.0, 4.0, ohm, 0.0);
    let finding = declared(
        "field-joint",
        body,
        7,
        "--length 10.000m --marked-impedance 50 --marked-velocity-factor 0.66 --marked-loss 5dB/100m@100MHz",
    );
    let row = |key: &str| {
        let rows = finding[key].as_array().unwrap();
        let row = rows.iter().find(|r| r["at_hz"] == 1e8).unwrap();
        (row["db"].as_f64().unwrap(), row["u95_db"].as_f64().unwrap())
    };
    let z0 = cable.impedance_ohm(1e8).re;
    let wanted = 10.0 * cable.loss_db_m(1e8) + 20.0 * (1.0 + ohm / (2.0 * z0)).log10();
    let (db, u95) = row("insertion_loss");
    // plugs and the wave between plug and joint ripple it by a few hundredths
    assert!(
        (db - wanted).abs() < u95.max(0.1),
        "{db} ± {u95}, wanted {wanted}"
    );
    assert!(row("loss").0 < 0.6 * db);
    let criteria = finding["verdict"]["criteria"].as_array().unwrap();
    let loss = criteria
        .iter()
        .find(|c| c["name"].as_str().unwrap().starts_with("loss"));
    assert_eq!(loss.unwrap()["passed"], false, "{criteria:#?}");
}

/// 20 m broken 0.35 m from the plug was "discard, no piece of 50 cm or more remains".
#[test]
fn what_lies_beyond_a_break_is_not_thrown_away() {
    let sweeps = swept(&line(Body::broken(Cable::solid_pe_50(), 0.35)), 9);
    let files = [("open.s1p", &sweeps[0]), ("load.s1p", &sweeps[1])];
    let finding = assay(
        "field-near-break",
        &files,
        "--open open.s1p --load load.s1p --length 20.00m --marked-impedance 50 --marked-velocity-factor 0.66",
    );
    is_not_called_good(&finding);
    assert_ne!(action(&finding), "discard", "{:#}", finding["verdict"]);
}

/// A good jumper whose tape was typed double was to be cut off in its middle.
#[test]
fn a_doubled_tape_of_a_good_jumper_is_no_reason_to_cut() {
    let sweeps = swept(&line(Body::sound(Cable::solid_pe_50(), 1.78)), 11);
    let finding = assay(
        "field-double",
        &[("open.s1p", &sweeps[0])],
        "--open open.s1p --length 3.56m --marked-velocity-factor 0.66",
    );
    assert_eq!(action(&finding), "measure-again", "{finding:#}");
    assert_ne!(finding["condition"], "faulty");
    assert!(codes(&finding).contains(&"tape-slip"), "{finding:#}");
}

/// A tape that is off by a usual slip sets no place in metres.
#[test]
fn a_wrong_tape_sets_no_place() {
    for (factor, wanted) in [
        (2.0, "twice"),
        (0.5, "half"),
        (3.2808, "feet"),
        (0.3048, "metres"),
    ] {
        let body = Body::dented(Cable::solid_pe_50(), 8.0, 3.0, 0.05, 0.6);
        let options = format!(
            "--length {:.3}m --marked-velocity-factor 0.66",
            8.0 * factor
        );
        let finding = declared("field-tape", body, 13, &options);
        let events = finding["events"].as_array().unwrap();
        assert!(!events.is_empty(), "{finding:#}");
        for event in events {
            assert!(event.get("at_m").is_none(), "{factor}: {event:#}");
            assert!(event["one_way_s"].as_f64().unwrap() > 1e-8, "{event:#}");
        }
        assert_eq!(action(&finding), "measure-again", "{finding:#}");
        let warnings = finding["warnings"].to_string();
        assert!(
            warnings.contains("tape-slip") && warnings.contains(wanted),
            "{warnings}"
        );
    }
}

/// The open sweep of one cable and the loaded one of another are no cable.
#[test]
fn sweeps_of_two_cables_determine_neither() {
    let one = swept(&line(Body::sound(Cable::solid_pe_50(), 4.0)), 15);
    let other = swept(&line(Body::sound(Cable::foam_pe_75(), 7.0)), 16);
    let files = [("open.s1p", &one[0]), ("load.s1p", &other[1])];
    let finding = assay("field-two", &files, "--open open.s1p --load load.s1p");
    assert_eq!(finding["condition"], "undetermined", "{finding:#}");
    assert!(finding.get("impedance").is_none());
}

/// A cable marked 75 that is 50 was kept, "50 ± 2 ohm wanted".
#[test]
fn the_system_is_the_jackets() {
    let finding = declared(
        "field-jacket",
        Body::sound(Cable::solid_pe_50(), 5.0),
        17,
        "--length 5.000m --marked-impedance 75",
    );
    assert_eq!(finding["condition"], "sound", "{finding:#}");
    assert_eq!(
        action(&finding),
        "use-elsewhere",
        "{:#}",
        finding["verdict"]
    );
    assert_eq!(finding["marking"]["agrees"], false);
    let criteria = finding["verdict"]["criteria"].to_string();
    assert!(criteria.contains("75 ± 3.0 ohm"), "{criteria}");
}

/// Insertion loss and input of a cable marked 75 were between 50 ohm, which is only the analyser's.
#[test]
fn the_line_is_stated_in_the_jackets_system() {
    let finding = declared(
        "field-system",
        Body::sound(Cable::foam_pe_75(), 5.0),
        23,
        "--length 5.000m --marked-impedance 75",
    );
    for key in ["insertion_loss", "input"] {
        let rows = finding[key].as_array().unwrap();
        assert_eq!(rows.first().unwrap()["between_ohm"], 75.0, "{rows:#?}");
        assert_eq!(rows.last().unwrap()["between_ohm"], 50.0, "{rows:#?}");
    }
    // a 75-ohm line between 75 ohm loses what it loses matched
    let at_100 = |key: &str| {
        let rows = finding[key].as_array().unwrap();
        let row = rows.iter().find(|row| row["at_hz"] == 1e8).unwrap();
        row["db"].as_f64().unwrap()
    };
    let (matched, between) = (at_100("loss"), at_100("insertion_loss"));
    assert!((between - matched).abs() < 0.05, "{between} {matched}");
    let vswr = finding["input"][0]["vswr"].as_f64().unwrap();
    assert!(vswr < 1.15, "{vswr}");
}

/// A wet stretch loses more than the cable that the fit finds beside it.
#[test]
fn water_is_in_the_insertion_loss() {
    let water = Water {
        eps_r_factor: 1.3,
        added_tan_delta: 0.03,
        corrosion_factor: 1.5,
    };
    let body = Body::wet(Cable::solid_pe_50(), 12.0, 5.0, 2.0, water);
    let finding = declared("field-wet", body, 19, "--length 12.000m");
    let at = |key: &str| {
        let rows = finding[key].as_array().unwrap();
        rows.iter().find(|r| r["at_hz"] == 1e8).unwrap()["db"]
            .as_f64()
            .unwrap()
    };
    assert!(at("insertion_loss") > 1.2 * at("loss"), "{finding:#}");
}
