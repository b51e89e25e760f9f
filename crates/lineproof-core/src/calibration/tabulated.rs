//! Values known at many frequencies, as a Touchstone file gives them, in between.
//!
//! Cubic interpolation through the four nearest points (Lagrange), of real and imaginary part; at
//! the ends through the nearest four that there are. Nothing is carried on beyond the table. Valid
//! while the phase turns much less than a quarter of a circle between points.

use num_complex::Complex64;

use crate::network::{Matrix2, Scattering, one_port};
use crate::sweep::{Sweep, ThroughSweep};

/// Points that a value between two of them is taken from.
const NEAREST: usize = 4;
/// How far beyond its ends, relative, a table still serves: files round their frequencies.
const ROUNDING_REL: f64 = 1e-6;

/// A one-port by its reflection.
#[derive(Clone, Debug, PartialEq)]
pub struct Tabulated {
    sweep: Sweep,
    u: f64,
}

impl Tabulated {
    /// A one-port whose reflection is known to the standard uncertainty `u` in real and imaginary
    /// part alike.
    pub fn new(sweep: Sweep, u: f64) -> Self {
        Self { sweep, u }
    }

    /// Reflection against `z_ref_ohm`; `None` beyond the table.
    pub fn reflection(&self, freq_hz: f64, z_ref_ohm: f64) -> Option<Complex64> {
        let known = interpolate(self.sweep.freq_hz(), self.sweep.reflection(), freq_hz)?;
        one_port::renormalise(known, self.sweep.z_ref_ohm(), z_ref_ohm)
    }

    /// Changes of real and imaginary part by one standard uncertainty.
    pub(super) fn spread(&self) -> Vec<Complex64> {
        if self.u > 0.0 {
            vec![Complex64::new(self.u, 0.0), Complex64::new(0.0, self.u)]
        } else {
            Vec::new()
        }
    }
}

/// A two-port at `freq_hz`; `None` beyond the sweep. A sweep without its reverse direction is taken
/// as reciprocal and, since nothing says otherwise, symmetric.
pub fn two_port_at(sweep: &ThroughSweep, freq_hz: f64) -> Option<Scattering> {
    let at = |values: &[Complex64]| interpolate(sweep.freq_hz(), values, freq_hz);
    let (s11, s21) = (at(sweep.s11())?, at(sweep.s21())?);
    let (s12, s22) = match sweep.reverse() {
        Some(reverse) => (at(&reverse.s12)?, at(&reverse.s22)?),
        // a passive part is reciprocal; symmetry is the only assumption that needs no further number
        None => (s21, s11),
    };
    Scattering::new(Matrix2([[s11, s12], [s21, s22]]), [sweep.z_ref_ohm(); 2]).ok()
}

/// Value at `x` of a function known at rising `xs`; `None` beyond them.
fn interpolate(xs: &[f64], ys: &[Complex64], x: f64) -> Option<Complex64> {
    let (first, last) = (xs[0], xs[xs.len() - 1]);
    // beyond the ends there is no datum, but the last digit of a frequency is no reason to refuse
    let slack = ROUNDING_REL * x.abs();
    if x < first - slack || x > last + slack {
        return None;
    }
    let above = xs.partition_point(|&known| known < x);
    let count = NEAREST.min(xs.len());
    // the four nearest, shifted inwards at the ends: a higher order would ring between noisy points
    let from = above.saturating_sub(count / 2).min(xs.len() - count);
    let nodes = &xs[from..from + count];
    let weight = |i: usize| -> f64 {
        let others = (0..count).filter(|&j| j != i);
        others
            // Lagrange's polynomial through the nearest nodes
            .map(|j| (x - nodes[j]) / (nodes[i] - nodes[j]))
            .product()
    };
    Some((0..count).map(|i| ys[from + i] * weight(i)).sum())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cubic goes through exactly; an offset short turning 18° a step is met to 1e-4.
    #[test]
    fn between_points_a_smooth_reflection_is_met() {
        let xs: Vec<f64> = (0..9).map(f64::from).collect();
        let cubic = |x: f64| Complex64::new(x * x * x - 2.0 * x, 0.5 * x * x);
        let ys: Vec<_> = xs.iter().map(|&x| cubic(x)).collect();
        for x in [0.0, 0.4, 3.7, 7.9, 8.0] {
            let got = interpolate(&xs, &ys, x).unwrap();
            assert!((got - cubic(x)).norm() < 1e-12, "{x}: {got}");
        }
        let turn = |x: f64| Complex64::cis(-0.314 * x);
        let ys: Vec<_> = xs.iter().map(|&x| turn(x)).collect();
        let got = interpolate(&xs, &ys, 4.5).unwrap();
        assert!((got - turn(4.5)).norm() < 3e-4);
    }

    #[test]
    fn nothing_is_known_beyond_the_table() {
        let sweep = Sweep::new(vec![1e6, 2e6], vec![Complex64::ONE; 2], 50.0).unwrap();
        let table = Tabulated::new(sweep, 0.0);
        assert_eq!(table.reflection(2.1e6, 50.0), None);
        assert_eq!(table.reflection(0.9e6, 50.0), None);
        assert!(table.reflection(1.5e6, 75.0).is_some());
    }
}
