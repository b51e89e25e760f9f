//! One line model fitted to every sweep of a cable: the seam between what the program reports and
//! how it is estimated.
//!
//! [`estimate`] takes a [`Bench`] and gives an [`Estimate`]; whoever reports it asks for quantities
//! at frequencies and never sees the model's parameters.
//!
//! The model: a uniform lossy line whose impedance wanders a little, a plug at either end, the far
//! end with its parasitics, the calibration with standards that were taken as ideal, smooth errors
//! that remain of the analyser, noise. All of it is fitted at once to all sweeps by Gauss–Newton
//! with Gaussian priors; the sizes of wander, errors and noise come from the data.

mod aliases;
mod climb;
mod conductor;
mod detection;
mod errand;
mod events;
mod explain;
mod fault;
mod fit;
mod forward;
mod further;
mod hunt;
mod lanes;
mod line_law;
mod plane;
mod posterior;
mod profile;
mod proposal;
mod settle;
mod solve;
mod stack;
mod start;
mod steel_core;
mod unknowns;
mod without;

use thiserror::Error;

use crate::bench::{Bench, FarEnd};
use forward::Readings;
use plane::{AtPlane, PlanePrior};
use unknowns::{Kind, Known, Levels};

pub use detection::LeastChange;
pub use errand::Errand;
pub use events::{Event, Side};
pub use explain::{Cause, Explanation};
pub use further::{Further, Measure, Quantity, Wanted};
pub use posterior::{Estimate, LossParts};
pub use profile::{Profile, ProfilePoint};
pub use steel_core::SteelCore;
pub use without::{Part, Plug};

/// The largest part of an interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// The value of the calibration load.
    Load,
    /// What calibration leaves of the analyser's errors, connections included.
    Calibration,
    /// The plugs, which the sweep can't tell from the cable.
    Connectors,
    /// The cable's own unevenness.
    Uniformity,
    /// Noise of the readings.
    Noise,
    /// The sweeps say little: what is known of cables in general carries the value.
    Prior,
}

/// Why there is no estimate.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum EstimateError {
    /// No sweep that tells anything about the line.
    #[error("no sweep to estimate from")]
    NoSweeps,
    /// Fewer points than a line has parameters.
    #[error("{points} points are too few to estimate a line; {wanted} would do")]
    TooFewPoints {
        /// Points there are, over all sweeps.
        points: usize,
        /// Points that would do.
        wanted: usize,
    },
    /// Whoever asked wants no answer any more.
    #[error("the estimate was stopped")]
    Stopped,
    /// No start led to a minimum.
    #[error("no line was found that these sweeps could be of")]
    NoStart,
    /// No start led to a minimum that explains the data.
    #[error("no single cable explains the sweeps: {rms:.3} rms of the reflection remains")]
    Unexplained {
        /// What the best fit leaves, rms of the complex reflection.
        rms: f64,
    },
}

/// Fewest points over all sweeps.
const FEWEST_POINTS: usize = 8;
/// Most points of each sweep; of more, that many are taken, spread over the band. What averages
/// out with more points is noise, and noise is not what limits so long a sweep.
const MOST_POINTS: usize = 1001;
/// Most nodes of the impedance along the cable.
const MOST_NODES: usize = 160;
/// Points of each reading set while the levels are learnt (more for a cable of many nodes).
const FEW_POINTS: usize = 120;
/// Rounds of level correction on part of the points, and on all.
const FEW_ROUNDS: usize = 6;
const LEVEL_ROUNDS: usize = 2;
/// Steps of Gauss–Newton at fixed levels that count as not converging.
const MOST_STEPS: usize = 30;
/// A fit that leaves more than this (complex rms) explains nothing: ten times a poor analyser's
/// noise.
const UNEXPLAINED_RMS: f64 = 0.03;

/// Estimates the line from all sweeps of the bench.
///
/// # Errors
/// [`EstimateError`] says what the data lack.
pub fn estimate(bench: &Bench) -> Result<Estimate, EstimateError> {
    estimate_for(bench, &Errand::default())
}

