//! What `assay` is told of the calibrated plane: checks, kit, adapters.

use std::path::{Path, PathBuf};

use num_complex::Complex64;
use serde_json::Value;

use crate::support::{GOOD_75, Line, Run, codes, folder, run_in, sweeps_of};

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

/// `examples/fog-signal-raw/notes.md`: the true values.
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
        ("--kit notes.md", 2, "is not a kit file"),
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
        unknown.stderr.contains("`mismatch` is not a known part"),
        "{}",
        unknown.stderr
    );
}

/// Minimum-loss pad of 50 to 75 ohm: shunt 50/√(1 − 50/75), series 75 √(1 − 50/75), against 50 ohm (any
/// handbook on attenuators; from memory). Its S-parameters from the chain matrix (Pozar, table 4.2).
fn pad() -> [f64; 4] {
    let root = (1.0 - 50.0 / 75.0_f64).sqrt();
    let (shunt, series) = (root / 50.0, 75.0 * root);
    let [a, b, c, d] = [1.0, series, shunt, 1.0 + series * shunt];
    let all = a + b / 50.0 + c * 50.0 + d;
    [
        (a + b / 50.0 - c * 50.0 - d) / all,
        2.0 / all,
        2.0 / all,
        (d + b / 50.0 - c * 50.0 - a) / all,
    ]
}

/// A folder with the sweeps of [`GOOD_75`] through the pad, and the pad's file.
pub(crate) fn through_pad(name: &str) -> PathBuf {
    let [s11, s21, s12, s22] = pad();
    let seen = |end: &str| {
        let text = GOOD_75.touchstone(end);
        let line = |line: &str| {
            let mut numbers = line.split_whitespace().map(str::parse::<f64>);
            let mut next = || numbers.next().and_then(Result::ok);
            let (Some(freq_hz), Some(re), Some(im)) = (next(), next(), next()) else {
                return format!("{line}\n");
            };
            let g = Complex64::new(re, im);
            let m = s11 + s12 * s21 * g / (1.0 - s22 * g);
            format!("{freq_hz} {:.9} {:.9}\n", m.re, m.im)
        };
        text.lines().map(line).collect::<String>()
    };
    let row = |f: &str| format!("{f} {s11:.9} 0 {s21:.9} 0 {s12:.9} 0 {s22:.9} 0\n");
    let rows: String = ["1e4", "1e8", "2e8", "3e8", "4e8"].map(row).concat();
    let files = [
        ("open.s1p", seen("open")),
        ("load.s1p", seen("load")),
        ("pad.s2p", format!("# Hz S RI R 50\n{rows}")),
    ];
    folder(name, &files)
}

#[test]
fn a_pad_is_de_embedded_and_the_answer_is_in_the_systems_impedance() {
    let folder = through_pad("pad");
    let of = |line: &str| run_in(&folder, &line.split_whitespace().collect::<Vec<_>>());
    let assay = "assay --open open.s1p --load load.s1p --length 1.497m --load-ohms 50.00 --json";
    let taken = of(&format!("{assay} --de-embed pad.s2p --system-impedance 75"));
    let finding = taken.has_code(0).json();
    let z = number(&finding, "/impedance/ohm");
    let off = z - GOOD_75.impedance_ohm(1e8);
    assert!(off.abs() < number(&finding, "/impedance/u95_ohm"), "{z}");
    assert_eq!(number(&finding, "/system/ohm"), 75.0);
    // Two reflections ρ = (Z0 − 75)/(Z0 + 75), which skin effect makes as reactive as resistive, add
    // up at the worst length (small reflections; Pozar, section 5.6).
    let reactive = z - 75.0;
    let resistive = reactive + number(&finding, "/impedance/u95_ohm");
    let worst = 2.0 * resistive.hypot(reactive) / (z + 75.0);
    let swr = number(&finding, "/system/rows/0/swr_at_worst_length");
    assert!(
        (swr - (1.0 + worst) / (1.0 - worst)).abs() < 1e-3,
        "{swr}, wanted {worst}"
    );
    let return_loss_db = number(&finding, "/system/rows/0/return_loss_db_at_worst_length");
    let of_swr = -20.0 * ((swr - 1.0) / (swr + 1.0)).log10();
    assert!((return_loss_db - of_swr).abs() < 1e-9, "{return_loss_db}");
    of(&format!(
        "{assay} --de-embed pad.s2p --shelve x --shelf s.db"
    ))
    .has_code(0);
    let again = of("shelf again x --shelf s.db").has_code(0).stdout.clone();
    assert!(again.contains(", 0 differ"), "{again}");
}

