//! Runs the real binary, and writes sweeps of a line in closed form for it to read.

use std::f64::consts::TAU;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use num_complex::Complex64;
use serde_json::Value;

/// What a run of the program gave.
pub(crate) struct Run {
    pub(crate) code: i32,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

/// Runs `lineproof` with these arguments in `folder`.
pub(crate) fn run_in(folder: &Path, arguments: &[&str]) -> Run {
    let output = Command::new(env!("CARGO_BIN_EXE_lineproof"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    Run {
        code: output.status.code().unwrap(),
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Runs `lineproof` where it needs no files.
pub(crate) fn run(arguments: &[&str]) -> Run {
    run_in(Path::new(env!("CARGO_TARGET_TMPDIR")), arguments)
}

impl Run {
    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.stdout)
            .unwrap_or_else(|e| panic!("{e} in {}{}", self.stdout, self.stderr))
    }

    #[track_caller]
    pub(crate) fn has_code(self, wanted: i32) -> Self {
        assert_eq!(self.code, wanted, "{}{}", self.stdout, self.stderr);
        self
    }
}

/// Codes of the warnings in a finding.
pub(crate) fn codes(finding: &Value) -> Vec<&str> {
    let warnings = finding["warnings"].as_array().unwrap();
    warnings
        .iter()
        .map(|w| w["code"].as_str().unwrap())
        .collect()
}

/// A uniform line whose conductor has skin effect, R(1 + j) ∝ √f, and nothing else.
#[derive(Clone, Copy)]
pub(crate) struct Line {
    /// High-frequency impedance.
    pub(crate) z0_ohm: f64,
    /// High-frequency delay.
    pub(crate) one_way_s: f64,
    pub(crate) loss_db_at_100mhz: f64,
}

/// 1.5 m of a good 75-ohm cable with solid polyethylene.
pub(crate) const GOOD_75: Line = Line {
    z0_ohm: 75.0,
    one_way_s: 7.57e-9,
    loss_db_at_100mhz: 0.16,
};

impl Line {
    /// R/ωL: what skin effect adds to the impedance at `freq_hz`, relative, twice over.
    fn delta(&self, freq_hz: f64) -> f64 {
        let loss_np = self.loss_db_at_100mhz * (freq_hz / 1e8).sqrt() / 8.685889638;
        2.0 * loss_np / (TAU * freq_hz * self.one_way_s)
    }

    /// Real part of the impedance at `freq_hz`, ohm, to first order in the loss.
    pub(crate) fn impedance_ohm(&self, freq_hz: f64) -> f64 {
        self.z0_ohm * (1.0 + self.delta(freq_hz) / 2.0)
    }

    /// One-way delay at `freq_hz`, s, to first order in the loss.
    pub(crate) fn delay_s(&self, freq_hz: f64) -> f64 {
        self.one_way_s * (1.0 + self.delta(freq_hz) / 2.0)
    }

    /// The same cable, `part` of its length.
    pub(crate) fn shortened(self, part: f64) -> Self {
        Self {
            one_way_s: self.one_way_s * part,
            loss_db_at_100mhz: self.loss_db_at_100mhz * part,
            ..self
        }
    }

    /// A one-port file of this line, a resistor in series and `rest` behind it.
    pub(crate) fn with_joint_before(self, rest: Self, resistor_ohm: f64, far_end: &str) -> String {
        text_of(far_end, 1e5, 1.5e6, |freq_hz| {
            let behind = rest.reflection(far_end, freq_hz);
            let ohm = 50.0 * (1.0 + behind) / (1.0 - behind) + resistor_ohm;
            self.before(freq_hz, |z| (ohm - z) / (ohm + z))
        })
    }

    /// Reflection against 50 ohm with `far_end` at the other end.
    ///
    /// Z and γ are those of series jωL + R(1 + j) and shunt jωC: with δ = R/ωL both have the
    /// factor sqrt(1 + (1 − j)δ), and the loss is ωτδ/2.
    fn reflection(&self, far_end: &str, freq_hz: f64) -> Complex64 {
        self.before(freq_hz, |z| match far_end {
            "open" => Complex64::new(1.0, 0.0),
            "short" => Complex64::new(-1.0, 0.0),
            _ => (50.0 - z) / (50.0 + z),
        })
    }

    /// The same before something that reflects `end` in a line of the impedance that it gets.
    fn before(&self, freq_hz: f64, end: impl Fn(Complex64) -> Complex64) -> Complex64 {
        let omega_tau = TAU * freq_hz * self.one_way_s;
        let delta = self.delta(freq_hz);
        let factor = (1.0 + Complex64::new(delta, -delta)).sqrt();
        let z = self.z0_ohm * factor;
        let far = end(z) * (Complex64::new(0.0, -2.0 * omega_tau) * factor).exp();
        let rho = (z - 50.0) / (z + 50.0);
        (rho + far) / (1.0 + rho * far)
    }

    /// A one-port file; `far_end` is `open`, `short` or `load`.
    pub(crate) fn touchstone(&self, far_end: &str) -> String {
        self.touchstone_from(far_end, 1e5, 1.5e6)
    }

    /// The same on another grid.
    pub(crate) fn touchstone_from(&self, far_end: &str, start_hz: f64, step_hz: f64) -> String {
        text_of(far_end, start_hz, step_hz, |f| self.reflection(far_end, f))
    }
}

/// A one-port file of 201 points with noise.
fn text_of(
    far_end: &str,
    start_hz: f64,
    step_hz: f64,
    reflection: impl Fn(f64) -> Complex64,
) -> String {
    let mut text = String::from("! invented line in closed form, with noise\n# Hz S RI R 50\n");
    for i in 0..201 {
        let freq_hz = start_hz + step_hz * f64::from(i);
        let s11 = reflection(freq_hz) + noise(i, far_end);
        writeln!(text, "{freq_hz} {:.9} {:.9}", s11.re, s11.im).unwrap();
    }
    text
}

/// Noise of a good analyser, the same in every run: 3·10⁻⁴ either way, from the digits of a sine far
/// out. Without any a fit has nothing to come to rest on.
fn noise(point: i32, far_end: &str) -> Complex64 {
    let seed = f64::from(point) + 1e3 * far_end.len() as f64;
    let digits = |factor: f64| (1e4 * (factor * seed).sin()).rem_euclid(1.0) - 0.5;
    6e-4 * Complex64::new(digits(12.9), digits(78.2))
}

/// A folder of its own for one test, with files in it.
pub(crate) fn folder(name: &str, files: &[(&str, String)]) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&folder).unwrap();
    for (file, text) in files {
        std::fs::write(folder.join(file), text).unwrap();
    }
    folder
}

/// A folder with the open, shorted and loaded sweeps of a line.
pub(crate) fn sweeps_of(name: &str, line: Line) -> PathBuf {
    let [open, short, load] = ["open", "short", "load"].map(|end| line.touchstone(end));
    folder(
        name,
        &[("open.s1p", open), ("short.s1p", short), ("load.s1p", load)],
    )
}
