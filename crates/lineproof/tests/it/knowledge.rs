//! `lineproof types`, `use`, `cut`, `network` and `remove-line`, and types in a finding.

use crate::support::{GOOD_75, Run, folder, run, run_in, sweeps_of};

/// Runs the program with options separated by blanks.
fn lineproof(line: &str) -> Run {
    run(&line.split_whitespace().collect::<Vec<_>>())
}

#[test]
fn users_errors_are_named() {
    let cases = [
        ("types LMR-401", 2, "near it are `LMR-400`"),
        ("types RG-58", 2, "`RG-58` is the name of several types"),
        ("types --own nowhere.toml", 4, "cannot read `nowhere.toml`"),
        ("types --ohms 17", 3, "0 types"),
        ("use --frequency 145MHz", 2, "say which cable"),
        ("use --type RG-213 --frequency 145", 2, "145MHz"),
        (
            "use --type RG-213 --frequency 145MHz",
            3,
            "no length of its own",
        ),
        ("use --type RG-213 --frequency 145MHz --run 20", 2, "20m"),
        ("use --type RG-213 --frequency 145MHz --run -20m", 2, "-20m"),
        (
            "use --type RG-213 --frequency 30GHz --run 20m",
            3,
            "beyond the catalogue's figures: they reach from",
        ),
        (
            "use --type RG-213 --frequency 145MHz --run 20m --swr 0.5",
            2,
            "0.5",
        ),
        (
            "use --type RG-213 --frequency 145MHz --run 20m --load-impedance 0+j50ohm",
            2,
            "takes no power",
        ),
        (
            "use --type RG-213 --finding x.json --frequency 145MHz",
            2,
            "one of --type, --finding",
        ),
        (
            "use --finding nowhere.json --frequency 145MHz",
            4,
            "cannot read `nowhere.json`",
        ),
        (
            "cut phasing --type RG-213 --frequency 7MHz --angle 84",
            2,
            "`84deg`",
        ),
        (
            "cut phasing --type RG-213 --frequency 145MHz --angle 2deg --plug-delay 1ns",
            2,
            "the plugs alone",
        ),
        (
            "cut transformer --type RG-213 --frequency 7MHz --from 50ohm --to 0ohm",
            2,
            "expected more than nought",
        ),
        (
            "cut stub --type RG-213 --frequency 7MHz --end short",
            2,
            "--notch",
        ),
        (
            "cut stub --type RG-213 --frequency 7MHz --end short --match 0+j5ohm",
            2,
            "takes no power",
        ),
        (
            "cut fault --at 30m --whole 20m",
            2,
            "outside of the cable's 20 m",
        ),
        (
            "network --type RG-213 --run 20m --sweep 1GHz..1MHz --write x.s2p",
            2,
            "rising range",
        ),
        (
            "network --type RG-213 --run 20m --write nowhere/x.s2p",
            5,
            "cannot write `nowhere/x.s2p`",
        ),
        (
            "remove-line nowhere.s1p --type RG-213 --run 20m",
            4,
            "cannot open `nowhere.s1p`",
        ),
    ];
    for (line, code, wanted) in cases {
        let run = lineproof(line).has_code(code);
        let said = format!("{}{}", run.stdout, run.stderr);
        assert!(said.contains(wanted), "{line}: {said}");
    }
}

#[test]
fn a_file_of_own_types_is_checked_and_used() {
    let wrong =
        "[[type]]\ndesignation = \"Oil store\"\nimpedance = \"50\"\nvelocity_factor = 0.8\n";
    let right = "[[type]]\ndesignation = \"Oil store\"\nimpedance = \"50ohm\"\nvelocity_factor = 0.8\n\
                 loss = [\"9.1dB/100m@100MHz\", \"18.9dB/100m@400MHz\"]\n";
    let place = folder(
        "own-types",
        &[
            ("wrong.toml", wrong.to_owned()),
            ("right.toml", right.to_owned()),
        ],
    );
    let refused = run_in(&place, &["types", "--own", "wrong.toml"]).has_code(2);
    assert!(
        refused.stderr.contains("type `Oil store`: impedance: "),
        "{}",
        refused.stderr
    );
    let listed = run_in(&place, &["types", "--own", "right.toml", "--with", "oil"]).has_code(0);
    assert!(listed.stdout.contains("Oil store"), "{}", listed.stdout);
    let options = "use --own right.toml --type oilstore --frequency 200MHz --run 10m --json";
    let used = run_in(&place, &options.split(' ').collect::<Vec<_>>())
        .has_code(0)
        .json();
    let loss = used["matched_loss"]["db"].as_f64().unwrap();
    assert!((1.2..1.5).contains(&loss), "{loss}");
}

