//! What could make a number wrong, found from the data: each check gives at most one warning with
//! a fixed code.

use crate::bench::{Bench, EndedSweep};
use crate::estimate::Estimate;
use crate::plan::following_step_hz;
use crate::quantity::{format_delay, format_frequency, format_uncertain};
use crate::uncertain::COVERAGE_FACTOR_95;

use super::disagreement::Contradiction;
use super::mistakes;
use crate::finding::found::Finding;
use crate::finding::quantities::LimitedBy;
use crate::finding::remarks::{Warning, WarningCode};

/// Reflection that no passive cable has, beyond what calibration leaves: 0.03 dB.
const PASSIVE_MARGIN: f64 = 0.0035;
/// Turn of the phase between points from which following it is a guess, degrees.
const LARGEST_PHASE_STEP_DEG: f64 = 90.0;
/// How far above the analyser's own errors the residual of a uniform line is suspicious.
const SUSPICIOUS_RESIDUAL: f64 = 3.0;

/// All warnings that concern the result.
pub fn warnings(
    bench: &Bench,
    estimate: Option<&Estimate>,
    contradictions: &[Contradiction],
    finding: &Finding,
) -> Vec<Warning> {
    let checks = [
        load_not_measured(bench, finding),
        length_not_given(bench),
        reflection_above_one(bench),
        step_too_coarse(bench, finding),
        loss_below_visible(finding),
        antenna_loss_counts(bench, finding),
        estimate.and_then(|e| line_not_uniform(bench, e)),
    ];
    let disagreements = contradictions.iter().map(|c| c.warning.clone());
    let found = checks.into_iter().flatten();
    found
        .chain(mistakes::warnings(bench, estimate, finding))
        .chain(disagreements)
        .collect()
}

fn load_not_measured(bench: &Bench, finding: &Finding) -> Option<Warning> {
    if bench.kit_load.measured {
        return None;
    }
    let limits = finding
        .impedance
        .is_some_and(|z| z.limited_by == LimitedBy::Load);
    let dominates = if limits {
        "; it is the largest part of the impedance's interval"
    } else {
        ""
    };
    Some(Warning::new(
        WarningCode::LoadNotMeasured,
        format!(
            "the calibration load was not measured and is assumed to be {}; every impedance scales with it{dominates}",
            format_uncertain(bench.kit_load.ohm, "ohm")
        ),
    ))
}

/// Between its bands an antenna reflects nearly all; what it does not is taken for the line's loss.
fn antenna_loss_counts(bench: &Bench, finding: &Finding) -> Option<Warning> {
    let by_antenna = bench.sweeps.is_empty() && bench.throughs.is_empty();
    let (_, label) = bench.antennas.first()?;
    (by_antenna && !finding.loss.is_empty()).then(|| {
        Warning::new(
            WarningCode::AntennaLossCounts,
            format!(
                "the true loss may be lower: between its bands the antenna in `{label}` is taken to reflect everything, \
                 so what a trap or a transformer in it loses counts as the line's; one sweep with the far end shorted \
                 tells them apart"
            ),
        )
    })
}

fn length_not_given(bench: &Bench) -> Option<Warning> {
    bench.length_m.is_none().then(|| {
        Warning::new(
            WarningCode::LengthNotGiven,
            "without the length there is no velocity factor and no loss per 100 m",
        )
    })
}

fn reflection_above_one(bench: &Bench) -> Option<Warning> {
    let analyser = bench.analyser;
    let (excess, freq_hz, label) = bench
        .sweeps
        .iter()
        .flat_map(|s| {
            s.sweep
                .freq_hz()
                .iter()
                .zip(s.sweep.reflection())
                .map(move |(&f, g)| (g.norm(), f, &s.label))
        })
        .map(|(size, f, label)| {
            let allowed = COVERAGE_FACTOR_95 * analyser.residual(f).hypot(analyser.noise);
            (size - 1.0 - allowed, f, label)
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    (excess > PASSIVE_MARGIN).then(|| {
        Warning::new(
            WarningCode::ReflectionAboveOne,
            format!(
                "`{label}` reflects more than 1 at {}: calibrate again, and do not trust small losses",
                format_frequency(freq_hz)
            ),
        )
    })
}

fn step_too_coarse(bench: &Bench, finding: &Finding) -> Option<Warning> {
    let one_way_s = finding.delay?.one_way_s;
    let turn_deg = |s: &EndedSweep| 360.0 * 2.0 * one_way_s * s.sweep.largest_step_hz();
    // one sweep that follows the phase is enough
    let finest = bench
        .sweeps
        .iter()
        .min_by(|a, b| turn_deg(a).total_cmp(&turn_deg(b)))?;
    let turn_deg = turn_deg(finest);
    let what = if turn_deg > 360.0 {
        format!(
            "only the grid's offset and the loss tell this delay from one that differs by {}",
            format_delay(0.5 / finest.sweep.largest_step_hz())
        )
    } else {
        "methods that follow it from point to point may lose it".to_owned()
    };
    (turn_deg > LARGEST_PHASE_STEP_DEG).then(|| {
        Warning::new(
            WarningCode::StepTooCoarse,
            format!(
                "in `{}` the phase turns {turn_deg:.0}° between points: {what}; a second sweep with a step of {} or \
                 less makes sure",
                finest.label,
                format_frequency(following_step_hz(one_way_s))
            ),
        )
    })
}

fn loss_below_visible(finding: &Finding) -> Option<Warning> {
    let hidden: Vec<String> = finding
        .loss
        .iter()
        .filter(|row| row.db <= row.u95_db)
        .map(|row| format_frequency(row.at_hz))
        .collect();
    (!hidden.is_empty()).then(|| {
        Warning::new(
            WarningCode::LossBelowVisible,
            format!(
                "the loss at {} is smaller than its interval: this piece is too short to show it",
                hidden.join(", ")
            ),
        )
    })
}

fn line_not_uniform(bench: &Bench, estimate: &Estimate) -> Option<Warning> {
    let squares: Vec<f64> = bench
        .sweeps
        .iter()
        .flat_map(|s| s.sweep.freq_hz())
        .map(|&f| 2.0 * bench.analyser.residual(f).powi(2))
        .collect();
    if squares.is_empty() {
        return None;
    }
    let expected = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
    let left = estimate.residual_rms();
    (left > SUSPICIOUS_RESIDUAL * expected).then(|| {
        Warning::new(
            WarningCode::LineNotUniform,
            format!(
                "a uniform line leaves {left:.3} of the reflection unexplained, where \
                 calibration leaves about {expected:.3}: something along the cable, a poor plug, \
                 or a far end other than stated"
            ),
        )
    })
}
