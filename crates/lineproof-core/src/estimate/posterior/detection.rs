//! How small a fault these sweeps could have shown, along the cable.
//!
//! A stretch whose ln z is off by s adds the column w of the nodes that it covers. In units of the
//! prior, with A = JᵀJ + 1, what the readings tell of s once every other unknown is fitted is
//! wᵀ(1 − A⁻¹)w (Schur complement; Kay, *Estimation Theory*, §3.8). The evidence for it, s²/2 times
//! that less what its freedom costs, must rise as far as the choice between explanations demands.
//!
//! A stretch shorter than a node's cell counts by its part of the cell. Faults of other kinds and a
//! second fault have limits of their own.

use nalgebra::DVector;

use super::super::prior::DENT_STEP_SD;
use super::super::search::{LEAST_STEP, SURE, UNEVEN};
use super::estimate::Estimate;

/// The least change that would have shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeastChange {
    /// Delay of sound cable from the near end to the middle of the stretch, one way, s.
    pub delay_s: f64,
    /// Relative change of the impedance.
    pub relative: f64,
}

/// Places at which the limit is worked out.
const PLACES: usize = 16;

impl Estimate {
    /// The least relative change of impedance over a stretch of the delay `extent_s`, one way, that
    /// would have been reported as a fault, from the near end to the far one.
    pub fn least_change(&self, extent_s: f64) -> Vec<LeastChange> {
        // places in the middle of equal parts: the ends belong to the plugs
        let body_s = self.body_delay_s().value;
        let places = PLACES.min(self.fit.layout.nodes);
        (0..places)
            .map(|k| {
                let middle = (k as f64 + 0.5) / places as f64;
                LeastChange {
                    delay_s: middle * body_s,
                    relative: self.least_step(middle, extent_s / body_s).exp_m1(),
                }
            })
            .collect()
    }

    /// Least step of ln z over `part` of the cable around `middle`.
    fn least_step(&self, middle: f64, part: f64) -> f64 {
        let layout = &self.fit.layout;
        let nodes = layout.nodes as f64;
        let (begin, end) = (middle - 0.5 * part, middle + 0.5 * part);
        let wander = self.wander_rms();
        let mut w = DVector::zeros(layout.len());
        for (i, node) in layout.node_range().enumerate() {
            let cell = (i as f64 / nodes, (i as f64 + 1.0) / nodes);
            let covered = (end.min(cell.1) - begin.max(cell.0)).max(0.0) * nodes;
            w[node] = covered / wander;
        }
        let known = w.norm_squared() - self.fit.information.inverse_form(w.clone());
        // Occam's factor of the step, and of the place among as many as there are nodes
        let freedom = 0.5 * (known * DENT_STEP_SD * DENT_STEP_SD).ln_1p() + nodes.ln();
        let by_evidence = (2.0 * (SURE + freedom) / known.max(f64::MIN_POSITIVE))
            .sqrt()
            .max(LEAST_STEP);
        if self.causes.is_empty() {
            // a cable that seems even is not searched
            let squares = nodes * (UNEVEN * UNEVEN - wander * wander).max(0.0);
            let by_wander = squares.sqrt() / (w.norm() * wander);
            by_evidence.max(by_wander)
        } else {
            by_evidence
        }
    }
}
