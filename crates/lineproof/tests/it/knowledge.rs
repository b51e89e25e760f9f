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
        ("types --own nowhere.toml", 2, "cannot open `nowhere.toml`"),
        ("types --ohms 17", 3, "0 types"),
        ("use --frequency 145MHz", 2, "name the cable"),
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
            "no cable is left to cut",
        ),
        (
            "cut transformer --type RG-213 --frequency 7MHz --from 50ohm --to 0ohm",
            2,
            "expected more than zero",
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
        ("cut fault", 2, "name the cable"),
        ("cut fault --at 30m", 2, "--whole"),
        ("cut fault --at -3m --whole 20m", 2, "-3m"),
        (
            "cut fault --shelved reel --shelf nowhere.db",
            4,
            "nowhere.db",
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

/// A joint of 30 ohm in the middle of the line in closed form: two pieces of its own delay in series with
/// a resistor. Sweeps, their finding and the shelf give the same cuts; each rest has half of delay and loss.
#[test]
fn a_fault_of_a_finding_is_cut_out() {
    let (half, resistor_ohm) = (GOOD_75.shortened(0.5), 30.0);
    let place = folder(
        "cut-fault",
        &["open", "load"].map(|end| {
            (
                end_file(end),
                half.with_joint_before(half, resistor_ohm, end),
            )
        }),
    );
    let sweeps = "--open open.s1p --load load.s1p --length 1.497m";
    let of = |verb: &str, rest: &str| {
        let line = format!("{verb} {rest} --json");
        run_in(&place, &line.split_whitespace().collect::<Vec<_>>())
    };
    let finding = of("assay", &format!("{sweeps} --shelve reel --shelf s.db")).has_code(0);
    std::fs::write(place.join("reel.json"), &finding.stdout).unwrap();
    let cut = of("cut fault", "--finding reel.json").has_code(0).json();
    assert_eq!(cut["faults"][0]["kind"], "joint", "{cut:#}");
    for same in ["--shelved reel --shelf s.db", sweeps] {
        let other = of("cut fault", same).has_code(0).json();
        assert_eq!(other["remains"], cut["remains"], "{same}");
    }
    let [near, far] = [&cut["remains"][0], &cut["remains"][1]];
    let out = &cut["fault"]["out_m"][0];
    assert_eq!(near["to_m"], out[0]);
    assert!(
        out[0].as_f64().unwrap() < 0.7485 && out[1].as_f64().unwrap() > 0.7485,
        "{cut:#}"
    );
    for piece in [near, far] {
        let number = |key: &str| piece[key].as_f64().unwrap();
        let share = number("length_m") / 1.497;
        let wanted_s = GOOD_75.delay_s(3e8) * share;
        assert!(
            (number("one_way_s") - wanted_s).abs() < number("u95_s"),
            "{piece}"
        );
        let wanted_db = GOOD_75.loss_db_at_100mhz * share;
        assert!(
            (number("loss_db") - wanted_db).abs() < number("u95_loss_db"),
            "{piece}"
        );
    }
    let text = run_in(&place, &["cut", "fault", "--finding", "reel.json"])
        .has_code(0)
        .stdout;
    assert!(
        text.contains("Afterwards") && text.contains("a bad joint at"),
        "{text}"
    );
}

/// Twice the swept piece, computed from its finding, against the closed form: within what the program
/// says, and the impedance at 10 MHz is not that at 300 MHz.
#[test]
fn a_file_of_a_found_cable_has_its_law_and_its_interval() {
    let place = sweeps_of("network", GOOD_75);
    let of = |line: &str| run_in(&place, &line.split_whitespace().collect::<Vec<_>>());
    let finding = of("assay open.s1p short.s1p load.s1p --load-ohms 50 --length 1.497m --json");
    std::fs::write(place.join("reel.json"), &finding.has_code(0).stdout).unwrap();
    let run = of(
        "network --finding reel.json --run 2.994m --sweep 10MHz..290MHz --points 29 --write l.s2p",
    );
    let run = run.has_code(0);
    assert!(run.stdout.contains("Known to (95 %)"), "{}", run.stdout);
    let text = std::fs::read_to_string(place.join("l.s2p")).unwrap();
    let options = lineproof_core::formats::ReadOptions::default();
    let read = lineproof_core::formats::read(text.as_bytes(), "l.s2p", &options).unwrap();
    let lineproof_core::formats::Network::TwoPort(sweep) = read.network else {
        panic!("one port: {text}")
    };
    let finding = of("use --finding reel.json --run 2.994m --frequency 100MHz --json").json();
    assert!(finding["schema"] == 1);
    for (i, freq_hz) in [(0, 10e6), (9, 100e6), (28, 290e6)] {
        let (s11, s21) = (sweep.s11()[i], sweep.s21()[i]);
        assert_eq!(sweep.freq_hz()[i], freq_hz);
        let wanted_db = 2.0 * GOOD_75.loss_db_at_100mhz * (freq_hz / 1e8).sqrt();
        // the impedance of a symmetrical two-port: Z² = Zref² ((1 + s11)² − s21²)/((1 − s11)² − s21²)
        let z =
            50.0 * (((1.0 + s11).powi(2) - s21 * s21) / ((1.0 - s11).powi(2) - s21 * s21)).sqrt();
        let said = stated(&text, freq_hz);
        assert!(
            (z.re - GOOD_75.impedance_ohm(freq_hz)).abs() < said[0].1,
            "{freq_hz}: {z} {said:?}"
        );
        assert!(
            (said[1].0 - wanted_db).abs() < said[1].1,
            "{freq_hz}: {wanted_db} {said:?}"
        );
        let wanted_deg = 360.0 * freq_hz * 2.0 * GOOD_75.delay_s(freq_hz);
        assert!(
            (said[2].0 - wanted_deg).abs() < said[2].1,
            "{freq_hz}: {wanted_deg} {said:?}"
        );
    }
    let [low, high] = [10e6, 290e6].map(|f| stated(&text, f)[0].0);
    assert!(low - high > 0.5 * (GOOD_75.impedance_ohm(10e6) - GOOD_75.impedance_ohm(290e6)));
}

/// What a computed file says of ohm, dB and degrees in the row nearest to a frequency, with half-widths;
/// loss and phase carried from there by √f and f.
fn stated(text: &str, freq_hz: f64) -> [(f64, f64); 3] {
    let rows = text.lines().filter_map(|line| {
        let (at_hz, rest) = line.strip_prefix("! ")?.split_once(" Hz: ")?;
        let pairs: Vec<(f64, f64)> = rest
            .split(", ")
            .filter_map(|part| {
                let mut words = part.split(' ');
                let value = words.next()?.parse().ok()?;
                Some((value, words.nth(1)?.parse().ok()?))
            })
            .collect();
        Some((at_hz.parse::<f64>().ok()?, pairs))
    });
    let (at_hz, pairs) = rows
        .min_by(|a, b| (a.0 - freq_hz).abs().total_cmp(&(b.0 - freq_hz).abs()))
        .unwrap();
    let ratio = freq_hz / at_hz;
    let scaled = |(value, u95): (f64, f64), by: f64| (value * by, u95 * by);
    [
        pairs[0],
        scaled(pairs[1], ratio.sqrt()),
        scaled(pairs[2], ratio),
    ]
}

/// A type of one's own that the catalogue does not have is named by an assay, and kept with it.
#[test]
fn an_assay_names_a_type_of_ones_own() {
    let own = "[[type]]\ndesignation = \"Oil store reel\"\nimpedance = \"75ohm\"\nvelocity_factor = 0.66\n\
               loss = [\"10.7dB/100m@100MHz\", \"18.5dB/100m@300MHz\"]\n";
    let place = sweeps_of("own-in-assay", GOOD_75);
    std::fs::write(place.join("own.toml"), own).unwrap();
    std::fs::write(place.join("wrong.toml"), own.replace("75ohm", "75")).unwrap();
    let of = |line: &str| run_in(&place, &line.split_whitespace().collect::<Vec<_>>());
    let assay = "assay open.s1p load.s1p --length 1.497m --json";
    let without = of(assay).json()["types"].to_string();
    assert!(!without.contains("Oil store"), "{without}");
    let kept = of(&format!("{assay} --own own.toml --shelve oil --shelf s.db")).has_code(0);
    let types = kept.json()["types"].to_string();
    assert!(types.contains("Oil store reel"), "{types}");
    std::fs::remove_file(place.join("own.toml")).unwrap();
    of("shelf again oil --keep --shelf s.db").has_code(0);
    let again = of("shelf show oil --json --shelf s.db").has_code(0);
    assert!(again.stdout.contains("Oil store reel"), "{}", again.stdout);
    let refused = of(&format!("{assay} --own wrong.toml")).has_code(2);
    assert!(
        refused.stderr.contains("Oil store reel"),
        "{}",
        refused.stderr
    );
}

/// What a finding does not reach is named with what it does reach.
#[test]
fn beyond_the_sweep_nothing_is_made_up() {
    let place = sweeps_of("beyond", GOOD_75);
    let of = |line: &str| run_in(&place, &line.split_whitespace().collect::<Vec<_>>());
    let finding = of("assay open.s1p load.s1p --length 1.497m --json").has_code(0);
    std::fs::write(place.join("reel.json"), &finding.stdout).unwrap();
    std::fs::write(place.join("not.json"), "{}").unwrap();
    let cases = [
        (
            "use --finding reel.json --frequency 6GHz",
            3,
            "too far beyond the measured range",
        ),
        (
            "network --finding reel.json --sweep 1GHz..6GHz --write x.s2p",
            3,
            "too far beyond the measured range",
        ),
        (
            "network --finding reel.json --run -3m --write x.s2p",
            2,
            "-3m",
        ),
        ("remove-line open.s1p --finding reel.json --run 3", 2, "3m"),
        (
            "remove-line open.s1p --finding not.json",
            3,
            "not a finding of an assay",
        ),
        (
            "use --shelved reel --shelf s.db --frequency 145MHz",
            4,
            "s.db",
        ),
        ("assay open.s1p --length -2m", 2, "-2m"),
        ("assay open.s1p --length 2", 2, "2m"),
        ("assay open.s1p --frequency 145", 2, "145MHz"),
    ];
    for (line, code, wanted) in cases {
        let run = of(line).has_code(code);
        let said = format!("{}{}", run.stdout, run.stderr);
        assert!(said.contains(wanted), "{line}: {said}");
    }
    let carried = of("assay open.s1p load.s1p --frequency 1GHz --json").has_code(0);
    assert!(carried.stdout.contains("frequency-not-covered"));
}

#[test]
fn a_sound_cable_has_nothing_to_cut_out() {
    let place = sweeps_of("cut-sound", GOOD_75);
    let line = "cut fault --open open.s1p --load load.s1p --length 1.497m";
    let run = run_in(&place, &line.split_whitespace().collect::<Vec<_>>()).has_code(0);
    assert!(run.stdout.contains("Nothing to cut out"), "{}", run.stdout);
}

fn end_file(end: &str) -> &'static str {
    if end == "open" {
        "open.s1p"
    } else {
        "load.s1p"
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
