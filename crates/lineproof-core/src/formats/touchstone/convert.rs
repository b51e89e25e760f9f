//! Y, Z, H and G parameters to scattering parameters, and from two references to one.
//!
//! Formulas: D. A. Frickey, "Conversions between S, Z, Y, h, ABCD, and T parameters", IEEE Trans.
//! MTT 42 (1994), table I, for equal real references; G is the inverse of H. The change of
//! references follows from a' = k(a − ρb), b' = k(b − ρa) with ρ = (z' − z)/(z' + z) and
//! k = (z + z')/(2√(z z')), which holds for real references.

use num_complex::Complex64;

use super::options::Parameter;

/// Elements 11, 21, 12 and 22 of a matrix, in this order.
pub(super) type Matrix2 = [Complex64; 4];

/// Scattering parameter of one normalised immittance: z or y.
pub(super) fn one_port_s(parameter: Parameter, n11: Complex64) -> Complex64 {
    match parameter {
        Parameter::Z => (n11 - 1.0) / (n11 + 1.0),
        Parameter::Y => (1.0 - n11) / (1.0 + n11),
        Parameter::S | Parameter::H | Parameter::G => n11,
    }
}

/// Parameters in ohm and siemens, normalised to `z_ref_ohm`.
pub(super) fn normalised(parameter: Parameter, m: Matrix2, z_ref_ohm: f64) -> Matrix2 {
    let [n11, n21, n12, n22] = m;
    match parameter {
        Parameter::S => m,
        Parameter::Z => m.map(|z| z / z_ref_ohm),
        Parameter::Y => m.map(|y| y * z_ref_ohm),
        Parameter::H => [n11 / z_ref_ohm, n21, n12, n22 * z_ref_ohm],
        Parameter::G => [n11 * z_ref_ohm, n21, n12, n22 / z_ref_ohm],
    }
}

/// Scattering parameters of normalised two-port parameters.
pub(super) fn two_port_s(parameter: Parameter, m: Matrix2) -> Matrix2 {
    let [n11, n21, n12, n22] = m;
    let product = n12 * n21;
    match parameter {
        Parameter::S => m,
        Parameter::Z => {
            let d = (n11 + 1.0) * (n22 + 1.0) - product;
            [
                ((n11 - 1.0) * (n22 + 1.0) - product) / d,
                2.0 * n21 / d,
                2.0 * n12 / d,
                ((n11 + 1.0) * (n22 - 1.0) - product) / d,
            ]
        }
        Parameter::Y => {
            let d = (n11 + 1.0) * (n22 + 1.0) - product;
            [
                ((1.0 - n11) * (1.0 + n22) + product) / d,
                -2.0 * n21 / d,
                -2.0 * n12 / d,
                ((1.0 + n11) * (1.0 - n22) + product) / d,
            ]
        }
        Parameter::H => {
            let d = (n11 + 1.0) * (n22 + 1.0) - product;
            [
                ((n11 - 1.0) * (n22 + 1.0) - product) / d,
                -2.0 * n21 / d,
                2.0 * n12 / d,
                ((1.0 + n11) * (1.0 - n22) + product) / d,
            ]
        }
        Parameter::G => {
            let d = (n11 + 1.0) * (n22 + 1.0) - product;
            [
                ((1.0 - n11) * (1.0 + n22) + product) / d,
                2.0 * n21 / d,
                -2.0 * n12 / d,
                ((1.0 + n11) * (n22 - 1.0) - product) / d,
            ]
        }
    }
}

/// Scattering parameters referred to `from_ohm` at ports 1 and 2, referred to `to_ohm` at both.
pub(super) fn renormalised(s: Matrix2, from_ohm: [f64; 2], to_ohm: f64) -> Matrix2 {
    let rho = from_ohm.map(|z| (to_ohm - z) / (to_ohm + z));
    let k = from_ohm.map(|z| (z + to_ohm) / (2.0 * (z * to_ohm).sqrt()));
    let [s11, s21, s12, s22] = s;
    // S' = K (S − P)(I − P S)^-1 K^-1; the inverse of the 2×2 matrix is written out.
    let a = 1.0 - rho[0] * s11;
    let d = 1.0 - rho[1] * s22;
    let b = -rho[0] * s12;
    let c = -rho[1] * s21;
    let det = a * d - b * c;
    let (t11, t22) = (s11 - rho[0], s22 - rho[1]);
    [
        (t11 * d - s12 * c) / det,
        (s21 * d - t22 * c) / det * (k[1] / k[0]),
        (s12 * a - t11 * b) / det * (k[0] / k[1]),
        (t22 * a - s21 * b) / det,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rounding of a few complex operations.
    const ROUNDING: f64 = 1e-12;

    fn close(got: Matrix2, wanted: Matrix2) {
        for (g, w) in got.into_iter().zip(wanted) {
            assert!((g - w).norm() < ROUNDING, "got {got:?}, wanted {wanted:?}");
        }
    }

    fn c(re: f64, im: f64) -> Complex64 {
        Complex64::new(re, im)
    }

    /// One network in all parameters: a series impedance of 2 and a shunt admittance of 1 behind
    /// it (normalised). Z = [3 1; 1 1], Y = [½ −½; −½ 3/2], H = [2 1; −1 1], G = H^-1, from
    /// Kirchhoff's laws; S by definition from the input resistance with the far port matched.
    #[test]
    fn an_l_network_is_the_same_in_all_parameters() {
        let real = |m: [f64; 4]| m.map(|v| c(v, 0.0));
        let s = real([3.0 / 7.0, 2.0 / 7.0, 2.0 / 7.0, -1.0 / 7.0]);
        close(two_port_s(Parameter::Z, real([3.0, 1.0, 1.0, 1.0])), s);
        close(two_port_s(Parameter::Y, real([0.5, -0.5, -0.5, 1.5])), s);
        close(two_port_s(Parameter::H, real([2.0, -1.0, 1.0, 1.0])), s);
        let third = 1.0 / 3.0;
        close(
            two_port_s(Parameter::G, real([third, third, -third, 2.0 * third])),
            s,
        );
    }

    #[test]
    fn a_through_between_50_and_75_ohm_shows_their_mismatch() {
        // Γ = (75 − 50)/(75 + 50) = 0.2, transmission 2√(50·75)/125; seen in 50 ohm it is a through.
        let t = 2.0 * (50f64 * 75.0).sqrt() / 125.0;
        let mixed = [c(0.2, 0.0), c(t, 0.0), c(t, 0.0), c(-0.2, 0.0)];
        let through = [c(0.0, 0.0), c(1.0, 0.0), c(1.0, 0.0), c(0.0, 0.0)];
        close(renormalised(mixed, [50.0, 75.0], 50.0), through);
        close(renormalised(mixed, [50.0, 75.0], 75.0), through);
    }
}
