//! The one-port error model and its solution from known standards.
//!
//! M = e00 + e10e01 Γ/(1 − e11 Γ), or M = aΓ + b − cΓM with b = e00, c = −e11, a = e10e01 − e00 e11:
//! linear in three unknowns, so three standards give them and more give them by least squares.
//!
//! Source: D. Rytting, *Network Analyzer Error Models and Calibration Methods* (from memory); the
//! same equations in `OnePort` of scikit-rf. Assumes that the port's terms do not depend on what is
//! connected, so no leakage and no switching of ranges.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

/// The three terms of a port at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct ErrorTerms {
    /// Directivity e00.
    pub directivity: Complex64,
    /// Source match e11.
    pub source_match: Complex64,
    /// Reflection tracking e10e01.
    pub tracking: Complex64,
}

impl ErrorTerms {
    /// What a port with these terms reads of `reflection`.
    pub fn raw(&self, reflection: Complex64) -> Complex64 {
        self.directivity + self.tracking * reflection / (1.0 - self.source_match * reflection)
    }

    /// The reflection behind a raw reading; `None` if the port passes nothing.
    pub fn correct(&self, raw: Complex64) -> Option<Complex64> {
        // inverse of the bilinear map, Γ = (M − e00)/(e10e01 + e11 (M − e00)), without the linear form's cancellation
        let beyond = raw - self.directivity;
        let reflection = beyond / (self.tracking + self.source_match * beyond);
        reflection.is_finite().then_some(reflection)
    }

    fn of_linear([a, b, c]: [Complex64; 3]) -> Self {
        Self {
            directivity: b,
            source_match: -c,
            tracking: a - b * c,
        }
    }

    /// (a, b, c) of the linear form.
    pub(super) fn linear(&self) -> [Complex64; 3] {
        let (b, c) = (self.directivity, -self.source_match);
        [self.tracking + b * c, b, c]
    }
}

/// One standard at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Equation {
    /// What the standard is.
    pub reflection: Complex64,
    /// What the port read of it.
    pub raw: Complex64,
    /// Weight: one over the standard uncertainty of the equation's residual.
    pub weight: f64,
}

/// Terms with how well the equations give them.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// The terms.
    pub terms: ErrorTerms,
    /// Largest over smallest singular value of the equations without weights.
    pub condition: f64,
    /// What each equation leaves, in the raw reading's unit.
    pub residuals: Vec<Complex64>,
    /// Change of (a, b, c) for a change of each equation's right-hand side.
    pub(super) response: Vec<[Complex64; 3]>,
}

/// Terms by weighted least squares; `None` from fewer than three equations or if they do not
/// determine the terms at all.
pub fn solve(equations: &[Equation]) -> Option<Solution> {
    if equations.len() < 3 {
        return None;
    }
    // rows without weights for the condition: weights say how exact standards are, not how different
    let plain = matrix(equations, |_| 1.0);
    let singular = plain.clone().singular_values();
    let condition = singular.max() / singular.min();
    // the pseudo-inverse is kept, not only the solution: its columns propagate each standard's error to first order
    let inverse = matrix(equations, |e| e.weight).pseudo_inverse(0.0).ok()?;
    let right = DVector::from_fn(equations.len(), |i, _| equations[i].raw);
    let response: Vec<[Complex64; 3]> = (0..equations.len())
        .map(|i| std::array::from_fn(|row| inverse[(row, i)] * equations[i].weight))
        .collect();
    let linear: [Complex64; 3] =
        std::array::from_fn(|row| response.iter().zip(&right).map(|(r, m)| r[row] * m).sum());
    let finite = condition.is_finite() && linear.iter().all(|x| x.is_finite());
    finite.then(|| Solution {
        terms: ErrorTerms::of_linear(linear),
        condition,
        residuals: (right - plain * DVector::from_row_slice(&linear))
            .iter()
            .copied()
            .collect(),
        response,
    })
}

/// Rows (Γ, 1, −ΓM), each times its weight.
fn matrix(equations: &[Equation], weight: impl Fn(&Equation) -> f64) -> DMatrix<Complex64> {
    DMatrix::from_fn(equations.len(), 3, |row, column| {
        let e = &equations[row];
        let entry = match column {
            0 => e.reflection,
            1 => Complex64::ONE,
            _ => -e.reflection * e.raw,
        };
        entry * weight(e)
    })
}

/// Condition number of the standards by themselves, as a perfect port would see them.
pub(super) fn condition_of_standards(equations: &[Equation]) -> f64 {
    let seen: Vec<Equation> = equations
        .iter()
        .map(|e| Equation {
            raw: e.reflection,
            ..*e
        })
        .collect();
    let singular = matrix(&seen, |_| 1.0).singular_values();
    singular.max() / singular.min()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TERMS: ErrorTerms = ErrorTerms {
        directivity: Complex64::new(0.05, -0.02),
        source_match: Complex64::new(0.1, 0.05),
        tracking: Complex64::new(0.7, -0.6),
    };

    fn equation(reflection: Complex64) -> Equation {
        Equation {
            reflection,
            raw: TERMS.raw(reflection),
            weight: 1.0,
        }
    }

    #[test]
    fn correction_undoes_the_port() {
        let reflection = Complex64::new(0.3, -0.8);
        let got = TERMS.correct(TERMS.raw(reflection)).unwrap();
        assert!((got - reflection).norm() < 1e-15);
    }

    #[test]
    fn two_standards_or_three_alike_do_not_determine_the_terms() {
        let [open, short] = [1.0, -1.0].map(|g| equation(g.into()));
        assert_eq!(solve(&[open, short]), None);
        let alike = solve(&[open, short, short]);
        assert!(alike.is_none_or(|s| s.condition > 1e12));
    }
}
