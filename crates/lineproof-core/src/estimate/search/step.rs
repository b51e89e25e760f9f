//! A step of Gauss–Newton that stays where the equations can be trusted.

use nalgebra::{DMatrix, DVector};

use super::linear::Factor;

/// By how much a step may be longer than its radius, and how often its damping is corrected.
const NEAR_ENOUGH: f64 = 1.2;
const MOST_DAMPINGS: usize = 8;
/// Part of the promised gain above which the next step may be longer, and below which it must be
/// shorter.
const GOOD_GAIN: f64 = 0.75;
const POOR_GAIN: f64 = 0.25;
/// Normal equations with levels and prior: in units of the prior's scale.
pub(crate) struct Equations {
    /// JᵀJ + 1, lower triangle.
    pub(crate) normal: DMatrix<f64>,
    pub(crate) rhs: DVector<f64>,
    pub(crate) cost: f64,
}

/// A step of Gauss–Newton that stays where the equations can be trusted.
pub(crate) struct Step {
    /// In units of the prior.
    pub(crate) x: DVector<f64>,
    /// By how much the linearised cost falls.
    promise: f64,
    /// The same for the step that nothing holds back.
    pub(crate) whole_promise: f64,
}

impl Step {
    /// The step of the lowest linearised cost among those no longer than `radius` (Moré, *The
    /// Levenberg–Marquardt algorithm: implementation and theory*, 1978: damping by Newton's method
    /// on the inverse of the length). `None` if the normal matrix is not positive definite.
    pub(crate) fn within(radius: f64, here: &Equations) -> Option<Self> {
        // undamped first: near the minimum it is the step that is taken
        let mut factor = Factor::new(here.normal.clone())?;
        let mut x = factor.solve(&here.rhs);
        let whole_promise = x.dot(&here.rhs);
        let mut damping = 0.0;
        for _ in 0..MOST_DAMPINGS {
            let length = x.norm();
            if length <= NEAR_ENOUGH * radius {
                break;
            }
            let square = length * length;
            // Newton on 1/|x(λ)| − 1/radius, which is nearly straight in λ (Moré 1978, eq. 5.5)
            damping += square / factor.inverse_form(x) * (length / radius - 1.0);
            let mut damped = here.normal.clone();
            for i in 0..damped.nrows() {
                damped[(i, i)] += damping;
            }
            factor = Factor::new(damped)?;
            x = factor.solve(&here.rhs);
        }
        let promise = x.dot(&here.rhs) + damping * x.norm_squared();
        Some(Self {
            x,
            promise,
            whole_promise,
        })
    }

    /// How far the next step may go after this one gained `gain`.
    pub(crate) fn next_radius(&self, gain: f64, radius: f64) -> f64 {
        let length = self.x.norm();
        if gain > GOOD_GAIN * self.promise {
            radius.max(2.0 * length)
        } else if gain > POOR_GAIN * self.promise {
            radius
        } else {
            // the lowest point of the parabola through both costs, of slope −2·promise here
            let part = self.promise / (2.0 * self.promise - gain);
            length
                * if part.is_finite() {
                    part.clamp(0.1, 0.5)
                } else {
                    0.1
                }
        }
    }
}