#[test]
fn what_can_not_be_de_embedded_is_refused() {
    let folder = through_pad("pad-refused");
    let cases = [
        ("--de-embed open.s1p", 2, "all four S-parameters"),
        ("--de-embed none.s2p", 2, "none.s2p"),
        (
            "--de-embed pad.s2p --check open=open.s1p",
            1,
            "measured at the plane",
        ),
        (
            "--de-embed pad.s2p --through pad.s2p",
            1,
            "from reflections only",
        ),
    ];
    for (options, code, wanted) in cases {
        let all = format!("assay --open open.s1p --load load.s1p {options}");
        let run = run_in(&folder, &all.split_whitespace().collect::<Vec<_>>());
        let run = run.has_code(code);
        assert!(run.stderr.contains(wanted), "{options}: {}", run.stderr);
    }
}

/// 50 ohm, shorted, 40 ns there and back: with 0.004 added to every reading.
pub(crate) fn long_line() -> String {
    let long = Line {
        z0_ohm: 50.0,
        one_way_s: 20e-9,
        loss_db_at_100mhz: 0.01,
    };
    let shifted = |line: &str| match line.split_whitespace().collect::<Vec<_>>()[..] {
        [freq_hz, re, im] if freq_hz.parse::<f64>().is_ok() => {
            format!("{freq_hz} {:.9} {im}\n", re.parse::<f64>().unwrap() + 0.004)
        }
        _ => format!("{line}\n"),
    };
    long.touchstone("short").lines().map(shifted).collect()
}

#[test]
fn the_ripple_of_a_long_line_says_what_the_calibration_left() {
    let folder = sweeps_of("ripple", GOOD_75);
    std::fs::write(folder.join("line.s1p"), long_line()).unwrap();
    let half = GOOD_75.shortened(0.5).touchstone("short");
    std::fs::write(folder.join("half.s1p"), half).unwrap();
    let of = |line: &str| run_in(&folder, &line.split_whitespace().collect::<Vec<_>>());
    let assay = "assay --open open.s1p --load load.s1p --length 1.497m";
    let finding = of(&format!("{assay} --ripple line.s1p --json"))
        .has_code(0)
        .json();
    let directivity = number(&finding, "/calibration/0/directivity");
    assert!((directivity - 0.004).abs() < 4e-4, "{directivity}");
    assert_eq!(finding["sweeps"][2]["far_end"], "long line at the plane");
    let text = of(&format!(
        "{assay} --ripple line.s1p --system-impedance 75 --full --report r.html"
    ));
    let text = text.has_code(0).stdout.clone();
    assert!(text.contains("left a directivity of 0.004"), "{text}");
    let page = std::fs::read_to_string(folder.join("r.html")).unwrap();
    assert!(page.contains("left a directivity of 0.004"), "{page}");
    assert!(page.contains("between 75 ohm at both ends"), "{page}");
    let short = of(&format!("{assay} --ripple half.s1p --json")).has_code(1);
    assert!(short.stderr.contains("a longer line"), "{}", short.stderr);
    // seen errors are larger than those that these sweeps would let one think
    let loss = |f: &Value| loss_at_100_mhz(f).1;
    let without = of(&format!("{assay} --json")).has_code(0).json();
    assert!(
        loss(&finding) > loss(&without),
        "{} {}",
        loss(&finding),
        loss(&without)
    );
}

