//! `lineproof correct`.

use std::path::{Path, PathBuf};

use lineproof_core::formats::{Network, ReadOptions, read};
use lineproof_core::sweep::Sweep;

use crate::support::{Run, codes, folder, run_in};

/// The invented raw sweeps of the repository.
fn example() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/fog-signal-raw")
}

const RAW: &str = "--kit kit.toml --standard open=kit-open.s1p --standard short=kit-short.s1p \
                   --standard load=kit-load.s1p raw-open.s1p raw-load.s1p";

/// Runs `correct` on the example with options separated by blanks; results go to a folder of `name`.
fn correct(name: &str, options: &str) -> (Run, PathBuf) {
    let out = folder(name, &[]);
    let out_text = out.display().to_string();
    let mut arguments = vec!["correct", "--overwrite", "--out", &out_text];
    arguments.extend(options.split_whitespace());
    (run_in(&example(), &arguments), out)
}

fn sweep(path: &Path) -> Sweep {
    let bytes = std::fs::read(path).unwrap();
    match read(&bytes, "x.s1p", &ReadOptions::default())
        .unwrap()
        .network
    {
        Network::OnePort(sweep) => sweep,
        Network::TwoPort(_) => panic!("one port expected"),
    }
}

#[test]
fn raw_sweeps_become_sweeps_of_the_cable() {
    let (run, out) = correct("correct-raw", &format!("{RAW} --json"));
    let result = run.has_code(0).json();
    assert_eq!(result["z_ref_ohm"], 50.0);
    assert_eq!(result["calibration"].as_array().unwrap().len(), 201);
    assert_eq!(codes(&result), Vec::<&str>::new());
    let open = sweep(&out.join("raw-open-corrected.s1p"));
    assert_eq!(open.len(), 201);
    // 3.15 m with the far end open: everything comes back at 1 MHz, 0.2 rad late.
    assert!((open.reflection()[0].norm() - 1.0).abs() < 0.005);
    let point = &result["sweeps"][0]["points"][200];
    let u95 = point["u95_re"].as_f64().unwrap();
    assert!((0.001..0.01).contains(&u95), "{u95}");
    let table = std::fs::read_to_string(out.join("raw-open-corrected.csv")).unwrap();
    assert_eq!(table.lines().count(), 202);
}

#[test]
fn an_improved_calibration_agrees_with_the_raw_one_within_the_intervals() {
    let (run, _) = correct("correct-again-raw", &format!("{RAW} --json"));
    let raw = run.has_code(0).json();
    let (run, _) = correct(
        "correct-ideal",
        "--kit kit.toml --called-ideal ideal-open.s1p ideal-load.s1p --json",
    );
    let improved = run.has_code(0).json();
    for sweep in 0..2 {
        for i in [0, 100, 200] {
            for (part, u95) in [("re", "u95_re"), ("im", "u95_im")] {
                let at = |r: &serde_json::Value, key: &str| {
                    r["sweeps"][sweep]["points"][i][key].as_f64().unwrap()
                };
                let difference = (at(&raw, part) - at(&improved, part)).abs();
                let limit = at(&raw, u95).hypot(at(&improved, u95));
                assert!(
                    difference <= limit,
                    "{sweep} {i} {part}: {difference} {limit}"
                );
            }
        }
    }
}

#[test]
fn the_report_reads_well() {
    let (run, _) = correct("correct-text", RAW);
    let text = run.has_code(0).stdout;
    // Where the files went differs from machine to machine.
    let (before, _) = text.split_once("\nWritten").unwrap();
    insta::assert_snapshot!(before);
}

#[test]
fn an_extension_and_another_reference_move_the_reflection() {
    let name = "correct-extension";
    let options = "--kit kit.toml --called-ideal ideal-open.s1p --de-embed 100ps --result-ohms 75";
    let (run, out) = correct(name, options);
    run.has_code(0);
    let moved = sweep(&out.join("ideal-open-corrected.s1p"));
    assert_eq!(moved.z_ref_ohm(), 75.0);
    let (run, out) = correct(
        "correct-plain",
        "--kit kit.toml --called-ideal ideal-open.s1p",
    );
    run.has_code(0);
    let plain = sweep(&out.join("ideal-open-corrected.s1p"));
    // The extension's line has the impedance of the results: e^(+2jωT) against 75 ohm.
    let at = 50;
    let freq_hz = plain.freq_hz()[at];
    let in_75 =
        lineproof_core::network::one_port::renormalise(plain.reflection()[at], 50.0, 75.0).unwrap();
    let turned =
        in_75 * num_complex::Complex64::cis(2.0 * std::f64::consts::TAU * freq_hz * 100e-12);
    assert!((moved.reflection()[at] - turned).norm() < 1e-9);
}

#[test]
fn what_can_not_be_corrected_says_why_and_what_next() {
    let cases = [
        ("raw-open.s1p", 2, "--called-ideal"),
        ("--standard open=kit-open.s1p raw-open.s1p", 3, "found 1"),
        (
            "--kit kit.toml --standard opne=kit-open.s1p raw-open.s1p",
            2,
            "it has load, open, short",
        ),
        ("--called-ideal no-such.s1p", 4, "no-such.s1p"),
        ("--called-ideal --de-embed 3kg ideal-open.s1p", 2, "3kg"),
        (
            "--called-ideal --de-embed kit-load.s2p ideal-open.s1p",
            4,
            "kit-load.s2p",
        ),
        (
            "--kit notes.md --called-ideal ideal-open.s1p",
            2,
            "is not a kit file: line",
        ),
        (
            "--standard open=kit-open.s1p --standard short=kit-open.s1p --standard load=kit-load.s1p raw-open.s1p",
            3,
            "no point can be corrected",
        ),
    ];
    for (options, code, wanted) in cases {
        let (run, _) = correct("correct-refused", options);
        let run = run.has_code(code);
        assert!(run.stderr.contains(wanted), "{options}: {}", run.stderr);
    }
}

#[test]
fn a_file_that_is_there_stays() {
    let out = folder("correct-keeps", &[]);
    let out_text = out.display().to_string();
    let arguments = [
        "correct",
        "--called-ideal",
        "ideal-open.s1p",
        "--out",
        &out_text,
    ];
    let file = out.join("ideal-open-corrected.s1p");
    std::fs::write(&file, "mine").unwrap();
    let run = run_in(&example(), &arguments).has_code(5);
    assert!(run.stderr.contains("--overwrite"), "{}", run.stderr);
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn one_bad_file_does_not_stop_the_rest() {
    let (run, out) = correct(
        "correct-partly",
        "--called-ideal no-such.s1p ideal-open.s1p",
    );
    let run = run.has_code(1);
    assert!(run.stderr.contains("no-such.s1p"));
    assert!(run.stdout.contains("1 sweep corrected"));
    assert!(out.join("ideal-open-corrected.s1p").exists());
}
