//! Mistakes of measurement: each on a bench that has it and on one that has not.

use lineproof_core::bench::FarEnd;
use lineproof_core::formats::touchstone;
use lineproof_core::sweep::{Reverse, Sweep, ThroughSweep};
use lineproof_simulator::touchstone::{Notation, one_port};
use lineproof_simulator::{
    Body, Cable, Connector, Instrument, Kit, Piece, Resonance, Scenario, linear_grid,
};
use num_complex::Complex64;
use serde_json::Value;

use crate::support::{codes, folder, run_in};

/// Codes of this theme; none may stand on a good bench.
const CODES: [&str; 13] = [
    "adapter-in-length",
    "antenna-on",
    "contact-lost",
    "dielectric-lossy",
    "far-load-differs",
    "far-end-mismatch",
    "interference",
    "kink-in-band",
    "periodic-damage",
    "reflection-above-one",
    "repeats-differ",
    "standards-swapped",
    "unit-slip",
];

fn good() -> Scenario {
    Scenario::new(Cable::solid_pe_50(), 3.0)
        .ended_by(&[FarEnd::Open, FarEnd::Short, FarEnd::Load])
        .on_grid(linear_grid(1e6, 600e6, 401))
}

/// The sweeps of a scenario by far end.
fn swept(scenario: &Scenario, seed: u64) -> Vec<(FarEnd, Sweep)> {
    scenario.simulate(seed).unwrap().sweeps
}

/// Assays sweeps that are declared as they are listed.
fn assayed(name: &str, sweeps: &[(FarEnd, Sweep)], more: &str) -> Value {
    let files: Vec<(String, String)> = sweeps
        .iter()
        .enumerate()
        .map(|(i, (_, sweep))| {
            (
                format!("{i}.s1p"),
                one_port(sweep, Notation::Ri, "invented"),
            )
        })
        .collect();
    let listed: Vec<(&str, String)> = files.iter().map(|(n, t)| (n.as_str(), t.clone())).collect();
    let folder = folder(name, &listed);
    let mut arguments = vec!["assay".to_owned(), "--json".to_owned()];
    for ((far_end, _), (file, _)) in sweeps.iter().zip(&files) {
        arguments.extend([format!("--{far_end}"), file.clone()]);
    }
    arguments.extend(more.split_whitespace().map(str::to_owned));
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    run_in(&folder, &arguments).json()
}

#[track_caller]
fn has(finding: &Value, code: &str) -> String {
    let warnings = finding["warnings"].as_array().unwrap();
    let warning = warnings.iter().find(|w| w["code"] == code);
    let warning = warning.unwrap_or_else(|| panic!("no {code} in {:?}", codes(finding)));
    warning["text"].as_str().unwrap().to_owned()
}

/// Every reading of the sweep with this far end changed.
fn spoilt(
    sweeps: &[(FarEnd, Sweep)],
    which: FarEnd,
    change: impl Fn(usize, f64, Complex64) -> Complex64,
) -> Vec<(FarEnd, Sweep)> {
    let spoil = |(far_end, sweep): &(FarEnd, Sweep)| {
        if *far_end != which {
            return (*far_end, sweep.clone());
        }
        let readings = sweep.freq_hz().iter().zip(sweep.reflection()).enumerate();
        let readings = readings.map(|(i, (&f, &g))| change(i, f, g)).collect();
        let grid = sweep.freq_hz().to_vec();
        (
            *far_end,
            Sweep::new(grid, readings, sweep.z_ref_ohm()).unwrap(),
        )
    };
    sweeps.iter().map(spoil).collect()
}

/// Besides this: the simulated bench's families sound, bench and two-port, seeds 1 to 20 each, and the
/// measured 10 m cable give none of these codes either.
#[test]
fn a_good_bench_is_not_accused() {
    for (i, cable) in [
        Cable::solid_pe_50(),
        Cable::foam_pe_75(),
        Cable::air_spaced_93(),
    ]
    .iter()
    .enumerate()
    {
        for connector in [Some(Connector::BNC), Some(Connector::UHF), None] {
            let scenario = Scenario {
                cable: *cable,
                ..good()
                    .with_body(Body::sound(*cable, 3.0))
                    .plugged_with(connector)
            };
            let finding = assayed(
                "mistake-none",
                &swept(&scenario, 10 + i as u64),
                "--length 3.000m",
            );
            let accused: Vec<&str> = codes(&finding)
                .into_iter()
                .filter(|c| CODES.contains(c))
                .collect();
            assert!(accused.is_empty(), "{accused:?} {cable:?} {connector:?}");
        }
    }
}