#[test]
fn an_old_calibration_is_told_unless_something_checks_it() {
    let told = |options: &str| {
        let finding = assay(options).has_code(0).json();
        codes(&finding).contains(&"calibration-old")
    };
    assert!(told("--load-ohms 49.92 --calibration-age 3h"));
    assert!(!told("--load-ohms 49.92 --calibration-age 30min"));
    assert!(!told(
        "--load-ohms 49.92 --calibration-age 3h --check open=check-open.s1p"
    ));
}

#[test]
fn a_correction_says_by_a_ripple_what_it_left() {
    let line = ("line.s1p", long_line());
    let folder = folder(
        "correct-ripple",
        &[line, ("open.s1p", GOOD_75.touchstone("open"))],
    );
    let options =
        "correct --called-ideal --load-ohms 50.00 --ripple line.s1p open.s1p --overwrite --json";
    let run = run_in(&folder, &options.split_whitespace().collect::<Vec<_>>());
    let result = run.has_code(0).json();
    // An ordinary open, short and load in place of ideal ones move it by some thousandths at 300 MHz.
    let directivity = number(&result, "/left/0/directivity");
    assert!((directivity - 0.004).abs() < 0.002, "{directivity}");
}

/// A two-port file of 75-ohm line against 50 ohm, without skin effect's part in the impedance: with
/// T = e^(−γl) and ρ = 25/125, S11 = ρ(1 − T²)/(1 − ρ²T²), S21 = T(1 − ρ²)/(1 − ρ²T²) (Pozar, section
/// 4.3, problem on a mismatched line; from memory).
pub(crate) fn two_port(part: f64) -> String {
    let rho = 0.2;
    let row = |i: u32| {
        let freq_hz = 1e6 + 1.5e6 * f64::from(i);
        let loss_np = part * 0.16 / 8.685889638 * (freq_hz / 1e8).sqrt();
        let turn = std::f64::consts::TAU * freq_hz * part * 7.57e-9;
        let t = Complex64::new(-loss_np, -turn).exp();
        let under = 1.0 - rho * rho * t * t;
        let (s11, s21) = (rho * (1.0 - t * t) / under, t * (1.0 - rho * rho) / under);
        let pair = |s: Complex64| format!("{:.9} {:.9}", s.re, s.im);
        let (s11, s21) = (pair(s11), pair(s21));
        format!("{freq_hz} {s11} {s21} {s21} {s11}\n")
    };
    let rows: Vec<String> = (0..201).map(row).collect();
    format!("# Hz S RI R 50\n{}", rows.concat())
}

/// 1.497 m and half of it: 7.57 ns and 0.16 dB at 100 MHz for the whole.
#[test]
fn a_shorter_piece_adds_the_method_of_two_lengths() {
    let files = [("long.s2p", two_port(1.0)), ("short.s2p", two_port(0.5))];
    let folder = folder("two-lengths", &files);
    let of = |line: &str| run_in(&folder, &line.split_whitespace().collect::<Vec<_>>());
    let assay = "assay --through long.s2p --length 1.497m --json";
    let run = of(&format!(
        "{assay} --shorter short.s2p --shorter-length 0.7485m"
    ));
    let finding: Value = serde_json::from_str(&run.stdout).unwrap();
    let methods = finding["methods"].as_array().unwrap();
    let found = methods.iter().find(|m| m["name"] == "two lengths").unwrap();
    let ratio = number(found, "/velocity_factor/ratio");
    let wanted = 1.497 / (299_792_458.0 * 7.57e-9);
    assert!(
        (ratio / wanted - 1.0).abs() < 1e-6,
        "{ratio}, wanted {wanted}"
    );
    let db = number(found, "/loss/0/db");
    assert!((db - 0.16).abs() < 1e-6, "{db}");
    assert_eq!(finding["sweeps"][1]["far_end"], "through the shorter piece");
    of(&format!("{assay} --shorter short.s2p")).has_code(2);
    let same = of(&format!(
        "{assay} --shorter short.s2p --shorter-length 1.495m"
    ));
    assert!(
        same.stdout.contains("hardly more than the tape"),
        "{}",
        same.stdout
    );
}
