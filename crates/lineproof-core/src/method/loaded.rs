//! Quarter and half waves in the sweep of a cable with a load at its far end.
//!
//! The curve of a lossless line is a circle through the load's point; the chord from there is
//! 2ρ sin y long, real at the quarter wave and zero at the half wave. An open or short sweep of
//! the same piece shows both frequencies better. By itself the curve is bent by the imaginary part
//! of Zc: −jδZc with δ about loss per radian moves the crossing by δ/2ρ radians, so a curve that
//! is not large against δ is refused.

use num_complex::Complex64;
use std::f64::consts::{FRAC_PI_2, PI};

use crate::bench::{Bench, EndedSweep, FarEnd};

use super::budget::{open_or_short, reflection_u};
use super::phase::{Reading, line_through, read_between};
use super::text::{hertz, round_up_hertz, significant};
use super::{Method, Unserved, loss};

/// Im Γ up to this part of the curve's size counts as near a crossing.
const NEAR_AXIS: f64 = 0.4;

/// A crossing lies at least at this part of the largest chord so far.
const FAR_FROM_LOAD: f64 = 0.6;

/// Turn of the curve between points from which its crossing can't be read, degrees.
const COARSE_TURN_DEG: f64 = 60.0;

/// Size of the curve in units of the bend by complex impedance below which it is refused.
const LEAST_SIZE_IN_BENDS: f64 = 3.0;

/// Size of the curve in units of the analyser's errors below which it is refused.
const LEAST_SIZE_IN_U: f64 = 4.0;

/// Where a loaded sweep passes a quarter wave.
#[derive(Clone, Debug)]
pub(crate) struct Quarter {
    /// Frequency, Hz.
    pub(crate) freq_hz: f64,
    /// Quarter waves in the line there, odd.
    pub(crate) order: u32,
    /// How it was found.
    pub(crate) basis: &'static str,
    /// The loaded sweep there.
    pub(crate) reading: Reading,
    /// Standard uncertainty of the reflection by a misplaced crossing.
    pub(crate) bend: f64,
}

impl Quarter {
    /// Electrical length of the line, rad.
    pub(crate) fn line_rad(&self) -> f64 {
        FRAC_PI_2 * f64::from(self.order)
    }

    /// Round-trip delay, s.
    pub(crate) fn round_trip_delay_s(&self) -> f64 {
        0.5 * f64::from(self.order) / self.freq_hz
    }

    /// Reads the loaded sweep there as a line of `z0_ohm` lets it be read.
    pub(crate) fn read(&self, loaded: &EndedSweep, z0_ohm: f64) -> Option<Reading> {
        let delay_s = self.round_trip_delay_s();
        read_between(&loaded.sweep, self.freq_hz, z0_ohm, delay_s)
    }
}

/// The quarter wave by the crossing of an open or short sweep, else by the loaded curve's own.
///
/// # Errors
/// [`Unserved`] if the sweep passes none or the curve is too small to show it.
pub(crate) fn quarter_wave(
    bench: &Bench,
    loaded: &EndedSweep,
    method: Method,
) -> Result<Quarter, Unserved> {
    let Ok(trace) = open_or_short(bench, method) else {
        return own_quarter_wave(bench, loaded, method);
    };
    let range_hz = loaded.sweep.start_hz()..=loaded.sweep.stop_hz();
    let crossing = (1..=trace.highest_order())
        .step_by(2)
        .filter_map(|order| Some((order, trace.quarter_waves_hz(order)?)))
        .find(|(_, f)| range_hz.contains(f));
    if let Some((order, freq_hz)) = crossing {
        let delay_s = trace.round_trip_delay_s;
        if let Some(reading) = read_between(&loaded.sweep, freq_hz, trace.centre_ohm, delay_s) {
            return Ok(Quarter {
                freq_hz,
                order,
                basis: match trace.ended.far_end {
                    FarEnd::Short => "by the short sweep's phase",
                    _ => "by the open sweep's phase",
                },
                reading,
                bend: 0.0,
            });
        }
    }
    // 5 % beyond the crossing leaves a point on its far side
    let wanted_hz = 1.05 * trace.expected_quarter_wave_hz();
    if wanted_hz > loaded.sweep.stop_hz() {
        return Err(no_crossing(method, loaded, Some(wanted_hz)));
    }
    own_quarter_wave(bench, loaded, method)
}

