//! Through a known line at what ends it.
//!
//! Γ_far = (Γ − S11)/(S12 S21 + S22 (Γ − S11)), with the S-parameters of the line against the
//! sweep's reference. The line takes twice its loss off a reflection, so what a reading is off by
//! grows by 10^(loss/10) on the way back, and the line's own uncertainty comes on top.

use num_complex::Complex64;

use super::{Line, Span};
use crate::line::mismatch::swr;
use crate::network::Scattering;

/// A reflection at the far end of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FarEndSeen {
    /// Best estimate, against the sweep's reference.
    pub reflection: Complex64,
    /// Standard uncertainty of its real and imaginary part.
    pub u: [f64; 2],
    /// VSWR that the 95 % interval of the magnitude spans; its upper end is absent where the
    /// interval reaches total reflection.
    pub swr: (f64, Option<f64>),
    /// Magnitude with its 95 % interval, not below zero.
    pub magnitude: Span,
}

/// What stands at the far end of `line` if its near end reflects `input` against `z_ref_ohm`, known to
/// `u_input` (standard uncertainty of real and imaginary part); `None` if the line lets
/// nothing through.
pub fn remove_line(
    line: &Line,
    freq_hz: f64,
    input: Complex64,
    z_ref_ohm: f64,
    u_input: f64,
) -> Option<FarEndSeen> {
    let far = |l: &Line, input: Complex64| {
        let whole = Scattering::line(l.z0(freq_hz), l.gamma_l(freq_hz), z_ref_ohm).ok()?;
        whole.load_reflection(input).filter(|r| r.is_finite())
    };
    let reflection = far(line, input)?;
    // A step in the input moves the far end by the same factor in every direction.
    let step = 1e-6;
    let gain = (far(line, input + step)? - reflection).norm() / step;
    let real = line.propagate(|l| far(l, input).map(|r| r.re))?;
    let imaginary = line.propagate(|l| far(l, input).map(|r| r.im))?;
    let size = line.propagate(|l| far(l, input).map(Complex64::norm))?;
    let noise = gain * u_input;
    let u95 = size.widened(noise).u95();
    let magnitude = Span {
        low: (size.value - u95).max(0.0),
        high: size.value + u95,
    };
    Some(FarEndSeen {
        reflection,
        u: [real.widened(noise).u, imaginary.widened(noise).u],
        swr: (
            swr(magnitude.low).unwrap_or(f64::INFINITY),
            swr(magnitude.high),
        ),
        magnitude,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::line::input_impedance::{Termination, input_reflection};
    use crate::uncertain::Uncertain;

    fn line(loss_db: f64) -> Line {
        Line {
            z0_ohm: Uncertain::new(51.3, 0.1),
            one_way_delay_s: Uncertain::new(83e-9, 10e-12),
            loss_db: Uncertain::new(loss_db, 0.02),
            dielectric_share: 0.1,
        }
    }

    #[test]
    fn what_was_put_on_comes_back() {
        let load = Complex64::new(38.0, 12.0);
        for loss_db in [0.3, 3.0, 9.0] {
            let line = line(loss_db);
            let end = Termination::Impedance(load);
            let input = input_reflection(end, line.z0(145e6), line.gamma_l(145e6), 50.0).unwrap();
            let seen = remove_line(&line, 145e6, input, 50.0, 1e-3).unwrap();
            let wanted = (load - 50.0) / (load + 50.0);
            assert!((seen.reflection - wanted).norm() < 1e-9, "{seen:?}");
        }
    }

    /// Three decibels more of line double what an error of the reading does.
    #[test]
    fn intervals_grow_by_twice_the_loss() {
        let input = Complex64::new(0.05, 0.02);
        let exact = |loss_db| Line {
            z0_ohm: Uncertain::exact(50.0),
            one_way_delay_s: Uncertain::exact(83e-9),
            loss_db: Uncertain::exact(loss_db),
            dielectric_share: 0.5,
        };
        let [near, far] =
            [3.0, 6.0].map(|l| remove_line(&exact(l), 145e6, input, 50.0, 1e-3).unwrap());
        let ratio = far.u[0] / near.u[0];
        assert!((ratio - 10f64.powf(0.3)).abs() < 1e-3, "{ratio}");
    }

    #[test]
    fn a_reflection_that_may_be_total_has_no_upper_swr() {
        let seen = remove_line(&line(14.0), 145e6, Complex64::new(0.05, 0.0), 50.0, 5e-3).unwrap();
        assert_eq!(seen.swr.1, None);
    }
}
