//! `lineproof plan`.

use crate::support::{Run, run};

/// Runs `plan` with options separated by blanks.
fn plan(options: &str) -> Run {
    let mut arguments = vec!["plan"];
    arguments.extend(options.split_whitespace());
    run(&arguments)
}

#[test]
fn a_short_piece_is_planned_in_words() {
    let run = plan("--length 1.5m --dielectric solid-pe").has_code(0);
    insta::assert_snapshot!(run.stdout);
}

#[test]
fn a_long_piece_and_a_high_frequency_take_two_sweeps() {
    let run = plan("--length 20m..30m --frequency 430MHz --points 201").has_code(0);
    insta::assert_snapshot!(run.stdout);
}

#[test]
fn the_json_has_what_an_analyser_needs() {
    let plan = plan("--json --length 1.5m").has_code(0).json();
    let sweep = &plan["sweeps"][0];
    assert!(sweep["start_hz"].as_f64().unwrap() < sweep["stop_hz"].as_f64().unwrap());
    assert_eq!(sweep["points"], 401);
    assert!(plan["blind"].as_array().unwrap().len() > 1);
}

#[test]
fn nonsense_is_refused_and_named() {
    let cases = [
        ("", "--length"),
        ("--length 3m..2m", "range"),
        ("--length 1.5", "1.5ft"),
        ("--length 1.5m --points 2", "too few"),
        ("--length 1.5m --velocity-factor 1.2", "out of range"),
        ("--length 1.5m --analyser 900MHz", "50kHz..900MHz"),
    ];
    for (options, wanted) in cases {
        let run = plan(options).has_code(2);
        assert!(run.stderr.contains(wanted), "{options}: {}", run.stderr);
    }
}