/// The half wave after a quarter wave, Hz: by the open or short sweep, else where the loaded
/// curve crosses the axis again, else by multiplication.
pub(crate) fn half_wave_hz(bench: &Bench, loaded: &EndedSweep, quarter: &Quarter) -> f64 {
    let expected_hz = quarter.freq_hz * f64::from(quarter.order + 1) / f64::from(quarter.order);
    if let Ok(trace) = open_or_short(bench, Method::ResistanceExtremes)
        && let Some(freq_hz) = trace.quarter_waves_hz(quarter.order + 1)
    {
        return freq_hz;
    }
    let chord = chord_of(bench, loaded);
    let grid = loaded.sweep.freq_hz();
    let size = chord.iter().map(|c| c.norm()).fold(0.0, f64::max);
    // dispersion and plugs move a half wave by a few per cent, never by a fifth
    let near = 0.8 * expected_hz..=1.2 * expected_hz;
    let at = (1..chord.len())
        .filter(|&k| near.contains(&grid[k]) && changes_sign(&chord, k))
        // at the half wave the curve is back at its load: of several changes of sign it is the one nearest to that
        .min_by(|&a, &b| chord[a].norm().total_cmp(&chord[b].norm()));
    // The imaginary part is steep here: a narrower window than at the quarter wave.
    at.map(|at| crossing_near(grid, &chord, at, 0.25 * NEAR_AXIS * size))
        .filter(|f| near.contains(f))
        .unwrap_or(expected_hz)
}

/// First point where the loaded curve comes back to the real axis far from where it started.
fn own_quarter_wave(
    bench: &Bench,
    loaded: &EndedSweep,
    method: Method,
) -> Result<Quarter, Unserved> {
    let sweep = &loaded.sweep;
    let grid = sweep.freq_hz();
    let chord = chord_of(bench, loaded);
    let Some(at) = far_crossing(bench, loaded, &chord) else {
        return Err(no_crossing(
            method,
            loaded,
            expected_from_turn(loaded, &chord),
        ));
    };
    let size = chord[at].norm();
    if let Some(turn_deg) = too_coarse(&chord, at) {
        let reason =
            format!("the loaded curve turns {turn_deg:.0}° from point to point at its crossing");
        let closer = "points four times as close would do";
        return Err(Unserved::new(method, reason).would_do(closer));
    }
    let freq_hz = crossing_near(grid, &chord, at, NEAR_AXIS * size);
    // the imaginary part of Zc turns the curve about its load: without another sweep only its usual size is known
    let bend = loss::typical(freq_hz, 1.0).np.value;
    if size < LEAST_SIZE_IN_BENDS * bend {
        let reason = format!(
            "the loaded curve is only {} wide: loss bends it as much as the mismatch does",
            significant(size, 2)
        );
        let other = "an open or short sweep would show the quarter wave";
        return Err(Unserved::new(method, reason).would_do(other));
    }
    // The half wave before would lie at two thirds of the crossing if this were the third one.
    if sweep.start_hz() > 0.6 * freq_hz {
        let reason = "the sweep starts too late to tell which quarter wave its crossing is";
        let start = format!("a start below {} would do", hertz(0.5 * freq_hz));
        return Err(Unserved::new(method, reason).would_do(start));
    }
    let reading = read_between(sweep, freq_hz, sweep.z_ref_ohm(), 0.5 / freq_hz)
        .ok_or_else(|| no_crossing(method, loaded, None))?;
    Ok(Quarter {
        freq_hz,
        order: 1,
        basis: "where the loaded curve crosses the real axis",
        reading,
        // a crossing misplaced by the angle bend/size lies lower on the circle by half its square, on a chord of that size
        bend: bend * bend / (4.0 * size),
    })
}

