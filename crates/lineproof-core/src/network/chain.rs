//! Chain (ABCD) parameters: two-ports in a row are a product of matrices.
//!
//! V1 = A·V2 + B·I, I1 = C·V2 + D·I with I the current *out of* port 2. Elements and line section:
//! D. M. Pozar, Microwave Engineering, 4th ed., table 4.1.

use std::ops::Mul;

use num_complex::Complex64;

use super::{Matrix2, NetworkError};
use crate::line::input_impedance::Termination;

/// Chain parameters of a two-port. Any values are valid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chain {
    /// Voltage ratio.
    pub a: Complex64,
    /// Transfer impedance, ohm.
    pub b_ohm: Complex64,
    /// Transfer admittance, S.
    pub c_s: Complex64,
    /// Current ratio.
    pub d: Complex64,
}

impl Chain {
    /// A connection of no length.
    pub const THROUGH: Self = Self {
        a: Complex64::ONE,
        b_ohm: Complex64::ZERO,
        c_s: Complex64::ZERO,
        d: Complex64::ONE,
    };

    /// A section of line with `gamma_l` = γ·l.
    ///
    /// # Errors
    /// [`NetworkError::NotFinite`] beyond some 700 Np (6 000 dB), where cosh overflows, and for an
    /// impedance of zero; [`super::Scattering::line`] has no such limit.
    pub fn line(z0_ohm: Complex64, gamma_l: Complex64) -> Result<Self, NetworkError> {
        let (sinh, cosh) = (gamma_l.sinh(), gamma_l.cosh());
        let line = Self {
            a: cosh,
            b_ohm: z0_ohm * sinh,
            c_s: sinh / z0_ohm,
            d: cosh,
        };
        if line.matrix().is_finite() {
            Ok(line)
        } else {
            Err(NetworkError::NotFinite {
                what: "a section of line",
            })
        }
    }

    /// An impedance in series, ohm.
    pub fn series(z_ohm: Complex64) -> Self {
        Self {
            b_ohm: z_ohm,
            ..Self::THROUGH
        }
    }

    /// An admittance across the line, S.
    pub fn shunt(y_s: Complex64) -> Self {
        Self {
            c_s: y_s,
            ..Self::THROUGH
        }
    }

    /// All of them in a row, the first at port 1; nothing at all is a through connection.
    pub fn cascade(pieces: &[Self]) -> Self {
        pieces
            .iter()
            .fold(Self::THROUGH, |chain, &piece| chain * piece)
    }

    /// The matrix [[A, B], [C, D]].
    pub fn matrix(self) -> Matrix2 {
        Matrix2([[self.a, self.b_ohm], [self.c_s, self.d]])
    }

    /// From the matrix [[A, B], [C, D]].
    pub fn from_matrix(matrix: Matrix2) -> Self {
        let [[a, b_ohm], [c_s, d]] = matrix.0;
        Self { a, b_ohm, c_s, d }
    }

    /// What undoes this two-port when placed beside it.
    ///
    /// # Errors
    /// [`NetworkError::NoInverse`] if AD = BC.
    pub fn inverse(self) -> Result<Self, NetworkError> {
        let inverse = self.matrix().inverse().ok_or(NetworkError::NoInverse)?;
        Ok(Self::from_matrix(inverse))
    }

    /// De-embedding: what lies between `left` and `right` if the whole of it is `self`.
    ///
    /// # Errors
    /// [`NetworkError::NoInverse`] if either cannot be de-embedded.
    pub fn between(self, left: Self, right: Self) -> Result<Self, NetworkError> {
        Ok(left.inverse()? * self * right.inverse()?)
    }

    /// The same two-port with its ports exchanged.
    ///
    /// # Errors
    /// [`NetworkError::NoInverse`] if AD = BC.
    pub fn reversed(self) -> Result<Self, NetworkError> {
        let inverse = self.inverse()?;
        Ok(Self {
            b_ohm: -inverse.b_ohm,
            c_s: -inverse.c_s,
            ..inverse
        })
    }

    /// Determinant AD − BC: 1 for a reciprocal two-port.
    pub fn determinant(self) -> Complex64 {
        self.matrix().determinant()
    }

    /// Impedance into port 1 with `end` at port 2, ohm; `None` if no current flows.
    pub fn input_impedance_ohm(self, end: Termination) -> Option<Complex64> {
        let (voltage, current) = self.input(end);
        finite(voltage / current)
    }

    /// Reflection at port 1 against `z_ref_ohm` with `end` at port 2.
    ///
    /// `None` only if port 1 looks like exactly −`z_ref_ohm`.
    pub fn input_reflection(self, end: Termination, z_ref_ohm: f64) -> Option<Complex64> {
        let (voltage, current) = self.input(end);
        finite((voltage - z_ref_ohm * current) / (voltage + z_ref_ohm * current))
    }

    /// Voltage and current at port 1, up to a common factor.
    fn input(self, end: Termination) -> (Complex64, Complex64) {
        match end {
            Termination::Open => (self.a, self.c_s),
            Termination::Short => (self.b_ohm, self.d),
            Termination::Impedance(z) => (self.a * z + self.b_ohm, self.c_s * z + self.d),
        }
    }
}

impl Mul for Chain {
    type Output = Self;

    /// This two-port followed by the other.
    fn mul(self, next: Self) -> Self {
        Self::from_matrix(self.matrix() * next.matrix())
    }
}

fn finite(z: Complex64) -> Option<Complex64> {
    z.is_finite().then_some(z)
}

/// γl of the difference of two lengths behind the same unknown fixtures, from trace and
/// determinant of M = T₂T₁⁻¹, whose eigenvalues are e^(±γΔl). Gives loss, Np, and electrical
/// length less whole turns, rad (Marks, IEEE Trans. MTT 39, 1991).
pub fn length_difference(trace: Complex64, determinant: Complex64) -> Option<(f64, f64)> {
    let half = 0.5 * trace;
    let root = (half * half - determinant).sqrt();
    let (first, second) = (half + root, half - root);
    let smaller = if first.norm() < second.norm() {
        first
    } else {
        second
    };
    let found = (-smaller.norm().ln(), -smaller.arg());
    (found.0.is_finite() && found.1.is_finite()).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::line::input_impedance::input_impedance_ohm;

    const Z0: Complex64 = Complex64::new(74.0, -1.5);
    const GAMMA_L: Complex64 = Complex64::new(0.05, 2.2);

    #[test]
    fn a_line_with_something_at_its_end_looks_as_line_theory_says() {
        let line = Chain::line(Z0, GAMMA_L).unwrap();
        for end in [
            Termination::Open,
            Termination::Short,
            Termination::resistance(50.0),
        ] {
            let chain = line.input_impedance_ohm(end).unwrap();
            let theory = input_impedance_ohm(end, Z0, GAMMA_L).unwrap();
            assert!((chain / theory - 1.0).norm() < 1e-13, "{end:?}");
        }
    }

    #[test]
    fn what_is_not_finite_is_refused() {
        let too_long = Chain::line(Z0, Complex64::new(800.0, 0.0));
        let message = too_long.unwrap_err().to_string();
        assert_eq!(
            message,
            "the matrix of a section of line would not be finite"
        );
        let blocks = Chain {
            a: Complex64::ONE,
            b_ohm: Complex64::ONE,
            c_s: Complex64::ONE,
            d: Complex64::ONE,
        };
        assert_eq!(blocks.inverse(), Err(NetworkError::NoInverse));
    }
}
