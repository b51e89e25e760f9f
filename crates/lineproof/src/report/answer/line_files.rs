//! What stands behind a line, for programs.

use lineproof_core::uncertain::COVERAGE_FACTOR_95;
use serde::Serialize;

use crate::finding::SCHEMA;
use crate::workflow::line_files::{Removed, Row};

/// A sweep with a line taken off it.
#[derive(Clone, Debug, Serialize)]
pub struct RemovalAnswer {
    /// Number of this layout.
    schema: u32,
    /// How a sentence calls the line.
    line: String,
    /// Reference of the reflections, ohm.
    reference_ohm: f64,
    /// Frequencies left out because the line's loss is not known there, or nothing gets through.
    left_out: usize,
    /// What is seen at the far end of the line, by rising frequency.
    far_end: Vec<BehindLine>,
}

/// What is seen at one frequency.
#[derive(Clone, Copy, Debug, Serialize)]
struct BehindLine {
    /// Frequency, Hz.
    at_hz: f64,
    /// Loss of the line, one way, dB.
    line_loss_db: f64,
    /// Reflection, real and imaginary part.
    reflection: [f64; 2],
    /// 95 % half-widths of both.
    u95_reflection: [f64; 2],
    /// Lowest SWR; null if the interval has none.
    swr_low: Option<f64>,
    /// Highest SWR; null where the interval reaches total reflection.
    swr_high: Option<f64>,
}

impl RemovalAnswer {
    /// The answer that programs read.
    pub fn of(removed: Removed) -> Self {
        Self {
            schema: SCHEMA,
            line: removed.name,
            reference_ohm: removed.z_ref_ohm,
            left_out: removed.left_out,
            far_end: removed.rows.iter().map(BehindLine::of).collect(),
        }
    }
}

impl BehindLine {
    fn of(row: &Row) -> Self {
        let (reflection, (low, high)) = (row.far.reflection, row.far.swr);
        Self {
            at_hz: row.freq_hz,
            line_loss_db: row.loss_db,
            reflection: [reflection.re, reflection.im],
            u95_reflection: row.far.u.map(|u| COVERAGE_FACTOR_95 * u),
            swr_low: low.is_finite().then_some(low),
            swr_high: high,
        }
    }
}
