//! From any set of two-port parameters to any other.
//!
//! All sets describe the same thing: the voltages and currents (V1, I1, V2, I2) that a two-port
//! allows, a plane in four dimensions. Each set writes two quantities (the dependent ones) as a
//! matrix times two others (the independent ones). So one routine converts between all of them:
//! take two vectors that span the plane, read off the dependent and independent quantities, and
//! divide. Where the independent quantities are not independent, the set does not exist, and the
//! conversion says so.

use num_complex::Complex64;

use super::{Chain, Matrix2, NetworkError, Scattering};

/// Impedance parameters, ohm: (V1, V2) = Z (I1, I2).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Impedance(pub Matrix2);

/// Admittance parameters, S: (I1, I2) = Y (V1, V2).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Admittance(pub Matrix2);

/// Hybrid parameters: (V1, I2) = H (I1, V2).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hybrid(pub Matrix2);

/// Inverse hybrid parameters: (I1, V2) = G (V1, I2).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InverseHybrid(pub Matrix2);

/// A two-port in any of its descriptions.
pub trait TwoPort: Copy {
    /// Two states that span what the two-port allows.
    fn span(self) -> Span;

    /// As chain parameters.
    ///
    /// # Errors
    /// [`NetworkError::NoSuchParameters`] if nothing passes from port 1 to port 2.
    fn chain(self) -> Result<Chain, NetworkError> {
        let matrix = self.span().matrix(
            |s| [s.v1, s.i1],
            |s| [s.v2, -s.i2],
            "chain parameters: nothing passes from port 1 to port 2",
        )?;
        Ok(Chain::from_matrix(matrix))
    }

    /// As S-parameters referred to `z_ref_ohm` at ports 1 and 2.
    ///
    /// # Errors
    /// [`NetworkError::Reference`] if a reference is not a positive number;
    /// [`NetworkError::NoSuchParameters`] for an active two-port that oscillates between them.
    fn scattering(self, z_ref_ohm: [f64; 2]) -> Result<Scattering, NetworkError> {
        let zero = Matrix2::diagonal(0.0, 0.0);
        Scattering::new(zero, z_ref_ohm)?;
        let matrix = self.span().matrix(
            |s| s.outgoing(z_ref_ohm),
            |s| s.incoming(z_ref_ohm),
            "scattering parameters for these references",
        )?;
        Scattering::new(matrix, z_ref_ohm)
    }

    /// As impedance parameters.
    ///
    /// # Errors
    /// [`NetworkError::NoSuchParameters`] if the port currents depend on each other.
    fn impedance(self) -> Result<Impedance, NetworkError> {
        let what = "impedance parameters: the currents of its ports depend on each other";
        let span = self.span();
        span.matrix(|s| [s.v1, s.v2], |s| [s.i1, s.i2], what)
            .map(Impedance)
    }

    /// As admittance parameters.
    ///
    /// # Errors
    /// [`NetworkError::NoSuchParameters`] if the port voltages depend on each other.
    fn admittance(self) -> Result<Admittance, NetworkError> {
        let what = "admittance parameters: the voltages of its ports depend on each other";
        let span = self.span();
        span.matrix(|s| [s.i1, s.i2], |s| [s.v1, s.v2], what)
            .map(Admittance)
    }

    /// As hybrid parameters.
    ///
    /// # Errors
    /// [`NetworkError::NoSuchParameters`] if I1 and V2 depend on each other.
    fn hybrid(self) -> Result<Hybrid, NetworkError> {
        let what =
            "hybrid parameters: current of port 1 and voltage of port 2 depend on each other";
        let span = self.span();
        span.matrix(|s| [s.v1, s.i2], |s| [s.i1, s.v2], what)
            .map(Hybrid)
    }

    /// As inverse hybrid parameters.
    ///
    /// # Errors
    /// [`NetworkError::NoSuchParameters`] if V1 and I2 depend on each other.
    fn inverse_hybrid(self) -> Result<InverseHybrid, NetworkError> {
        let what = "inverse hybrid parameters: voltage of port 1 and current of port 2 depend on each other";
        let span = self.span();
        span.matrix(|s| [s.i1, s.v2], |s| [s.v1, s.i2], what)
            .map(InverseHybrid)
    }
}

/// Voltages and currents at both ports; currents flow in.
#[derive(Clone, Copy, Debug)]
pub struct State {
    /// Voltage of port 1, V.
    pub v1: Complex64,
    /// Current into port 1, A.
    pub i1: Complex64,
    /// Voltage of port 2, V.
    pub v2: Complex64,
    /// Current into port 2, A.
    pub i2: Complex64,
}

impl State {
    fn incoming(self, z_ref_ohm: [f64; 2]) -> [Complex64; 2] {
        self.waves(z_ref_ohm, 1.0)
    }

    fn outgoing(self, z_ref_ohm: [f64; 2]) -> [Complex64; 2] {
        self.waves(z_ref_ohm, -1.0)
    }

    fn waves(self, [z1, z2]: [f64; 2], sign: f64) -> [Complex64; 2] {
        [
            (self.v1 + sign * z1 * self.i1) / (2.0 * z1.sqrt()),
            (self.v2 + sign * z2 * self.i2) / (2.0 * z2.sqrt()),
        ]
    }
}

