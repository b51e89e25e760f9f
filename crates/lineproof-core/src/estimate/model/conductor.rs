//! Internal impedance of wire and shield, each a shape over frequency with one parameter.
//!
//! A wire of radius a has Z = k/(2πaσ) · J0(ka)/J1(ka) per metre with k = (1 − j)/δ (Ramo, Whinnery,
//! Van Duzer, *Fields and Waves*, ch. 4). Divided by the strong skin effect's 1/(2πaσδ√f) it becomes
//! [`wire_shape`], which tends to (1 + j)√f at high and to a constant at low frequency. A thin shield
//! of thickness t has the plane conductor's form (1 + j)√f · coth((1 + j)t/δ) (Schelkunoff, *The
//! electromagnetic theory of coaxial transmission lines and cylindrical shields*, BSTJ 1934, for
//! walls thin against the radius; from memory): [`shield_shape`].

use std::f64::consts::PI;
use std::sync::LazyLock;

use num_complex::Complex64;

use crate::constants::MU_0_H_M;

/// Conductivity of annealed copper, S/m (IEC 60028).
const COPPER_S_M: f64 = 5.8e7;

/// Above this |ka| the asymptotic series is good to 1e-10 and cheaper.
const ASYMPTOTIC_FROM: f64 = 18.0;

/// Shape of the internal impedance of a copper wire of `radius_m` at `freq_hz`, in √Hz, and its
/// derivative with respect to ln(radius).
pub(crate) fn wire_shape(freq_hz: f64, radius_m: f64) -> (Complex64, Complex64) {
    // δ√f, the depth at 1 Hz
    let depth = 1.0 / (PI * MU_0_H_M * COPPER_S_M).sqrt();
    let root_f = freq_hz.sqrt();
    // k² = −jωµσ, so that k = (1 − j)/δ; the shape is k·δ√f·J0/J1 with |δ√f·k| = √2·√f.
    let k = Complex64::new(1.0, -1.0) * (root_f / depth);
    let z = k * radius_m;
    if z.norm_sqr() < 1e-12 {
        // J0/J1 → 2/z: direct current
        let dc = Complex64::new(2.0 * depth / radius_m, 0.0);
        return (dc, -dc);
    }
    let (ratio, slope) = bessel_ratio(z);
    let scale = Complex64::new(1.0, -1.0) * root_f;
    // d/d ln a = z · d/dz
    (scale * ratio, scale * slope * z)
}

/// Resistance of a copper wire at high frequency times its radius over √f, ohm (per metre, times
/// metre, per √Hz): 1/(2πσδ) at 1 Hz.
pub(crate) fn wire_ohm_metres() -> f64 {
    (PI * MU_0_H_M * COPPER_S_M).sqrt() / (2.0 * PI * COPPER_S_M)
}

/// Shape of the internal impedance of a copper shield of `thickness_m` at `freq_hz`, in √Hz, and its
/// derivative with respect to ln(thickness).
pub(crate) fn shield_shape(freq_hz: f64, thickness_m: f64) -> (Complex64, Complex64) {
    let depth = 1.0 / (PI * MU_0_H_M * COPPER_S_M).sqrt();
    let scale = Complex64::new(1.0, 1.0) * freq_hz.sqrt();
    let x = scale * (thickness_m / depth);
    if x.re > 18.0 {
        // coth is 1 to the last digit
        return (scale, Complex64::default());
    }
    // by the decaying exponential, which cannot overflow
    let e = (-2.0 * x).exp();
    let coth = (1.0 + e) / (1.0 - e);
    // d coth x / d ln t = x·(1 − coth²)
    (scale * coth, scale * x * (1.0 - coth * coth))
}