#[test]
fn a_transmitter_nearby_leaves_spikes() {
    let spikes = |i: usize, _: f64, g: Complex64| {
        g + if i == 120 || i == 121 || i == 300 {
            0.02
        } else {
            0.0
        }
    };
    let sweeps = spoilt(&swept(&good(), 1), FarEnd::Load, spikes);
    let text = has(&assayed("mistake-spikes", &sweeps, ""), "interference");
    // points 120, 121 and 300 of 401 from 1 to 600 MHz
    assert!(
        text.contains("180.7 MHz, 182.197 MHz, 450.25 MHz"),
        "{text}"
    );
}

/// A point that is off by half of all that was sent says nothing of the cable.
#[test]
fn one_bad_point_changes_no_verdict() {
    let bad = |i: usize, _: f64, g: Complex64| g + if i == 120 { 0.5 } else { 0.0 };
    let sweeps = swept(&good(), 1);
    let clean = assayed("mistake-no-spike", &sweeps, "");
    let spoilt = assayed("mistake-spike", &spoilt(&sweeps, FarEnd::Load, bad), "");
    has(&spoilt, "interference");
    assert_eq!(clean["condition"], "sound");
    assert_eq!(spoilt["condition"], "sound");
    let [a, b] = [&clean, &spoilt].map(|finding| finding["impedance"]["ohm"].as_f64().unwrap());
    let u95 = clean["impedance"]["u95_ohm"].as_f64().unwrap();
    assert!((a - b).abs() < 0.5 * u95, "{a} and {b} ± {u95}");
}

#[test]
fn contact_that_comes_and_goes_is_a_stretch() {
    let jumps = |i: usize, _: f64, g: Complex64| {
        let off = if (200..230).contains(&i) && !i.is_multiple_of(3) {
            0.1
        } else {
            0.0
        };
        g * (1.0 - off)
    };
    let sweeps = spoilt(&swept(&good(), 2), FarEnd::Open, jumps);
    has(&assayed("mistake-contact", &sweeps, ""), "contact-lost");
}

#[test]
fn an_antenna_that_was_left_on_shows_its_band() {
    let antenna = Resonance {
        resistance_ohm: 60.0,
        freq_hz: 145e6,
        quality: 12.0,
    };
    let cable = Cable::foam_pe_50();
    let line = Piece::Line {
        cable,
        length_m: 5.0,
    };
    let body = Body::plugged(vec![line, Piece::Antenna(antenna)]);
    let scenario = good()
        .with_body(body)
        .ended_by(&[FarEnd::Open])
        .on_grid(linear_grid(1e6, 300e6, 401));
    let finding = assayed("mistake-antenna", &swept(&scenario, 3), "");
    let text = has(&finding, "antenna-on");
    assert!(text.contains(" 14"), "{text}");
}

#[test]
fn current_on_the_outside_is_a_kink() {
    let outside = Resonance {
        resistance_ohm: 4.0,
        freq_hz: 40e6,
        quality: 8.0,
    };
    let cable = Cable::solid_pe_50();
    let line = Piece::Line {
        cable,
        length_m: 3.0,
    };
    let body = Body::plugged(vec![line, Piece::CommonMode(outside)]);
    let scenario = good().with_body(body).on_grid(linear_grid(1e6, 300e6, 401));
    let text = has(
        &assayed("mistake-common-mode", &swept(&scenario, 4), ""),
        "kink-in-band",
    );
    assert!(text.contains("MHz"), "{text}");
}

#[test]
fn another_resistor_at_the_far_end_is_read_through_the_cable() {
    let scenario = Scenario {
        far_load_ohm: Some(68.0),
        ..good()
    };
    let sweeps = swept(&scenario, 5);
    let text = has(
        &assayed("mistake-far-load", &sweeps, ""),
        "far-load-differs",
    );
    assert!(
        text.contains("68") || text.contains("67") || text.contains("69"),
        "{text}"
    );
    let stated = assayed("mistake-far-load", &sweeps, "--far-load-ohms 68.0");
    assert!(!codes(&stated).contains(&"far-load-differs"));
}

