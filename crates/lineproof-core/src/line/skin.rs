//! Skin effect: what alternating current makes of a round wire and of a tubular shield.
//!
//! Internal impedance is the part that comes from inside the metal: resistance and internal
//! inductance together. For the solid round wire it is exact at every frequency, from
//! R = 1/(πa²σ), L = μ0/8π at direct current to (1 + j)Rs/(2πa) in strong skin effect; likewise
//! for the bore of a thick shield.
//! Source: S. Ramo, J. R. Whinnery, T. Van Duzer, Fields and Waves in Communication Electronics,
//! chapter on skin effect (ch. 3 and 4; from memory). The metal is not magnetic.

use std::f64::consts::{PI, TAU};

use num_complex::Complex64;

use super::complex_functions as complex;
use crate::constants::MU_0_H_M;

/// Skin depth 1/√(πfμ0σ), m; infinite at direct current.
pub fn skin_depth_m(freq_hz: f64, conductivity_s_per_m: f64) -> f64 {
    1.0 / (PI * freq_hz * MU_0_H_M * conductivity_s_per_m).sqrt()
}

/// Surface resistance 1/(σδ), ohm (per square).
pub fn surface_resistance_ohm(freq_hz: f64, conductivity_s_per_m: f64) -> f64 {
    (PI * freq_hz * MU_0_H_M / conductivity_s_per_m).sqrt()
}

/// Internal impedance of a solid round wire, ohm/m, at any frequency.
///
/// Z = ζ I0(ζ)/(I1(ζ)·2πa²σ) with ζ = (1 + j)a/δ, the same as k J0(ka)/(2πaσ J1(ka)) with
/// k = √(−jωμ0σ).
pub fn round_wire_ohm_m(freq_hz: f64, diameter_m: f64, conductivity_s_per_m: f64) -> Complex64 {
    let radius_m = diameter_m / 2.0;
    let zeta_squared = zeta_squared(freq_hz, radius_m, conductivity_s_per_m);
    bessel_ratio(zeta_squared) / (TAU * radius_m * radius_m * conductivity_s_per_m)
}

/// Internal impedance of a shield that is thicker than any skin depth, ohm/m, at any frequency:
/// a round hole of `diameter_m` in metal without end.
///
/// Z = ζ K0(ζ)/(K1(ζ)·2πb²σ) with ζ = (1 + j)b/δ. Zero at direct current, where the current has
/// all the metal to spread into; a real shield then has the resistance of its section, see
/// [`tube_ohm_m`].
pub fn round_bore_ohm_m(freq_hz: f64, diameter_m: f64, conductivity_s_per_m: f64) -> Complex64 {
    let radius_m = diameter_m / 2.0;
    let zeta_squared = zeta_squared(freq_hz, radius_m, conductivity_s_per_m);
    let ratio = if zeta_squared == Complex64::ZERO {
        Complex64::ZERO
    } else if zeta_squared.im < ASYMPTOTIC_FROM {
        outside_ratio_by_quadrature(complex::sqrt(zeta_squared))
    } else {
        // K has the series of I with the sign of ζ turned.
        let zeta = complex::sqrt(zeta_squared);
        zeta * hankel_sum(0.0, -zeta) / hankel_sum(1.0, -zeta)
    };
    ratio / (TAU * radius_m * radius_m * conductivity_s_per_m)
}

/// Internal impedance of a thin tubular shield that carries its current on the inner face, ohm/m.
///
/// Plane approximation (1 + j)/(2πbσδ)·coth((1 + j)t/δ), off by about the smaller of `thickness_m`
/// and the skin depth over the diameter. Tends to 1/(2πbtσ) at direct current; the exact value there is
/// smaller by the factor 1 + t/2b.
pub fn tube_ohm_m(
    freq_hz: f64,
    inner_diameter_m: f64,
    thickness_m: f64,
    conductivity_s_per_m: f64,
) -> Complex64 {
    let depths = thickness_m * (PI * freq_hz * MU_0_H_M * conductivity_s_per_m).sqrt();
    complex::z_coth_z(Complex64::new(depths, depths))
        / (PI * inner_diameter_m * thickness_m * conductivity_s_per_m)
}

/// Internal impedance of a conductor of round outline `diameter_m` much thicker than the skin
/// depth, (1 + j)Rs/(πd), ohm/m. Zero at direct current, so no good there.
pub fn strong_skin_ohm_m(freq_hz: f64, diameter_m: f64, conductivity_s_per_m: f64) -> Complex64 {
    let r_ohm_m = surface_resistance_ohm(freq_hz, conductivity_s_per_m) / (PI * diameter_m);
    Complex64::new(r_ohm_m, r_ohm_m)
}

/// Where |ζ|² hands over from continued fraction to asymptotic series: both are exact to rounding
/// there, and the fraction takes ever more terms above.
const ASYMPTOTIC_FROM: f64 = 900.0;

/// ζ² = ((1 + j)a/δ)².
fn zeta_squared(freq_hz: f64, radius_m: f64, conductivity_s_per_m: f64) -> Complex64 {
    let omega = TAU * freq_hz;
    Complex64::new(
        0.0,
        omega * MU_0_H_M * conductivity_s_per_m * radius_m * radius_m,
    )
}

/// ζ·I0(ζ)/I1(ζ) as a function of ζ² on the positive imaginary axis; 2 at zero.
fn bessel_ratio(zeta_squared: Complex64) -> Complex64 {
    if zeta_squared.im < ASYMPTOTIC_FROM {
        ratio_by_continued_fraction(zeta_squared)
    } else {
        ratio_by_asymptotic_series(complex::sqrt(zeta_squared))
    }
}

