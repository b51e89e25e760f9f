//! Scattering parameters of a two-port with a real reference impedance at each port.
//!
//! Power waves a = (V + Zr·I)/(2√Zr), b = (V − Zr·I)/(2√Zr), so that |a|² − |b|² is the power into
//! the port. Source: K. Kurokawa, "Power waves and the scattering matrix", IEEE Trans. MTT 13, 1965,
//! pp. 194-202.

use num_complex::Complex64;

use super::{Matrix2, NetworkError};
use crate::line::complex_functions::one_minus_exp_neg;

/// S-parameters of a two-port and what they refer to.
///
/// Fields are public for reading and building; every function here expects positive references,
/// which [`Scattering::new`] checks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scattering {
    /// Reflection at port 1.
    pub s11: Complex64,
    /// Into port 2, out of port 1.
    pub s12: Complex64,
    /// Into port 1, out of port 2.
    pub s21: Complex64,
    /// Reflection at port 2.
    pub s22: Complex64,
    /// Reference impedances of ports 1 and 2, ohm.
    pub z_ref_ohm: [f64; 2],
}

impl Scattering {
    /// From the matrix [[S11, S12], [S21, S22]] and the references of ports 1 and 2.
    ///
    /// # Errors
    /// [`NetworkError::Reference`] if a reference is not a positive finite number.
    pub fn new(matrix: Matrix2, z_ref_ohm: [f64; 2]) -> Result<Self, NetworkError> {
        for z in z_ref_ohm {
            if !(z.is_finite() && z > 0.0) {
                return Err(NetworkError::Reference { z_ref_ohm: z });
            }
        }
        let [[s11, s12], [s21, s22]] = matrix.0;
        Ok(Self {
            s11,
            s12,
            s21,
            s22,
            z_ref_ohm,
        })
    }

    /// A section of line with `gamma_l` = γ·l, stable for any loss.
    ///
    /// # Errors
    /// [`NetworkError::Reference`] as for [`Scattering::new`]; [`NetworkError::NotFinite`] if
    /// `z0_ohm` is −`z_ref_ohm`.
    pub fn line(
        z0_ohm: Complex64,
        gamma_l: Complex64,
        z_ref_ohm: f64,
    ) -> Result<Self, NetworkError> {
        let step = (z0_ohm - z_ref_ohm) / (z0_ohm + z_ref_ohm);
        let one_way = (-gamma_l).exp();
        let gone = one_minus_exp_neg(2.0 * gamma_l);
        // 1 − Γ²e^(−2γl) without cancellation when both parts are near 1.
        let passed = 1.0 - step * step;
        let bounced = passed + step * step * gone;
        let reflected = step * gone / bounced;
        let through = one_way * passed / bounced;
        let matrix = Matrix2([[reflected, through], [through, reflected]]);
        if matrix.is_finite() {
            Self::new(matrix, [z_ref_ohm; 2])
        } else {
            Err(NetworkError::NotFinite {
                what: "a section of line",
            })
        }
    }

    /// The matrix [[S11, S12], [S21, S22]].
    pub fn matrix(self) -> Matrix2 {
        Matrix2([[self.s11, self.s12], [self.s21, self.s22]])
    }

    /// The same two-port referred to other impedances, one for each port; 50 to 75 ohm for example.
    ///
    /// S' = D⁻¹ (S − Γ)(1 − ΓS)⁻¹ D with Γ = (Z' − Z)/(Z' + Z) and D = 2√(Z Z')/(Z + Z') of each
    /// port on the diagonals (D. M. Pozar, Microwave Engineering, 4th ed., section 4.3).
    ///
    /// # Errors
    /// [`NetworkError::Reference`] as for [`Scattering::new`]; [`NetworkError::NoSuchParameters`]
    /// if an active two-port has none for these references.
    pub fn renormalised(self, z_ref_ohm: [f64; 2]) -> Result<Self, NetworkError> {
        let step = |port: usize| {
            let (old, new) = (self.z_ref_ohm[port], z_ref_ohm[port]);
            (new - old) / (new + old)
        };
        let passed = |port: usize| {
            let (old, new) = (self.z_ref_ohm[port], z_ref_ohm[port]);
            2.0 * (old * new).sqrt() / (old + new)
        };
        let gamma = Matrix2::diagonal(step(0), step(1));
        let (d0, d1) = (passed(0), passed(1));
        let undone = (Matrix2::IDENTITY - gamma * self.matrix())
            .inverse()
            .ok_or(NetworkError::NoSuchParameters {
                wanted: "scattering parameters for these references",
            })?;
        let matrix = Matrix2::diagonal(1.0 / d0, 1.0 / d1)
            * (self.matrix() - gamma)
            * undone
            * Matrix2::diagonal(d0, d1);
        Self::new(matrix, z_ref_ohm)
    }

    /// Reflection at port 1 with `load_reflection` (against the reference of port 2) at port 2:
    /// S11 + S12 S21 Γ/(1 − S22 Γ). `None` if the load and port 2 resonate without loss.
    pub fn input_reflection(self, load_reflection: Complex64) -> Option<Complex64> {
        let loop_gain = self.s22 * load_reflection;
        let reflection = self.s11 + self.s12 * self.s21 * load_reflection / (1.0 - loop_gain);
        reflection.is_finite().then_some(reflection)
    }

    /// Reflection at port 2 that makes port 1 show `input_reflection`: the two-port de-embedded from
    /// a one-port reading. `None` if the two-port lets nothing through.
    pub fn load_reflection(self, input_reflection: Complex64) -> Option<Complex64> {
        let seen = input_reflection - self.s11;
        let denominator = self.s12 * self.s21 + self.s22 * seen;
        let reflection = seen / denominator;
        reflection.is_finite().then_some(reflection)
    }

    /// The same two-port with its ports exchanged.
    #[must_use]
    pub fn reversed(self) -> Self {
        Self {
            s11: self.s22,
            s12: self.s21,
            s21: self.s12,
            s22: self.s11,
            z_ref_ohm: [self.z_ref_ohm[1], self.z_ref_ohm[0]],
        }
    }

    /// Largest ratio of outgoing to incoming amplitude over all ways to drive both ports together:
    /// at most 1 if the two-port is passive.
    pub fn largest_gain(self) -> f64 {
        self.matrix().largest_singular_value()
    }

    /// Insertion loss between the references, −20·log|S21|, dB; `None` if nothing passes.
    pub fn insertion_loss_db(self) -> Option<f64> {
        let magnitude = self.s21.norm();
        (magnitude > 0.0).then(|| -20.0 * magnitude.log10())
    }
}