#[test]
fn a_load_that_fell_off_is_an_open_end() {
    let sweeps = swept(&good().ended_by(&[FarEnd::Open]), 6);
    let declared = vec![(FarEnd::Load, sweeps[0].1.clone())];
    let text = has(
        &assayed("mistake-load-off", &declared, ""),
        "far-end-mismatch",
    );
    assert!(text.contains("looks like open"), "{text}");
}

/// The kit's parts at the plane, with what an analyser leaves uncorrected and without; and the
/// shortest of cables, which is one.
#[test]
fn a_bare_port_is_no_cable() {
    let examples = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/fog-signal-raw");
    let parts: [&[&str]; 4] = [
        &["kit-open.s1p", "kit-load.s1p", "kit-short.s1p"],
        &["check-open.s1p", "check-short.s1p"],
        &["check-open.s1p"],
        &["check-short.s1p"],
    ];
    for files in parts {
        let mut arguments = vec!["assay", "--json"];
        arguments.extend(files);
        let run = run_in(std::path::Path::new(examples), &arguments);
        let finding: Value = serde_json::from_str(&run.stdout).unwrap();
        assert!(has(&finding, "no-cable").contains("connect the cable"));
        assert_eq!(finding["condition"], "undetermined", "{files:?}");
        assert!(finding["impedance"].is_null(), "{files:?}");
    }
    let short = Scenario::new(Cable::solid_pe_50(), 0.05)
        .ended_by(&[FarEnd::Open, FarEnd::Load])
        .on_grid(linear_grid(1e6, 3e9, 401));
    let finding = assayed("bare-port-not", &swept(&short, 5), "");
    assert!(!codes(&finding).contains(&"no-cable"), "{finding}");
    assert!(finding["delay"]["one_way_s"].as_f64().unwrap() > 2e-10);
}

#[test]
fn swapped_standards_turn_open_into_short() {
    let mut sweeps = swept(&good(), 7);
    // an open and a short taken for one another in calibration: every reflection changes its sign
    for end in [FarEnd::Open, FarEnd::Short, FarEnd::Load] {
        sweeps = spoilt(&sweeps, end, |_, _, g| -g);
    }
    has(
        &assayed("mistake-swapped", &sweeps, ""),
        "standards-swapped",
    );
}

#[test]
fn a_stale_calibration_reflects_more_than_all() {
    let stale = Instrument {
        drift: 0.04,
        ..Instrument::POCKET
    };
    let scenario = good().measured_with(stale);
    has(
        &assayed("mistake-stale", &swept(&scenario, 8), ""),
        "reflection-above-one",
    );
}

#[test]
fn a_loose_joint_makes_repeats_differ() {
    let cable = Cable::solid_pe_50();
    let with = |ohm| good().with_body(Body::with_joint(cable, 3.0, 1.6, ohm, 0.0));
    let first = swept(&with(0.2), 9);
    let again = with(1.5).visited(9, 1).unwrap().sweeps;
    let load = |sweeps: &[(FarEnd, Sweep)]| sweeps[2].clone();
    let said = "--length 3.000m --marked-velocity-factor 0.66";
    let with_open = [first[0].clone(), load(&first), load(&again)];
    for sweeps in [&with_open[..], &with_open[1..]] {
        let finding = assayed("mistake-loose", sweeps, said);
        let text = has(&finding, "repeats-differ");
        assert!(text.contains("1.6") || text.contains("1.5"), "{text}");
        // loaded sweeps alone hardly show where a cable ends
        assert_eq!(
            finding.get("delay").is_some(),
            sweeps.len() == 3,
            "{finding:#}"
        );
    }
    let still = good().visited(9, 1).unwrap().sweeps;
    let same = assayed(
        "mistake-still",
        &[load(&swept(&good(), 9)), load(&still)],
        "--length 3.000m",
    );
    assert!(!codes(&same).contains(&"repeats-differ"), "{same:#}");
}

#[test]
fn an_adapter_counts_as_cable_until_it_is_taken_out() {
    let adapter = Connector {
        impedance_ohm: 75.0,
        length_m: 0.06,
        velocity_factor: 0.7,
    };
    let scenario = good().plugged_with(Some(adapter));
    has(
        &assayed("mistake-adapter", &swept(&scenario, 10), ""),
        "adapter-in-length",
    );
}

