//! Skin effect: what alternating current makes of a round wire and of a tubular shield.
//!
//! Internal impedance is the part that comes from inside the metal: resistance and internal
//! inductance together. For the solid round wire it is exact at every frequency, from
//! R = 1/(πa²σ), L = μ0/8π at direct current to (1 + j)Rs/(2πa) in strong skin effect.
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
    let zeta_squared = Complex64::new(
        0.0,
        TAU * freq_hz * MU_0_H_M * conductivity_s_per_m * radius_m * radius_m,
    );
    bessel_ratio(zeta_squared) / (TAU * radius_m * radius_m * conductivity_s_per_m)
}

/// Internal impedance of a thin tubular shield that carries its current on the inner face, ohm/m.
///
/// Plane approximation (1 + j)/(2πbσδ)·coth((1 + j)t/δ): good when `thickness_m` and the skin depth
/// are small against the radius. Tends to 1/(2πbtσ) at direct current; the exact value there is
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
/// depth, (1 + j)Rs/(πd), ohm/m. Nought at direct current, so no good there.
pub fn strong_skin_ohm_m(freq_hz: f64, diameter_m: f64, conductivity_s_per_m: f64) -> Complex64 {
    let r_ohm_m = surface_resistance_ohm(freq_hz, conductivity_s_per_m) / (PI * diameter_m);
    Complex64::new(r_ohm_m, r_ohm_m)
}

/// Where |ζ|² hands over from continued fraction to asymptotic series: both are exact to rounding
/// there, and the fraction takes ever more terms above.
const ASYMPTOTIC_FROM: f64 = 900.0;

/// ζ·I0(ζ)/I1(ζ) as a function of ζ² on the positive imaginary axis; 2 at nought.
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
    fn a_thick_tube_is_a_surface_and_a_thin_one_its_cross_section() {
        let thick = tube_ohm_m(1e9, 3e-3, 1e-4, COPPER);
        assert!((thick / strong_skin_ohm_m(1e9, 3e-3, COPPER) - 1.0).norm() < 1e-12);
        let direct = tube_ohm_m(0.0, 3e-3, 1e-4, COPPER);
        assert!((direct.re * PI * 3e-3 * 1e-4 * COPPER - 1.0).abs() < 1e-15);
    }
}
