//! Writing Touchstone files of version 1, in the form that reads everywhere: plain ASCII comments,
//! one option line `# Hz S RI R n`, one frequency a line, LF line ends.
//!
//! Numbers are printed with as many digits as it takes to read the same double again.

use std::fmt::Write;

use num_complex::Complex64;

use crate::sweep::{Sweep, ThroughSweep};

/// Magnitude below which a number is printed with an exponent.
const SMALLEST_PLAIN: f64 = 1e-5;

/// A `.s1p` file of the sweep; each comment gets lines of its own at the top.
///
/// ```
/// # use lineproof_core::{formats::touchstone, sweep::Sweep};
/// # use num_complex::Complex64;
/// let sweep = Sweep::new(vec![1e6], vec![Complex64::new(0.5, -0.25)], 50.0).unwrap();
/// assert_eq!(
///     touchstone::one_port(&sweep, &["far end open"]),
///     "! far end open\n# Hz S RI R 50\n1000000 0.5 -0.25\n"
/// );
/// ```
pub fn one_port(sweep: &Sweep, comments: &[&str]) -> String {
    let mut text = header(sweep.z_ref_ohm(), comments);
    for (&freq_hz, &reflection) in sweep.freq_hz().iter().zip(sweep.reflection()) {
        row(&mut text, freq_hz, &[reflection]);
    }
    text
}

/// A `.s2p` file of the sweep. A reverse direction that was not measured is written as zeros,
/// with a comment that says so.
pub fn two_port(sweep: &ThroughSweep, comments: &[&str]) -> String {
    let mut comments = comments.to_vec();
    if sweep.reverse().is_none() {
        comments.push("S12 and S22 were not measured");
    }
    let mut text = header(sweep.z_ref_ohm(), &comments);
    for (i, &freq_hz) in sweep.freq_hz().iter().enumerate() {
        let (s12, s22) = match sweep.reverse() {
            Some(reverse) => (reverse.s12[i], reverse.s22[i]),
            None => (Complex64::ZERO, Complex64::ZERO),
        };
        let values = [sweep.s11()[i], sweep.s21()[i], s12, s22];
        row(&mut text, freq_hz, &values);
    }
    text
}

fn header(z_ref_ohm: f64, comments: &[&str]) -> String {
    let mut text = String::new();
    for line in comments.iter().flat_map(|comment| comment.lines()) {
        let plain = |c: char| if (' '..='~').contains(&c) { c } else { '?' };
        text.push_str("! ");
        text.extend(line.chars().map(plain));
        text.push('\n');
    }
    text.push_str("# Hz S RI R ");
    number(&mut text, z_ref_ohm);
    text.push('\n');
    text
}

fn row(text: &mut String, freq_hz: f64, values: &[Complex64]) {
    number(text, freq_hz);
    for part in values.iter().flat_map(|value| [value.re, value.im]) {
        text.push(' ');
        number(text, part);
    }
    text.push('\n');
}

/// The shortest decimal that reads as the same double.
fn number(text: &mut String, value: f64) {
    let is_plain = value == 0.0 || (SMALLEST_PLAIN..1e16).contains(&value.abs());
    let written = if is_plain {
        write!(text, "{value}")
    } else {
        write!(text, "{value:e}")
    };
    written.expect("a string takes any text");
}