#[test]
fn a_defect_that_repeats_adds_up_in_a_band() {
    let cable = Cable::solid_pe_50();
    let mut pieces = Vec::new();
    for _ in 0..12 {
        pieces.push(Piece::Line {
            cable,
            length_m: 0.25,
        });
        pieces.push(Piece::Shunt {
            conductance_s: 0.0,
            capacitance_f: 0.08e-12,
        });
    }
    let scenario = good().with_body(Body::plugged(pieces));
    let text = has(
        &assayed("mistake-periodic", &swept(&scenario, 11), "--length 3.000m"),
        "periodic-damage",
    );
    assert!(text.contains("25") || text.contains("24"), "{text}");
}

#[test]
fn a_lossy_filling_is_water_before_it_is_a_cable() {
    let wet = Cable {
        tan_delta: 5e-3,
        ..Cable::solid_pe_50()
    };
    let scenario = Scenario {
        cable: wet,
        ..good().with_body(Body::sound(wet, 3.0))
    };
    has(
        &assayed("mistake-wet", &swept(&scenario, 12), ""),
        "dielectric-lossy",
    );
}

#[test]
fn a_claim_for_a_hundred_feet_is_asked_about() {
    let sweeps = swept(&good(), 13);
    // this cable has some 12.9 dB/100m, so 3.93 dB/100ft
    let text = has(
        &assayed(
            "mistake-unit",
            &sweeps,
            "--length 3.000m --marked-loss 3.93dB/100m@100MHz",
        ),
        "unit-slip",
    );
    assert!(text.contains("100 ft"), "{text}");
}

#[test]
fn an_ideal_kit_on_a_perfect_bench_is_not_accused() {
    let scenario = Scenario {
        kit: Some(Kit::IDEAL),
        ..good().measured_with(Instrument::GOOD)
    };
    let finding = assayed(
        "mistake-ideal",
        &swept(&scenario, 14),
        "--length 3.000m --load-ohms 50.000",
    );
    let accused: Vec<&str> = codes(&finding)
        .into_iter()
        .filter(|c| CODES.contains(c))
        .collect();
    assert!(accused.is_empty(), "{accused:?}");
}

/// A through sweep with its transmission changed by a factor that depends on S22.
fn through(name: &str, cable: Cable, change: impl Fn(Complex64) -> Complex64) -> Value {
    let scenario = Scenario {
        through: true,
        cable,
        ..good().with_body(Body::sound(cable, 3.0))
    };
    let sweep = scenario.simulate(15).unwrap().through.unwrap();
    let reverse = sweep.reverse().unwrap();
    let changed = |s: &[Complex64]| -> Vec<Complex64> {
        s.iter()
            .zip(&reverse.s22)
            .map(|(s, s22)| s * change(*s22))
            .collect()
    };
    let reverse = Reverse {
        s12: changed(&reverse.s12),
        s22: reverse.s22.clone(),
    };
    let (grid, s11) = (sweep.freq_hz().to_vec(), sweep.s11().to_vec());
    let s21 = changed(sweep.s21());
    let spoilt = ThroughSweep::new(grid, s11, s21, Some(reverse), 50.0).unwrap();
    let folder = folder(name, &[("through.s2p", touchstone::two_port(&spoilt, &[]))]);
    run_in(
        &folder,
        &["assay", "--json", "through.s2p", "--length", "3.000m"],
    )
    .json()
}

#[test]
fn a_jumper_that_was_not_taken_out_loses_at_every_frequency() {
    let same = through("mistake-jumper-none", Cable::solid_pe_50(), |_| {
        Complex64::ONE
    });
    for code in ["loss-constant", "port-mismatch"] {
        assert!(!codes(&same).contains(&code), "{code}");
    }
    // 0.3 dB
    let finding = through("mistake-jumper", Cable::solid_pe_50(), |_| {
        Complex64::from(0.966)
    });
    let text = has(&finding, "loss-constant");
    assert!(text.contains("0.3") || text.contains("0.2"), "{text}");
}

#[test]
fn a_port_without_a_match_makes_the_transmission_ripple() {
    let cable = Cable::foam_pe_75();
    let same = through("mistake-port-none", cable, |_| Complex64::ONE);
    assert!(!codes(&same).contains(&"port-mismatch"));
    let port_2 = 0.25;
    let finding = through("mistake-port", cable, |s22| (1.0 - port_2 * s22).inv());
    let text = has(&finding, "port-mismatch");
    assert!(text.contains("pads"), "{text}");
}
