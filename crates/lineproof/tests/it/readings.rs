//! `lineproof readings`. Worked cases are from `testdata/reference/practice-cases.csv`.

use serde_json::Value;

use crate::support::{Run, run};

/// Runs `readings` with options separated by blanks.
fn readings(options: &str) -> Run {
    let mut arguments = vec!["readings"];
    arguments.extend(options.split_whitespace());
    run(&arguments)
}

fn velocity_factor(found: &Value) -> f64 {
    found["velocity_factor"]["ratio"].as_f64().unwrap()
}

#[test]
fn a_quarter_wave_with_a_load_gives_the_impedance() {
    // Zc = sqrt(R·R_L), closed form of the lossless quarter-wave transformer.
    let run = readings("--json --quarter-wave-resistance 111ohm --load 50ohm");
    let found = run.has_code(0).json();
    let ohm = found["impedance"]["ohm"].as_f64().unwrap();
    let u95 = found["impedance"]["u95_ohm"].as_f64().unwrap();
    assert!(
        (ohm - (111.0f64 * 50.0).sqrt()).abs() < u95,
        "{ohm} ± {u95}"
    );
}

#[test]
fn a_quarter_wave_frequency_gives_the_velocity_factor() {
    // PC01: 27 ft, first low impedance at 7.3 MHz, velocity factor 0.80.
    let found = readings("--json --quarter-wave-at 7.3MHz --length 27ft")
        .has_code(0)
        .json();
    let ratio = velocity_factor(&found);
    assert!((ratio - 0.80).abs() < 0.005, "{ratio}");
}

#[test]
fn resonances_of_a_shorted_line_give_its_order() {
    // PC12: 170 ft shorted, dips at 11.54, 13.89, 16.19, 18.54 MHz: velocity factor 0.80.
    let run = readings(
        "--json --resonance 11.54MHz,13.89MHz,16.19MHz,18.54MHz --resonance-far-end short \
         --length 170ft",
    );
    let ratio = velocity_factor(&run.has_code(0).json());
    assert!((ratio - 0.80).abs() < 0.005, "{ratio}");
}

#[test]
fn the_peak_of_the_swr_gives_the_loss() {
    // PC26: a peak of 9 at 16 MHz is 0.969 dB.
    let found = readings("--json --swr-peak 9.0 --swr-peak-at 16MHz")
        .has_code(0)
        .json();
    let db = found["methods"][0]["loss"][0]["db"].as_f64().unwrap();
    assert!((db - 0.969).abs() < 0.001, "{db}");
}

#[test]
fn readings_that_agree_with_each_other_and_not_with_the_jacket_are_explained() {
    let run = readings(
        "--quarter-wave-resistance 111ohm --load 50ohm --eighth-wave-reactance -74.1ohm \
         --quarter-wave-at 61.5MHz --length 80.0cm \
         --marked-impedance 50 --marked-velocity-factor 0.66",
    )
    .has_code(0);
    assert!(
        run.stdout.contains("agree with each other"),
        "{}",
        run.stdout
    );
    assert!(run.stdout.contains("59.96"), "{}", run.stdout);
}

#[test]
fn an_impossible_reading_is_refused_with_its_reason() {
    let run = readings("--eighth-wave-reactance 0ohm").has_code(3);
    assert!(run.stdout.contains("0 ohm"), "{}", run.stdout);
}

#[test]
fn wrong_uses_are_named() {
    readings("").has_code(2);
    let bare = readings("--quarter-wave-resistance 111").has_code(2);
    assert!(bare.stderr.contains("111ohm"), "{}", bare.stderr);
    let half = readings("--inductance 0.37uH").has_code(2);
    assert!(half.stderr.contains("--capacitance"), "{}", half.stderr);
}
