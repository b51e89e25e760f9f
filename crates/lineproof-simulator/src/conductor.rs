//! Internal impedance of conductors: resistance and the inductance of the field inside the metal.
//!
//! Method: the exact solution for a solid round wire by modified Bessel functions (S. Ramo,
//! J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, chapter on
//! impedance of round wires; quoted from memory, checked against rows LL-22 to LL-25b of
//! `testdata/reference/check-values.csv`), and the plane solution for a tube that is thin against
//! its radius. A copper-clad steel wire is a layer on a half-space, which holds where the wire is thick
//! against the skin depth in steel (0.07 mm at 50 kHz).

use std::f64::consts::PI;

use lineproof_core::constants::MU_0_H_M;
use num_complex::Complex64;

/// From here on the asymptotic series of the Bessel functions is exact to double precision, and
/// e^(−2 Re x) at 45° is below 10⁻¹⁸.
const ASYMPTOTIC_FROM: f64 = 30.0;

/// Series internal impedance of a solid round wire of `radius_m`, ohm per metre.
pub fn round_wire_ohm_m(freq_hz: f64, radius_m: f64, conductivity_s_per_m: f64) -> Complex64 {
    if freq_hz == 0.0 {
        return (1.0 / (conductivity_s_per_m * PI * radius_m * radius_m)).into();
    }
    let k = wave_number_per_m(freq_hz, conductivity_s_per_m);
    k / (2.0 * PI * radius_m * conductivity_s_per_m) / bessel_ratio(k * radius_m)
}

/// Series internal impedance of a tube that carries its current on the inside, ohm per metre.
///
/// `thickness_m` must be small against `inner_radius_m`.
pub fn tube_ohm_m(
    freq_hz: f64,
    inner_radius_m: f64,
    thickness_m: f64,
    conductivity_s_per_m: f64,
) -> Complex64 {
    let circumference_m = 2.0 * PI * inner_radius_m;
    if freq_hz == 0.0 {
        return (1.0 / (conductivity_s_per_m * circumference_m * thickness_m)).into();
    }
    let k = wave_number_per_m(freq_hz, conductivity_s_per_m);
    k / (circumference_m * conductivity_s_per_m * tanh(k * thickness_m))
}

/// Conductivity and relative permeability of steel, typical (from memory).
const STEEL_S_PER_M: f64 = 6e6;
const STEEL_MU_R: f64 = 200.0;

/// Series internal impedance of a steel wire of `radius_m` under copper of `layer_m`, ohm per metre: a layer on a
/// half-space, Zc(Zf + Zc tanh γt)/(Zc + Zf tanh γt) over the circumference (Ramo, Whinnery, Van Duzer, section on
/// coated conductors; from memory).
pub(crate) fn clad_wire_ohm_m(
    freq_hz: f64,
    radius_m: f64,
    layer_m: f64,
    conductivity_s_per_m: f64,
) -> Complex64 {
    let freq_hz = freq_hz.max(1.0);
    let k = wave_number_per_m(freq_hz, conductivity_s_per_m);
    let copper = k / conductivity_s_per_m;
    let steel = wave_number_per_m(freq_hz, STEEL_S_PER_M * STEEL_MU_R) / STEEL_S_PER_M;
    let layer = tanh(k * layer_m);
    copper * (steel + copper * layer) / (copper + steel * layer) / (2.0 * PI * radius_m)
}

/// Radius of the balls that rough copper is thought to consist of, m: drawn and woven wire, common practice.
const BALL_M: f64 = 4e-6;

/// Factor on the internal impedance of rough metal whose resistance rises by `share` where the skin is thin: balls on
/// a plane (P. Huray, *The Foundations of Signal Integrity*) in the causal form of J. E. Bracken (2012), 1 + s/(1 + δ(1
/// − j)/2a); both from memory. The real part of (1 + j) times it is Huray's 1 + s/(1 + δ/a + δ²/2a²).
pub(crate) fn rough_factor(freq_hz: f64, share: f64, conductivity_s_per_m: f64) -> Complex64 {
    if share == 0.0 || freq_hz == 0.0 {
        return Complex64::ONE;
    }
    let skin_m = wave_number_per_m(freq_hz, conductivity_s_per_m).re.recip();
    1.0 + share / (1.0 + Complex64::new(1.0, -1.0) * skin_m / (2.0 * BALL_M))
}

/// Wave number in metal, √(jωμ₀σ), 1/m: real and imaginary part are both one over the skin depth.
fn wave_number_per_m(freq_hz: f64, conductivity_s_per_m: f64) -> Complex64 {
    Complex64::new(0.0, 2.0 * PI * freq_hz * MU_0_H_M * conductivity_s_per_m).sqrt()
}