/// y(z) = J0(z)/J1(z) for z on the ray of −45 degrees, and dy/dz = −1 − y² + y/z
/// (from J0' = −J1 and J1' = J0 − J1/z, Abramowitz and Stegun 9.1.27).
fn bessel_ratio(z: Complex64) -> (Complex64, Complex64) {
    let y = if z.norm_sqr() > ASYMPTOTIC_FROM * ASYMPTOTIC_FROM {
        ratio_asymptotic(z)
    } else {
        ratio_fraction(z)
    };
    (y, -1.0 - y * y + y / z)
}

/// J1/J0 = z/(2 − z²/(4 − z²/(6 − …))) (Abramowitz and Stegun 9.1.73), evaluated from the tail.
fn ratio_fraction(z: Complex64) -> Complex64 {
    let terms = 20 + (1.5 * z.norm()) as usize;
    let square = z * z;
    let mut tail = Complex64::new(2.0 * (terms + 1) as f64, 0.0);
    for n in (1..=terms).rev() {
        tail = 2.0 * n as f64 - square / tail;
    }
    tail / z
}

/// Terms of the series for large |z|.
const SERIES_TERMS: usize = 15;

/// For large |z| on this ray J0/J1 solves its Riccati equation as a series Σ c_n z^−n: inserting it
/// gives 2 c0 c_n = n c_(n−1) − Σ c_i c_(n−i). The growing part of the wave is e^(+jz), so c0 = +j.
static SERIES: LazyLock<[Complex64; SERIES_TERMS]> = LazyLock::new(|| {
    let mut c = [Complex64::i(); SERIES_TERMS];
    for n in 1..SERIES_TERMS {
        let products: Complex64 = (1..n).map(|i| c[i] * c[n - i]).sum();
        c[n] = (c[n - 1] * n as f64 - products) / (2.0 * c[0]);
    }
    c
});

fn ratio_asymptotic(z: Complex64) -> Complex64 {
    let inverse = z.inv();
    SERIES
        .iter()
        .rev()
        .fold(Complex64::default(), |sum, &term| sum * inverse + term)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Check values LL-22 to LL-25 (derived, computed with mpmath): resistance and internal
    /// inductance of a copper wire of 0.90 mm diameter.
    #[test]
    fn agrees_with_the_exact_wire() {
        let radius = 0.45e-3;
        let depth = 1.0 / (PI * MU_0_H_M * COPPER_S_M).sqrt();
        let per_shape = 1.0 / (2.0 * PI * radius * COPPER_S_M * depth);
        for (freq, ohm, henry) in [
            (1e3, 0.02710295, 4.999888e-8),
            (1e5, 0.03612233, 4.1912188e-8),
            (1e6, 0.099414637, 1.4616818e-8),
            (1e8, 0.9295403, 1.4685062e-9),
        ] {
            let z = wire_shape(freq, radius).0 * per_shape;
            assert!(
                (z.re / ohm - 1.0).abs() < 1e-6,
                "R at {freq}: got {}, wanted {ohm}",
                z.re
            );
            let l = z.im / (2.0 * PI * freq);
            assert!(
                (l / henry - 1.0).abs() < 1e-6,
                "L at {freq}: got {l}, wanted {henry}"
            );
        }
    }

    #[test]
    fn both_forms_meet_where_they_change_over() {
        let z = Complex64::from_polar(ASYMPTOTIC_FROM, -PI / 4.0);
        let difference = (ratio_asymptotic(z) - ratio_fraction(z)).norm();
        assert!(difference < 1e-10, "difference {difference:e}");
    }

    #[test]
    fn derivative_agrees_with_a_difference() {
        for freq in [1e4, 1e6, 3e8] {
            let h = 1e-6_f64;
            let a = 0.3e-3;
            let (_, slope) = wire_shape(freq, a);
            let up = wire_shape(freq, a * h.exp()).0;
            let down = wire_shape(freq, a * (-h).exp()).0;
            let difference = (up - down) / (2.0 * h);
            assert!(
                (slope - difference).norm() < 1e-6 * slope.norm().max(1.0),
                "{freq}"
            );
        }
    }
}