/// [`estimate`] for one who may give it up and wants to know how far it is.
///
/// # Errors
/// [`EstimateError`] says what the data lack; [`EstimateError::Stopped`] if it was given up.
pub fn estimate_for(bench: &Bench, errand: &Errand) -> Result<Estimate, EstimateError> {
    let readings = collect(bench);
    if readings.is_empty() {
        return Err(EstimateError::NoSweeps);
    }
    let points: usize = readings.iter().map(|r| r.freq_hz.len()).sum();
    if points < FEWEST_POINTS {
        return Err(EstimateError::TooFewPoints {
            points,
            wanted: FEWEST_POINTS,
        });
    }
    let checks: Vec<Readings> = checks(bench).collect();
    let chosen = explain::best(&readings, &checks, known_of(bench), errand);
    if errand.is_given_up() {
        return Err(EstimateError::Stopped);
    }
    let chosen = chosen.ok_or(EstimateError::NoStart)?;
    let rms = chosen
        .fit
        .residual_rms
        .iter()
        .fold(0.0, |a: f64, &b| a.max(b));
    if rms > UNEXPLAINED_RMS {
        return Err(EstimateError::Unexplained { rms });
    }
    Ok(Estimate::new(chosen, bench))
}

fn collect(bench: &Bench) -> Vec<Readings> {
    let reflections = bench.sweeps.iter().map(|s| Readings {
        kind: match s.far_end {
            FarEnd::Open => Kind::Open,
            FarEnd::Short => Kind::Short,
            FarEnd::Load if bench.far_load_is_kit_load() => Kind::Load,
            FarEnd::Load => Kind::OtherLoad,
        },
        freq_hz: s.sweep.freq_hz().to_vec(),
        reflection: s.sweep.reflection().to_vec(),
        transmission: Vec::new(),
    });
    let throughs = bench.throughs.iter().map(|(t, _)| Readings {
        kind: Kind::Through,
        freq_hz: t.freq_hz().to_vec(),
        reflection: t.s11().to_vec(),
        transmission: t.s21().to_vec(),
    });
    reflections
        .chain(throughs)
        .map(|r| start::thin(&r, f64::INFINITY, MOST_POINTS))
        .collect()
}

/// Standards and other parts at the plane: they say nothing about the cable, so no start is sought in
/// them.
fn checks(bench: &Bench) -> impl Iterator<Item = Readings> {
    let standards = bench
        .plane
        .checks
        .iter()
        .map(|s| (Kind::Check(s.far_end), &s.sweep));
    let parts = bench
        .plane
        .parts
        .iter()
        .map(|p| (Kind::Part(AtPlane::of(p)), &p.sweep));
    standards.chain(parts).map(|(kind, sweep)| {
        let readings = Readings {
            kind,
            freq_hz: sweep.freq_hz().to_vec(),
            reflection: sweep.reflection().to_vec(),
            transmission: Vec::new(),
        };
        start::thin(&readings, f64::INFINITY, MOST_POINTS)
    })
}

fn covered(readings: &[Readings]) -> (f64, f64) {
    let of_cable = || readings.iter().filter(|r| r.kind.is_of_cable());
    let all = || of_cable().flat_map(|r| r.freq_hz.iter().copied());
    (
        all().fold(f64::INFINITY, f64::min),
        all().fold(0.0, f64::max),
    )
}

fn known_of(bench: &Bench) -> Known {
    let kit_ohm = bench.kit_load.ohm.value;
    let far_ratio = bench.far_load.ohm.value / kit_ohm;
    let far_u = if bench.far_load_is_kit_load() {
        0.0
    } else {
        bench.far_load.ohm.relative()
    };
    Known {
        delay_s: 0.0,
        kit_ohm,
        far_ratio: (far_ratio.ln(), far_u),
        length_m: bench.length_m.map(|l| l.value),
        ends_early: false,
        any_conductor: false,
        plane: PlanePrior::of(&bench.plane),
    }
}

fn kinds(readings: &[Readings]) -> Vec<Kind> {
    readings.iter().map(|r| r.kind).collect()
}

fn noise_levels(readings: &[Readings], reflection: f64, transmission: f64) -> Vec<f64> {
    let mut levels = Vec::new();
    for r in readings {
        levels.push(reflection);
        if r.kind == Kind::Through {
            levels.push(transmission);
        }
    }
    levels
}

/// A pocket analyser and a good cable.
fn first_levels(readings: &[Readings]) -> Levels {
    Levels {
        shared: 1e-3,
        connection: 5e-4,
        wander: 3e-3,
        noise: noise_levels(readings, 1e-3, 1e-3),
    }
}