/// Vectors from the load's point to the curve.
pub(crate) fn chord_of(bench: &Bench, loaded: &EndedSweep) -> Vec<Complex64> {
    let ratio = bench.far_load.ohm.value / loaded.sweep.z_ref_ohm();
    let start = (ratio - 1.0) / (ratio + 1.0);
    let points = loaded.sweep.reflection().iter();
    points.map(|g| g - start).collect()
}

fn far_crossing(bench: &Bench, loaded: &EndedSweep, chord: &[Complex64]) -> Option<usize> {
    let sweep = &loaded.sweep;
    let mut largest = 0.0;
    (1..chord.len()).find(|&k| {
        // both points of a change of sign must stand clear of the load, where noise changes signs too
        let size = chord[k].norm().min(chord[k - 1].norm());
        largest = chord[k].norm().max(largest);
        let u = reflection_u(&bench.analyser, sweep.freq_hz()[k], sweep.z_ref_ohm(), 1.0);
        let far = size > FAR_FROM_LOAD * largest && size > LEAST_SIZE_IN_U * u;
        far && changes_sign(chord, k)
    })
}

/// Turn about the curve's middle between the points around a crossing, degrees, if it is too much
/// to read between them.
fn too_coarse(chord: &[Complex64], at: usize) -> Option<f64> {
    // the middle of a circle through the load's point lies half a chord from it
    let from_middle = |k: usize| chord[k] - 0.5 * chord[at].re;
    let around = at.saturating_sub(2)..(at + 2).min(chord.len() - 1);
    let turns = around.map(|k| {
        (from_middle(k + 1) / from_middle(k))
            .arg()
            .abs()
            .to_degrees()
    });
    let widest = turns.fold(0.0, f64::max);
    (widest > COARSE_TURN_DEG).then_some(widest)
}

fn changes_sign(chord: &[Complex64], k: usize) -> bool {
    (chord[k - 1].im > 0.0) != (chord[k].im > 0.0)
}

/// Root of Im Γ by a straight line through the points near the axis around `at`.
fn crossing_near(freq_hz: &[f64], chord: &[Complex64], at: usize, limit: f64) -> f64 {
    let near = |k: &usize| chord[*k].im.abs() < limit;
    let first = (0..at).rev().take_while(near).last().unwrap_or(at - 1);
    let last = (at..chord.len()).take_while(near).last().unwrap_or(at);
    let points: Vec<_> = (first..=last)
        .map(|k| (freq_hz[k], chord[k].im, 1.0))
        .collect();
    let root = line_through(&points).map(|(intercept, slope)| -intercept / slope);
    root.filter(|f| (freq_hz[first]..=freq_hz[last]).contains(f))
        .unwrap_or(freq_hz[at])
}

/// The chord of a circle turns half as fast as its radius: it starts at ±90° and is real at the
/// quarter wave.
fn expected_from_turn(loaded: &EndedSweep, chord: &[Complex64]) -> Option<f64> {
    let last = chord.last()?;
    // the chord starts at ±90° and turns half as fast as the radius, so its angle tells the length at the stop
    let line_rad = if last.im > 0.0 {
        FRAC_PI_2 - last.arg()
    } else {
        -FRAC_PI_2 - last.arg()
    };
    let turned = 0.02..PI;
    let stop_hz = loaded.sweep.stop_hz();
    turned
        .contains(&line_rad)
        .then(|| 1.1 * stop_hz * FRAC_PI_2 / line_rad)
}

fn no_crossing(method: Method, loaded: &EndedSweep, wanted_hz: Option<f64>) -> Unserved {
    let stop_hz = loaded.sweep.stop_hz();
    let reason = format!("no quarter-wave crossing below {}", hertz(stop_hz));
    let unserved = Unserved::new(method, reason);
    match wanted_hz.filter(|&f| f > stop_hz) {
        Some(f) => unserved.would_do(format!("a stop of {} would do", round_up_hertz(f))),
        None => unserved,
    }
}