/// Gauss's continued fraction 2 + ζ²/(4 + ζ²/(6 + …)) (Abramowitz and Stegun, Handbook of
/// Mathematical Functions, 9.1.73 with imaginary argument), evaluated from the far end.
fn ratio_by_continued_fraction(zeta_squared: Complex64) -> Complex64 {
    /// Enough for |ζ| = 30 to rounding; fewer would do below.
    const TERMS: u32 = 60;
    (1..TERMS)
        .rev()
        .fold(Complex64::new(2.0 * f64::from(TERMS), 0.0), |tail, n| {
            2.0 * f64::from(n) + zeta_squared / tail
        })
}

/// Hankel's asymptotic series of both functions (Abramowitz and Stegun, 9.7.1); what they leave
/// out is below e^(−2 Re ζ).
fn ratio_by_asymptotic_series(zeta: Complex64) -> Complex64 {
    zeta * hankel_sum(0.0, zeta) / hankel_sum(1.0, zeta)
}

/// ζ·K0(ζ)/K1(ζ) from Kν(ζ) = ∫ e^(−ζ cosh t) cosh νt dt (Abramowitz and Stegun, 9.6.24). The
/// integrand falls doubly exponentially, so that the trapezoidal rule is exact to rounding.
fn outside_ratio_by_quadrature(zeta: Complex64) -> Complex64 {
    /// For |ζ| up to 30; error about e^(−2π·(π/4)/step).
    const STEP: f64 = 0.06;
    /// The integrand has fallen by e^(−40) at the end.
    const DECAY: f64 = 40.0;
    let steps = ((1.0 + DECAY / zeta.re).acosh() / STEP).ceil() as usize;
    let (mut k0, mut k1) = (Complex64::new(0.5, 0.0), Complex64::new(0.5, 0.0));
    for k in 1..=steps {
        let t = STEP * k as f64;
        let half = (0.5 * t).sinh();
        // cosh t − 1 without cancellation; the factor e^(−ζ) leaves the ratio.
        let weight = (-zeta * 2.0 * half * half).exp();
        k0 += weight;
        k1 += weight * t.cosh();
    }
    zeta * k0 / k1
}

fn hankel_sum(order: f64, zeta: Complex64) -> Complex64 {
    /// The first term left out is below 10⁻¹⁶ for |ζ| of 30 and more.
    const TERMS: u32 = 16;
    let mu = 4.0 * order * order;
    let mut term = Complex64::ONE;
    let mut sum = term;
    for k in 1..TERMS {
        let odd = f64::from(2 * k - 1);
        term *= -(mu - odd * odd) / (f64::from(k) * 8.0 * zeta);
        sum += term;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    const COPPER: f64 = 5.8e7;

    #[test]
    fn direct_current_fills_the_wire() {
        let z = round_wire_ohm_m(0.0, 0.9e-3, COPPER);
        assert!((z.re * PI * 0.45e-3f64.powi(2) * COPPER - 1.0).abs() < 1e-14);
        assert_eq!(z.im, 0.0);
        let inductance = round_wire_ohm_m(1e-3, 0.9e-3, COPPER).im / (TAU * 1e-3);
        assert!((inductance / (MU_0_H_M / (8.0 * PI)) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn fraction_and_series_agree_where_they_meet() {
        for square in [ASYMPTOTIC_FROM, 1.5 * ASYMPTOTIC_FROM] {
            let square = Complex64::new(0.0, square);
            let fraction = ratio_by_continued_fraction(square);
            let series = ratio_by_asymptotic_series(complex::sqrt(square));
            assert!((fraction / series - 1.0).norm() < 1e-14, "at {square}");
        }
    }

    #[test]
    fn bore_is_smooth_where_the_series_takes_over() {
        for square in [ASYMPTOTIC_FROM, 1.5 * ASYMPTOTIC_FROM] {
            let zeta = complex::sqrt(Complex64::new(0.0, square));
            let quadrature = outside_ratio_by_quadrature(zeta);
            let series = zeta * hankel_sum(0.0, -zeta) / hankel_sum(1.0, -zeta);
            assert!((quadrature / series - 1.0).norm() < 1e-14, "at {square}");
        }
        assert_eq!(round_bore_ohm_m(0.0, 3e-3, COPPER), Complex64::ZERO);
    }

    #[test]
    fn curvature_helps_the_bore_by_what_it_costs_the_wire() {
        // Second terms of the asymptotic series: ±1/(4πa²σ), the same at all frequencies.
        let plane = strong_skin_ohm_m(1e9, 1e-3, COPPER);
        let extra = 1.0 / (4.0 * PI * 0.5e-3f64.powi(2) * COPPER);
        let wire = round_wire_ohm_m(1e9, 1e-3, COPPER) - plane;
        let bore = round_bore_ohm_m(1e9, 1e-3, COPPER) - plane;
        assert!((wire.re / extra - 1.0).abs() < 0.01, "{wire} {extra}");
        assert!((bore.re / extra + 1.0).abs() < 0.01, "{bore} {extra}");
    }

    #[test]
    fn a_thick_tube_is_a_surface_and_a_thin_one_its_cross_section() {
        let thick = tube_ohm_m(1e9, 3e-3, 1e-4, COPPER);
        assert!((thick / strong_skin_ohm_m(1e9, 3e-3, COPPER) - 1.0).norm() < 1e-12);
        let direct = tube_ohm_m(0.0, 3e-3, 1e-4, COPPER);
        assert!((direct.re * PI * 3e-3 * 1e-4 * COPPER - 1.0).abs() < 1e-15);
    }
}
