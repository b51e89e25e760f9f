//! A plan for programs.

use lineproof_core::plan::{Plan, PlannedSweep};
use serde::Serialize;
use utoipa::ToSchema;

use super::Range;
use crate::finding::SCHEMA;

/// Sweeps to take, why so, and what they leave open.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct PlanAnswer {
    /// Number of this layout.
    schema: u32,
    /// The sweeps, lowest first; one where one can do all.
    sweeps: Vec<SweepToTake>,
    /// Where the first quarter wave of the open cable will be found, Hz.
    quarter_wave_hz: Range,
    /// Why start, stop and points are what they are, a sentence each.
    reasons: Vec<String>,
    /// What was wanted and can't be had with this analyser, a sentence each.
    shortfalls: Vec<String>,
    /// What these sweeps can't show, a sentence each.
    blind: Vec<String>,
}

/// One sweep to take.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct SweepToTake {
    /// Start frequency, Hz.
    start_hz: f64,
    /// Stop frequency, Hz.
    stop_hz: f64,
    /// Number of points, evenly spaced.
    points: usize,
    /// Frequency step, Hz.
    step_hz: f64,
    /// Phase step of the reflection from point to point for the longest cable of the range, degrees.
    phase_step_deg: f64,
}

impl PlanAnswer {
    /// The answer that a plan is.
    pub fn of(plan: Plan) -> Self {
        Self {
            schema: SCHEMA,
            sweeps: plan.sweeps.iter().map(SweepToTake::of).collect(),
            quarter_wave_hz: plan.quarter_wave_hz.into(),
            reasons: plan.reasons,
            shortfalls: plan.shortfalls,
            blind: plan.blind,
        }
    }
}

impl SweepToTake {
    fn of(sweep: &PlannedSweep) -> Self {
        Self {
            start_hz: sweep.start_hz,
            stop_hz: sweep.stop_hz,
            points: sweep.points,
            step_hz: sweep.step_hz(),
            phase_step_deg: sweep.phase_step_deg,
        }
    }
}