/// Two states that span all that a two-port allows.
#[derive(Clone, Copy, Debug)]
pub struct Span([State; 2]);

impl Span {
    /// The matrix that takes the independent quantities to the dependent ones.
    fn matrix(
        self,
        dependent: impl Fn(State) -> [Complex64; 2],
        independent: impl Fn(State) -> [Complex64; 2],
        wanted: &'static str,
    ) -> Result<Matrix2, NetworkError> {
        let columns =
            |quantity: &dyn Fn(State) -> [Complex64; 2]| Matrix2(self.0.map(quantity)).transpose();
        let inverse = columns(&independent)
            .inverse()
            .ok_or(NetworkError::NoSuchParameters { wanted })?;
        Ok(columns(&dependent) * inverse)
    }
}

impl TwoPort for Chain {
    fn span(self) -> Span {
        let open = State {
            v1: self.a,
            i1: self.c_s,
            v2: Complex64::ONE,
            i2: Complex64::ZERO,
        };
        let short = State {
            v1: self.b_ohm,
            i1: self.d,
            v2: Complex64::ZERO,
            i2: -Complex64::ONE,
        };
        Span([open, short])
    }
}

impl TwoPort for Scattering {
    fn span(self) -> Span {
        let [r1, r2] = self.z_ref_ohm.map(f64::sqrt);
        let state = |a1: f64, a2: f64, b1: Complex64, b2: Complex64| State {
            v1: (a1 + b1) * r1,
            i1: (a1 - b1) / r1,
            v2: (a2 + b2) * r2,
            i2: (a2 - b2) / r2,
        };
        Span([
            state(1.0, 0.0, self.s11, self.s21),
            state(0.0, 1.0, self.s12, self.s22),
        ])
    }
}

impl TwoPort for Impedance {
    fn span(self) -> Span {
        Span(driven(self.0, |[i1, i2], [v1, v2]| State {
            v1,
            i1,
            v2,
            i2,
        }))
    }
}

impl TwoPort for Admittance {
    fn span(self) -> Span {
        Span(driven(self.0, |[v1, v2], [i1, i2]| State {
            v1,
            i1,
            v2,
            i2,
        }))
    }
}

impl TwoPort for Hybrid {
    fn span(self) -> Span {
        Span(driven(self.0, |[i1, v2], [v1, i2]| State {
            v1,
            i1,
            v2,
            i2,
        }))
    }
}

impl TwoPort for InverseHybrid {
    fn span(self) -> Span {
        Span(driven(self.0, |[v1, i2], [i1, v2]| State {
            v1,
            i1,
            v2,
            i2,
        }))
    }
}

/// The states for each independent quantity being 1 and the other 0; the answer is a column.
fn driven(matrix: Matrix2, state: impl Fn([Complex64; 2], [Complex64; 2]) -> State) -> [State; 2] {
    let [first, second] = matrix.transpose().0;
    let (one, zero) = (Complex64::ONE, Complex64::ZERO);
    [state([one, zero], first), state([zero, one], second)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_series_impedance_has_admittance_but_no_impedance_parameters() {
        let series = Chain::series(Complex64::new(25.0, 5.0));
        let message = series.impedance().unwrap_err().to_string();
        assert_eq!(
            message,
            "this two-port has no impedance parameters: the currents of its ports depend on each other"
        );
        let y = series.admittance().unwrap().0.0;
        let expected = 1.0 / Complex64::new(25.0, 5.0);
        assert!((y[0][0] - expected).norm() < 1e-16);
        assert!((y[0][1] + expected).norm() < 1e-16);
    }

    #[test]
    fn a_shunt_admittance_has_impedance_but_no_admittance_parameters() {
        let shunt = Chain::shunt(Complex64::new(0.02, -0.01));
        assert!(shunt.admittance().is_err());
        let z = shunt.impedance().unwrap().0.0;
        assert!(
            z.iter()
                .flatten()
                .all(|&z| (z * Complex64::new(0.02, -0.01) - 1.0).norm() < 1e-15)
        );
    }

    #[test]
    fn a_through_connection_has_neither_but_has_both_hybrids() {
        assert!(Chain::THROUGH.impedance().is_err());
        assert!(Chain::THROUGH.admittance().is_err());
        assert!(Chain::THROUGH.hybrid().is_ok());
        assert!(Chain::THROUGH.inverse_hybrid().is_ok());
        let s = Chain::THROUGH.scattering([50.0, 50.0]).unwrap();
        let all_passes = Matrix2([
            [Complex64::ZERO, Complex64::ONE],
            [Complex64::ONE, Complex64::ZERO],
        ]);
        assert!((s.matrix() - all_passes).largest_singular_value() < 1e-15);
    }

    #[test]
    fn a_two_port_that_lets_nothing_through_has_no_chain() {
        let blocked = Scattering::new(Matrix2::diagonal(0.5, -0.2), [50.0, 75.0]).unwrap();
        assert!(blocked.chain().is_err());
        assert!(blocked.impedance().is_ok());
    }
}