/// Belden 8267 prints 101 pF/m and 748 W at 100 MHz; the figures stand with their source.
#[test]
fn a_type_is_shown_with_its_sources() {
    let shown = lineproof("types RG-213").has_code(0).stdout;
    for wanted in [
        "[B8267]",
        "748 W",
        "101 pF/m",
        "8267 Technical Data",
        "CC BY 4.0",
    ] {
        assert!(shown.contains(wanted), "{wanted} in {shown}");
    }
}

#[test]
fn what_is_seen_names_a_type() {
    let line = "types --seen-impedance 75ohm --seen-velocity-factor 0.66 --seen-loss 11.2dB/100m@100MHz \
                --seen-diameter 6.1mm --json";
    let found = lineproof(line).has_code(0).json();
    assert_eq!(found["types"][0]["designation"], "RG-59B/U", "{found}");
}

/// QW-02 and VF-03 of the check values: a quarter wave at
/// 14.1 MHz and velocity factor 0.66 is 3.51 m.
#[test]
fn pieces_are_cut_as_the_handbook_says() {
    let quarter = lineproof(
        "cut transformer --type RG-59B/U --frequency 14.1MHz --from 50ohm --to 100ohm --json",
    );
    let quarter = quarter.has_code(0).json();
    assert!((quarter["transformer"]["wanted_ohm"].as_f64().unwrap() - 70.71).abs() < 0.005);
    let length = quarter["pieces"][0]["length_m"].as_f64().unwrap();
    assert!((length - 3.51).abs() < 0.005, "{length}");
    let cut = quarter["pieces"][0]["cut_m"].as_f64().unwrap();
    assert!(cut > length);
    let feet = lineproof("cut half-wave --type RG-213 --frequency 7.1MHz --feet").has_code(0);
    assert!(feet.stdout.contains(" ft "), "{}", feet.stdout);
}

#[test]
fn an_assay_names_types_and_serves_every_later_question() {
    let place = sweeps_of("knowledge", GOOD_75);
    let sweeps = [
        "--open", "open.s1p", "--load", "load.s1p", "--length", "1.50m",
    ];
    let assay = [&["assay", "--json"], &sweeps[..]].concat();
    let finding = run_in(&place, &assay).has_code(0);
    let types = finding.json()["types"].clone();
    let all: f64 = types
        .as_array()
        .unwrap()
        .iter()
        .map(|t| t["probability"].as_f64().unwrap())
        .sum();
    assert!((0.9..=1.0 + 1e-9).contains(&all), "{types}");
    let first = types[0].to_string();
    assert!(first.contains("RG-59B/U"), "{types}");
    std::fs::write(place.join("finding.json"), &finding.stdout).unwrap();

    let asked = [
        "--frequency",
        "145MHz",
        "--run",
        "15m",
        "--system",
        "50ohm",
        "--json",
    ];
    let from_sweeps = [&["use"], &sweeps[..], &asked].concat();
    let from_sweeps = run_in(&place, &from_sweeps).has_code(0).json();
    let from_file = [&["use", "--finding", "finding.json"], &asked[..]].concat();
    let from_file = run_in(&place, &from_file).has_code(0).json();
    let [a, b] = [&from_sweeps, &from_file].map(|v| v["matched_loss"]["db"].as_f64().unwrap());
    // 0.16 dB/1.5 m at 100 MHz, as √f: 1.93 dB for 15 m at 145 MHz.
    assert!(
        (a - 1.93).abs() < 0.1 && (a / b - 1.0).abs() < 0.05,
        "{a} {b}"
    );
    // 75 ohm in 50: steps of 0.2 at both ends, the far one less twice the loss, SWR 1.94.
    let worst = from_file["wrong_impedance"]["worst_input_swr"]
        .as_f64()
        .unwrap();
    assert!((worst - 1.94).abs() < 0.03, "{worst}");

    let file = "network --finding finding.json --run 30m --sweep 10MHz..200MHz --points 20 --write long.s2p";
    run_in(&place, &file.split(' ').collect::<Vec<_>>()).has_code(0);
    let text = std::fs::read_to_string(place.join("long.s2p")).unwrap();
    assert!(text.contains("computed, not measured: 30 m"), "{text}");

    // The open end of the piece, seen through the piece itself.
    let removal = "remove-line open.s1p --finding finding.json --json";
    let seen = run_in(&place, &removal.split(' ').collect::<Vec<_>>());
    let seen = seen.json();
    let rows = seen["far_end"].as_array().unwrap();
    let row = &rows[rows.len() / 2];
    let size = row["reflection"][0]
        .as_f64()
        .unwrap()
        .hypot(row["reflection"][1].as_f64().unwrap());
    assert!((size - 1.0).abs() < 0.02, "{row}");
}
