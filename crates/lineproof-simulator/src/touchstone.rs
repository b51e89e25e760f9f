//! Sweeps as Touchstone text (version 1.1), just enough for the examples.
//!
//! Source: *Touchstone File Format Specification*, version 1.1, EIA/IBIS Open Forum (2002).

use std::fmt::Write;

use lineproof_core::sweep::Sweep;
use num_complex::Complex64;

/// How a complex number is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Notation {
    /// Real and imaginary part.
    Ri,
    /// Magnitude and angle in degrees.
    Ma,
    /// Magnitude in decibels and angle in degrees.
    Db,
}

/// Text of a one-port file in MHz; each line of `comment` becomes a comment line at the top.
pub fn one_port(sweep: &Sweep, notation: Notation, comment: &str) -> String {
    let mut text = String::new();
    for line in comment.lines() {
        push_line(&mut text, format_args!("! {line}"));
    }
    let keyword = match notation {
        Notation::Ri => "RI",
        Notation::Ma => "MA",
        Notation::Db => "DB",
    };
    let reference = sweep.z_ref_ohm();
    push_line(&mut text, format_args!("# MHZ S {keyword} R {reference}"));
    for (f, g) in sweep.freq_hz().iter().zip(sweep.reflection()) {
        let (first, second) = pair(*g, notation);
        push_line(&mut text, format_args!("{:.6} {first} {second}", f / 1e6));
    }
    text
}

fn pair(value: Complex64, notation: Notation) -> (String, String) {
    let angle = format!("{:.4}", value.arg().to_degrees());
    match notation {
        Notation::Ri => (format!("{:.7}", value.re), format!("{:.7}", value.im)),
        Notation::Ma => (format!("{:.7}", value.norm()), angle),
        Notation::Db => (format!("{:.5}", 20.0 * value.norm().log10()), angle),
    }
}

fn push_line(text: &mut String, line: std::fmt::Arguments<'_>) {
    writeln!(text, "{line}").expect("writing to a string cannot fail");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn writes_the_three_notations() {
        let sweep = Sweep::new(vec![1.5e6], vec![Complex64::new(0.0, 0.5)], 50.0).unwrap();
        for (notation, wanted) in [
            (
                Notation::Ri,
                "# MHZ S RI R 50\n1.500000 0.0000000 0.5000000\n",
            ),
            (
                Notation::Ma,
                "# MHZ S MA R 50\n1.500000 0.5000000 90.0000\n",
            ),
            (Notation::Db, "# MHZ S DB R 50\n1.500000 -6.02060 90.0000\n"),
        ] {
            let got = one_port(&sweep, notation, "two\nlines");
            assert_eq!(got, format!("! two\n! lines\n{wanted}"));
        }
    }
}
