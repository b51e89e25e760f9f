//! Smooth complex functions of frequency, as calibration and drift leave errors: sums of echoes at
//! delays that are evenly spaced over what leads and adapters have.

use std::f64::consts::TAU;
use std::ops::Range;

use num_complex::Complex64;

/// Delays that smooth errors of an analyser have: leads, adapters and couplers of a small
/// instrument, divided by its tracking. s.
const SUPPORT_S: Range<f64> = -0.5e-9..2.5e-9;

/// Terms of a smooth complex function over `span_hz`: its degrees of freedom and a margin.
pub(crate) fn smooth_terms(span_hz: f64) -> usize {
    let support = SUPPORT_S.end - SUPPORT_S.start;
    4 + (1.3 * span_hz * support).ceil() as usize
}

/// Values of the terms at one frequency.
pub(crate) fn smooth_basis(freq_hz: f64, terms: usize) -> impl Iterator<Item = Complex64> {
    let span = SUPPORT_S.end - SUPPORT_S.start;
    let step = span / (terms - 1) as f64;
    let first = Complex64::from_polar(1.0, -TAU * freq_hz * SUPPORT_S.start);
    // each term is the last one turned once more: one exponential instead of one for each term
    let factor = Complex64::from_polar(1.0, -TAU * freq_hz * step);
    std::iter::successors(Some(first), move |&z| Some(z * factor)).take(terms)
}

/// A smooth function at the frequency of `basis`; `theta` begins with its coefficients.
pub(crate) fn smooth_value(theta: &[f64], basis: &[Complex64]) -> Complex64 {
    basis
        .iter()
        .zip(theta.chunks_exact(2))
        .map(|(b, c)| b * Complex64::new(c[0], c[1]))
        .sum()
}

/// Adds the derivatives of a smooth function, times `factor`, to those of its coefficients.
pub(crate) fn add_smooth(out: &mut [Complex64], basis: &[Complex64], factor: Complex64) {
    for (pair, b) in out.chunks_exact_mut(2).zip(basis) {
        let d = b * factor;
        pair[0] += d;
        pair[1] += Complex64::new(-d.im, d.re);
    }
}
