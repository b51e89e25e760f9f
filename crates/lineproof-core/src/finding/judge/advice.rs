//! What to measure next, most useful first, and what to take care of.

use crate::bench::{Bench, FarEnd};
use crate::plan::following_step_hz;
use crate::quantity::format_frequency;

use super::{cause, helps};
use crate::finding::found::Finding;
use crate::finding::remarks::{Advice, Gives, Measurement};

/// Piece from which a cable is likely installed or long enough to hold a charge, m.
const LONG_PIECE_M: f64 = 10.0;
/// Relative half-width of the length from which it limits the velocity factor.
const COARSE_LENGTH: f64 = 0.01;
/// How far above the comfortable step a sweep is worth repeating.
const COARSE_STEPS: f64 = 1.5;
/// Velocity factor for a guess of the length where none is known.
const TYPICAL_VELOCITY_FACTOR: f64 = 0.7;

/// What would narrow the answer.
pub fn advice(bench: &Bench, finding: &Finding) -> Vec<Advice> {
    let mut advice: Vec<Advice> = Vec::new();
    let mut measure = |text: &str, gives: Option<Gives>| {
        let text = text.to_owned();
        advice.push(Advice { text, gives });
    };
    let by_posterior = |measure| finding.helps.iter().any(|h| h.measure == measure);
    if !bench.kit_load.measured && !by_posterior(Measurement::LoadByOhmmeter) {
        measure(
            "measure the calibration load with an ohmmeter, and subtract its leads",
            Some(Gives::LoadByOhmmeter),
        );
    }
    if bench.length_m.is_none() {
        measure("measure the length between the plugs", Some(Gives::Length));
    }
    if bench
        .length_m
        .is_some_and(|l| l.u95() > COARSE_LENGTH * l.value)
    {
        measure(
            "read the length to the millimetre and write it that way (2.400m, not 2.4m)",
            Some(Gives::Length),
        );
    }
    advice.extend(cause::repeats(finding).into_iter().map(Advice::from));
    advice.extend(helps::advice(&finding.helps));
    let mut sweeps = Vec::new();
    if finding.impedance.is_none() {
        sweeps.extend(next_sweep(bench).map(str::to_owned));
    }
    sweeps.extend(quarter_wave_advice(bench, finding));
    sweeps.extend(step_advice(bench, finding));
    advice.extend(sweeps.into_iter().map(Advice::from));
    advice
}

/// The far end that would tell most besides those that were swept, where no posterior says it.
fn next_sweep(bench: &Bench) -> Option<&'static str> {
    let has = |end| bench.first(end).is_some();
    if !bench.throughs.is_empty() {
        return None;
    }
    match (has(FarEnd::Open), has(FarEnd::Short), has(FarEnd::Load)) {
        (true, false, false) => {
            Some("a sweep with the load at the far end would separate the impedance from the plugs")
        }
        (true, false, true) => {
            Some("a sweep with the far end shorted would give the loss more accurately")
        }
        (false, _, true) => Some("a sweep with the far end open would give delay and loss"),
        (false, true, false) => Some("a sweep with the far end open completes the open/short pair"),
        _ => None,
    }
}

/// A stop frequency that contains the quarter wave.
fn quarter_wave_advice(bench: &Bench, finding: &Finding) -> Option<String> {
    let quarter_hz = 0.25 / finding.delay?.one_way_s;
    let stop_hz = bench
        .sweeps
        .iter()
        .map(|s| s.sweep.stop_hz())
        .fold(0.0, f64::max);
    (stop_hz > 0.0 && stop_hz < quarter_hz).then(|| {
        format!(
            "the sweep ends below the quarter wave at {}: a stop of {} or more would contain it",
            format_frequency((quarter_hz / 1e5).round() * 1e5),
            format_frequency((1.5 * quarter_hz / 1e6).ceil() * 1e6)
        )
    })
}

/// A step that lets the phase be followed.
fn step_advice(bench: &Bench, finding: &Finding) -> Option<String> {
    let step_hz = following_step_hz(finding.delay?.one_way_s);
    let steps = bench.sweeps.iter().map(|s| s.sweep.largest_step_hz());
    (steps.fold(0.0, f64::max) > COARSE_STEPS * step_hz).then(|| {
        format!(
            "sweep again with a step of {} or less: more points, or a lower stop",
            format_frequency(step_hz)
        )
    })
}

/// Care for whoever connects the analyser again, only for cables that may be lines.
pub fn cautions(bench: &Bench, finding: &Finding) -> Vec<String> {
    let by_delay = finding
        .delay
        .map(|d| d.one_way_s * TYPICAL_VELOCITY_FACTOR * crate::constants::SPEED_OF_LIGHT_M_S);
    let length_m = bench.length_m.map(|l| l.value).or(by_delay);
    if length_m.is_some_and(|l| l >= LONG_PIECE_M) {
        line_cautions()
    } else {
        Vec::new()
    }
}

/// Care before an analyser is connected to a line.
pub fn line_cautions() -> Vec<String> {
    vec![
        "short the plug before connecting the analyser: a long line holds a static charge".to_owned(),
        "never connect it to a line that may carry transmitter power or a DC feed, nor in a thunderstorm"
            .to_owned(),
    ]
}