/// tanh for a non-negative real part; `Complex64::tanh` overflows where it is long since 1.
fn tanh(x: Complex64) -> Complex64 {
    let e = (-2.0 * x).exp();
    (1.0 - e) / (1.0 + e)
}

/// I₁(x)/I₀(x) for a positive real part.
fn bessel_ratio(x: Complex64) -> Complex64 {
    if x.norm() < ASYMPTOTIC_FROM {
        bessel_ratio_by_recurrence(x)
    } else {
        asymptotic_sum(x, 4.0) / asymptotic_sum(x, 0.0)
    }
}

/// Downward recurrence I₍ₙ₋₁₎ = (2n/x) Iₙ + I₍ₙ₊₁₎, written for the ratio; stable in this
/// direction (Abramowitz and Stegun, 9.6.26).
fn bessel_ratio_by_recurrence(x: Complex64) -> Complex64 {
    let first = x.norm() as u32 + 40;
    (1..=first).rev().fold(Complex64::ZERO, |ratio, n| {
        x / (2.0 * f64::from(n) + x * ratio)
    })
}

/// Σ of the asymptotic series of Iᵥ, without the factor that all orders share; `mu` is 4ν²
/// (Abramowitz and Stegun, 9.7.1).
fn asymptotic_sum(x: Complex64, mu: f64) -> Complex64 {
    let mut term = Complex64::ONE;
    let mut sum = term;
    for k in 1..20 {
        let odd = f64::from(2 * k - 1);
        term *= -(mu - odd * odd) / (f64::from(k) * 8.0 * x);
        sum += term;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    const COPPER_S_PER_M: f64 = 5.8e7;
    /// Both branches are exact to rounding where they meet.
    const BRANCH_TOL: f64 = 1e-13;

    #[test]
    fn series_and_recurrence_meet() {
        let x = Complex64::from_polar(ASYMPTOTIC_FROM, PI / 4.0);
        let series = asymptotic_sum(x, 4.0) / asymptotic_sum(x, 0.0);
        let difference = (bessel_ratio_by_recurrence(x) - series).norm();
        assert!(difference < BRANCH_TOL, "difference {difference:e}");
    }

    #[test]
    fn slow_currents_see_the_direct_current_resistance() {
        let wire = |f| round_wire_ohm_m(f, 0.45e-3, COPPER_S_PER_M).re;
        let tube = |f| tube_ohm_m(f, 1.5e-3, 0.1e-3, COPPER_S_PER_M).re;
        assert!((wire(1.0) / wire(0.0) - 1.0).abs() < 1e-6);
        assert!((tube(1.0) / tube(0.0) - 1.0).abs() < 1e-6);
    }

    /// Huray's factor on the resistance, 1 + s/(1 + δ/a + δ²/2a²): the causal form's real part.
    #[test]
    fn a_rough_conductor_has_hurays_resistance() {
        for freq_hz in [1e6, 100e6, 10e9] {
            let skin_m = (PI * freq_hz * MU_0_H_M * COPPER_S_PER_M).sqrt().recip();
            let smooth = Complex64::new(1.0, 1.0);
            let got = (smooth * rough_factor(freq_hz, 0.4, COPPER_S_PER_M)).re;
            let x = skin_m / BALL_M;
            let wanted = 1.0 + 0.4 / (1.0 + x + 0.5 * x * x);
            assert!((got - wanted).abs() < 1e-12, "got {got}, wanted {wanted}");
        }
    }

    /// Under copper much thicker than its skin depth steel does not show; under none there is only steel.
    #[test]
    fn cladding_hides_the_steel() {
        let radius_m = 0.5e-3;
        let copper = round_wire_ohm_m(1e9, radius_m, COPPER_S_PER_M);
        let clad = clad_wire_ohm_m(1e9, radius_m, 30e-6, COPPER_S_PER_M);
        assert!((clad / copper - 1.0).norm() < 0.01, "{clad} for {copper}");
        let bare = clad_wire_ohm_m(1e9, radius_m, 1e-12, COPPER_S_PER_M);
        assert!(bare.re > 10.0 * copper.re);
    }

    #[test]
    fn a_thick_tube_has_the_surface_resistance() {
        // Row LL-21 of check-values.csv: 8.24e-3 ohm at 1 GHz for 5.813e7 S/m.
        let per_square = tube_ohm_m(1e9, 0.5 / PI, 1e-3, 5.813e7).re;
        assert!((per_square - 8.24e-3).abs() < 0.01e-3, "got {per_square}");
    }
}
