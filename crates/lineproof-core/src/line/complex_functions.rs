//! Complex functions that keep their relative precision where the textbook form cancels.

use num_complex::Complex64;

/// Square root with positive real part, precise in both parts.
///
/// The polar form loses the small real part of √(−1 + j·10⁻⁹), and that part is the attenuation.
/// Method: W. Kahan, "Branch cuts for complex elementary functions", 1987 (without its scaling,
/// which only matters near the ends of the exponent range).
pub(crate) fn sqrt(z: Complex64) -> Complex64 {
    let large = f64::midpoint(z.re.abs(), z.norm()).sqrt();
    if large == 0.0 {
        return Complex64::ZERO;
    }
    let small = z.im / (2.0 * large);
    if z.re >= 0.0 {
        Complex64::new(large, small)
    } else {
        Complex64::new(small.abs(), large.copysign(z.im))
    }
}

/// 1 − e^(−z), precise near z = 0 and near every whole turn of its imaginary part.
pub(crate) fn one_minus_exp_neg(z: Complex64) -> Complex64 {
    let decay = (-z.re).exp();
    let half_turn = (0.5 * z.im).sin();
    Complex64::new(
        -(-z.re).exp_m1() + 2.0 * decay * half_turn * half_turn,
        decay * z.im.sin(),
    )
}

/// z·coth z, which is 1 at z = 0 and tends to z for a large positive real part.
pub(crate) fn z_coth_z(z: Complex64) -> Complex64 {
    if z.norm() < 1e-4 {
        // The next term, z⁴/45, is below the rounding of 1.
        return 1.0 + z * z / 3.0;
    }
    let gone = one_minus_exp_neg(2.0 * z);
    z * (2.0 - gone) / gone
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn square_root_keeps_a_small_real_part() {
        let root = sqrt(Complex64::new(-1.0, 2e-12));
        assert!((root.re / 1e-12 - 1.0).abs() < 1e-14, "got {root}");
        assert_eq!(root.im, 1.0);
        assert_eq!(sqrt(Complex64::ZERO), Complex64::ZERO);
        assert_eq!(sqrt(Complex64::new(-4.0, 0.0)), Complex64::new(0.0, 2.0));
    }

    #[test]
    fn one_minus_exponential_is_the_argument_near_zero() {
        let z = Complex64::new(1e-12, -2e-12);
        assert!((one_minus_exp_neg(z) / z - 1.0).norm() < 1e-11);
        let far = Complex64::new(0.7, 2.0);
        assert!((one_minus_exp_neg(far) - (1.0 - (-far).exp())).norm() < 1e-15);
    }

    #[test]
    fn z_coth_z_is_smooth_where_the_series_hands_over() {
        let below = z_coth_z(Complex64::new(0.7e-4, 0.71e-4));
        let above = z_coth_z(Complex64::new(0.7e-4, 0.72e-4));
        assert!((below - above).norm() < 1e-9);
        assert!((z_coth_z(Complex64::new(800.0, 3.0)).re - 800.0).abs() < 1e-9);
    }
}
