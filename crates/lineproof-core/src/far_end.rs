//! What ended the cable: a judgement from the sweep and from the file's name.
//!
//! An open or short sends everything back, so the reflection stays large; a load brings it near
//! zero at direct current and at each half wave. Open and short are distinguished by the phase that
//! the reflection would have at direct current, 0° or 180°. For a long cable whose sweep starts
//! high that phase is reached by following the slope of the unwrapped phase down to 0 Hz.
//!
//! Method: practice of the trade ("+1 open, −1 short, 0 load at the lowest frequency"), extended
//! to 0 Hz. Limits were chosen from closed form: against 50 ohm the phase of a 93-ohm line bends
//! away from the straight line by 35°, and a loaded 93-ohm line reflects 0.55 at most.
//! Between points the phase may fall by up to 0.8 turns; a coarser step cannot be distinguished from a finer
//! one by the data. Where a cable may be so long by what it loses, and would then look like another far end, the
//! answer is [`Look::Unclear`].

use std::f64::consts::{PI, TAU};

use num_complex::Complex64;
use thiserror::Error;

use crate::bench::FarEnd;
use crate::line::possible::{longest_delay_s, seen_loss_db};
use crate::line::velocity::slope;
use crate::sweep::Sweep;

/// What a sweep looks like by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Look {
    /// The data show this far end.
    Is(FarEnd),
    /// The data do not say; the reason is in the variant.
    Unclear(Unclear),
}

/// Why a sweep does not show its far end.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum Unclear {
    /// Too few points to follow the phase.
    #[error("{points} points are too few to follow the phase to 0 Hz")]
    TooFewPoints {
        /// Points in the sweep.
        points: usize,
    },
    /// The phase seems to rise with frequency, which no cable's does.
    #[error("the phase rises with frequency: the step is too coarse")]
    PhaseRises,
    /// A cable that is longer than the step shows, and may lose as little, would look like the other end.
    #[error("the step is too coarse: a longer cable would look like another far end")]
    StepTooCoarse,
    /// The phase at 0 Hz is neither 0° nor 180°.
    #[error(
        "extrapolated to 0 Hz the reflection has a phase of {phase_deg:.0}°, neither 0° nor 180°"
    )]
    Phase {
        /// Phase at 0 Hz, degrees, 0 to 360.
        phase_deg: f64,
    },
    /// The size of the reflection suits neither.
    #[error("a reflection of {size:.2} is small for an open or short and large for a load")]
    Size {
        /// Mean size over the first turn.
        size: f64,
    },
}

/// How sure a judgement is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Confidence {
    /// Data and name agree.
    DataAndName,
    /// The data show it; the name says nothing.
    Data,
    /// Only the name says it; the data are unclear.
    Name,
    /// The name says it, and the data show something else.
    NameAgainstData,
}

/// A judgement of what ended the cable.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// The far end.
    pub far_end: FarEnd,
    /// What it rests on.
    pub confidence: Confidence,
    /// What the data show, where the name says something else.
    pub data_show: Option<FarEnd>,
    /// One sentence for people: what was taken and why.
    pub sentence: String,
}

/// Neither the data nor the name say what ended the cable.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("cannot tell what ended the cable in `{name}`: {why}")]
pub struct FarEndError {
    /// The file's name.
    pub name: String,
    /// What is unclear in the data.
    pub why: Unclear,
}

/// Start of a sweep, in steps of it, up to which its first point alone decides.
const FIRST_POINT_STEPS: f64 = 0.25;
/// Reflection at a low first point below which it is a load, above which it is none.
const SMALL: f64 = 0.2;
const LARGE: f64 = 0.9;
/// Reflection that a loaded cable does not reach: 0.6 at 100 ohm, 0.7 at 120.
const LARGEST_LOADED: f64 = 0.7;
/// A load brings the reflection below this somewhere in the first turn.
const LARGEST_LOADED_MINIMUM: f64 = 0.35;
/// An open or short keeps the reflection above this in the first turn.
const SMALLEST_TOTAL_MINIMUM: f64 = 0.4;
/// Turn between points that can still be followed, rad: a cable's phase falls, so a turn is read
/// as falling up to this and rising only by what is left of the circle.
const LARGEST_STEP_RAD: f64 = 1.6 * PI;
/// How far the phase at 0 Hz may be from 0° or 180°, rad.
const PHASE_TOLERANCE_RAD: f64 = PI / 3.0;
/// Turns of phase from the start of the sweep that give the slope: few enough that the delay,
/// which is longer at low frequency, has not changed much.
const SLOPE_TURNS: f64 = 3.0;

/// Most ranges of the grid that a longer cable is looked for in.
const MOST_FOLDS: f64 = 100.0;

/// Judges the far end from the sweep and, where that helps, from the file's name.
///
/// # Errors
/// [`FarEndError`] if neither says.
pub fn judge(sweep: &Sweep, file_name: &str) -> Result<Judgement, FarEndError> {
    let named = name_hint(file_name);
    match (look(sweep), named) {
        (Look::Is(seen), Some(name)) if seen == name => Ok(Judgement {
            far_end: seen,
            confidence: Confidence::DataAndName,
            data_show: None,
            sentence: format!(
                "`{file_name}` is taken as {}: the data and the name say so",
                adjective(seen)
            ),
        }),
        // A sweep is named for what was screwed on: if it looks otherwise, the cable may be broken or
        // shorted on the way, and the contradiction is the symptom.
        (Look::Is(seen), Some(name)) => Ok(Judgement {
            far_end: name,
            confidence: Confidence::NameAgainstData,
            data_show: Some(seen),
            sentence: format!(
                "`{file_name}` is taken as {} by its name, though it looks {}",
                adjective(name),
                adjective(seen)
            ),
        }),
        (Look::Is(seen), None) => Ok(Judgement {
            far_end: seen,
            confidence: Confidence::Data,
            data_show: None,
            sentence: format!(
                "`{file_name}` is taken as {}: {}",
                adjective(seen),
                evidence(seen)
            ),
        }),
        (Look::Unclear(why), Some(name)) => Ok(Judgement {
            far_end: name,
            confidence: Confidence::Name,
            data_show: None,
            sentence: format!(
                "`{file_name}` is taken as {} by its name alone: {why}",
                adjective(name)
            ),
        }),
        (Look::Unclear(why), None) => Err(FarEndError {
            name: file_name.to_owned(),
            why,
        }),
    }
}

/// Pairs of sweeps, by their places, each of which looks like the far end that the other is said to have:
/// their names are swapped, since no fault makes a sweep look like another's end and that one like its.
pub fn swapped(sweeps: &[(&Sweep, FarEnd)]) -> Vec<(usize, usize)> {
    let seen: Vec<Option<FarEnd>> = sweeps
        .iter()
        .map(|(sweep, said)| contradiction(sweep, *said))
        .collect();
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for i in 0..sweeps.len() {
        let free = |k: usize| !pairs.iter().any(|&(a, b)| a == k || b == k);
        let other = (i + 1..sweeps.len()).find(|&j| {
            free(i) && free(j) && seen[i] == Some(sweeps[j].1) && seen[j] == Some(sweeps[i].1)
        });
        pairs.extend(other.map(|j| (i, j)));
    }
    pairs
}

/// What the sweep says against a far end that was declared; `None` if it agrees or is unclear.
pub fn contradiction(sweep: &Sweep, declared: FarEnd) -> Option<FarEnd> {
    match look(sweep) {
        Look::Is(seen) if seen != declared => Some(seen),
        _ => None,
    }
}

/// As [`contradiction`] for a far end whose load is known to be `load_ohm`: one far from the analyser's
/// reference reflects so much that it looks like an open or a short, and that contradicts nothing.
pub fn contradiction_with_load(sweep: &Sweep, declared: FarEnd, load_ohm: f64) -> Option<FarEnd> {
    let seen = contradiction(sweep, declared)?;
    (declared != FarEnd::Load || !load_looks_like(sweep, load_ohm, seen)).then_some(seen)
}

/// How much more than the load's own reflection a loaded cable may show everywhere in its first turn: what
/// a cable of up to 75 ohm adds.
const LOAD_MARGIN: f64 = 0.15;

/// Whether a load of `load_ohm` would make the sweep look like this.
fn load_looks_like(sweep: &Sweep, load_ohm: f64, seen: FarEnd) -> bool {
    let reference_ohm = sweep.z_ref_ohm();
    let reflection = (load_ohm - reference_ohm) / (load_ohm + reference_ohm);
    let suits = match seen {
        FarEnd::Open => reflection > SMALL,
        FarEnd::Short => reflection < -SMALL,
        FarEnd::Load => true,
    };
    let turn = points_within(&unwrapped_phase(sweep.reflection()), TAU);
    let sizes = sweep.reflection()[..turn].iter().map(|g| g.norm());
    suits && sizes.fold(f64::INFINITY, f64::min) < reflection.abs() + LOAD_MARGIN
}

/// What the sweep looks like, name aside.
pub fn look(sweep: &Sweep) -> Look {
    if let Some(far_end) = first_point(sweep) {
        return Look::Is(far_end);
    }
    let phase = unwrapped_phase(sweep.reflection());
    let turn = points_within(&phase, TAU);
    let sizes = sweep.reflection()[..turn].iter().map(|g| g.norm());
    let mean = sizes.clone().sum::<f64>() / turn as f64;
    let minimum = sizes.clone().fold(f64::INFINITY, f64::min);
    let maximum = sizes.fold(0.0, f64::max);
    if maximum < LARGEST_LOADED && minimum < LARGEST_LOADED_MINIMUM {
        Look::Is(FarEnd::Load)
    } else if minimum > SMALLEST_TOTAL_MINIMUM {
        open_or_short(sweep, &phase)
    } else {
        Look::Unclear(Unclear::Size { size: mean })
    }
}

/// The far end by the first point alone, where the sweep starts so far below its own step that the
/// cable has hardly turned the phase.
fn first_point(sweep: &Sweep) -> Option<FarEnd> {
    let freq_hz = sweep.freq_hz();
    if sweep.len() < 2 || freq_hz[0] > FIRST_POINT_STEPS * (freq_hz[1] - freq_hz[0]) {
        return None;
    }
    let first = sweep.reflection()[0];
    let turn = first.arg().abs();
    match first.norm() {
        size if size < SMALL => Some(FarEnd::Load),
        size if size > LARGE && turn < PHASE_TOLERANCE_RAD => Some(FarEnd::Open),
        size if size > LARGE && PI - turn < PHASE_TOLERANCE_RAD => Some(FarEnd::Short),
        _ => None,
    }
}

/// Words of a file's name that say what ended the cable.
const OPEN: [&str; 3] = ["open", "opened", "oc"];
const SHORT: [&str; 3] = ["short", "shorted", "sc"];
const LOAD: [&str; 4] = ["load", "loaded", "terminated", "term"];
/// And those that say as much where they stand beside a cable's name.
const BESIDE: [&str; 3] = ["through", "thru", "50ohm"];

/// The cable that a file's name tells: the name without ending and without what ended the far end. Empty if nothing
/// else stands in it.
///
/// ```
/// use lineproof_core::far_end::cable_name;
/// assert_eq!(cable_name("feeder 3 (short)"), "feeder 3");
/// assert_eq!(cable_name("opening-night"), "opening-night");
/// ```
pub fn cable_name(stem: &str) -> String {
    let mut name = String::new();
    for word in stem.split_inclusive(|c: char| !c.is_alphanumeric()) {
        let bare = word.trim_end_matches(|c: char| !c.is_alphanumeric());
        let bare = bare.to_lowercase();
        let mut of_the_end = OPEN.iter().chain(&SHORT).chain(&LOAD).chain(&BESIDE);
        if !of_the_end.any(|known| *known == bare) {
            name.push_str(word);
        }
    }
    name.trim_matches(|c: char| !c.is_alphanumeric()).to_owned()
}

/// What a file's name says about the far end, if it says one thing.
///
/// Words are split at anything that is neither letter nor digit; `open` and `short` go before
/// `50`, which more often names the cable.
pub fn name_hint(file_name: &str) -> Option<FarEnd> {
    let stem = file_name.rsplit_once('.').map_or(file_name, |(s, _)| s);
    let lower = stem.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .collect();
    let says = |list: &[&str]| words.iter().any(|w| list.contains(w));
    let open = says(&OPEN);
    let short = says(&SHORT);
    let load = says(&LOAD);
    match (open, short, load) {
        (true, false, false) => Some(FarEnd::Open),
        (false, true, false) => Some(FarEnd::Short),
        (false, false, true) => Some(FarEnd::Load),
        (false, false, false) if says(&["50", "50r", "50ohm", "50ohms"]) => Some(FarEnd::Load),
        _ => None,
    }
}

fn open_or_short(sweep: &Sweep, phase: &[f64]) -> Look {
    let freq_hz = sweep.freq_hz();
    if phase.len() < 3 {
        return Look::Unclear(Unclear::TooFewPoints {
            points: phase.len(),
        });
    }
    let near = points_within(phase, SLOPE_TURNS * TAU).max(3);
    let slope = slope(&freq_hz[..near], &phase[..near]).expect("frequencies rise");
    if slope > 0.0 {
        return Look::Unclear(Unclear::PhaseRises);
    }
    let at_dc = (phase[0] - slope * freq_hz[0]).rem_euclid(TAU);
    match by_phase(at_dc) {
        Some(seen) if folded(sweep, at_dc).any(|other| other != seen) => {
            Look::Unclear(Unclear::StepTooCoarse)
        }
        Some(seen) => Look::Is(seen),
        None => Look::Unclear(Unclear::Phase {
            phase_deg: at_dc.to_degrees(),
        }),
    }
}

/// Open or short by the phase at 0 Hz, rad.
fn by_phase(at_dc: f64) -> Option<FarEnd> {
    let at_dc = at_dc.rem_euclid(TAU);
    if at_dc.min(TAU - at_dc) < PHASE_TOLERANCE_RAD {
        Some(FarEnd::Open)
    } else if (at_dc - PI).abs() < PHASE_TOLERANCE_RAD {
        Some(FarEnd::Short)
    } else {
        None
    }
}

/// What else the sweep may be if its phase turns by whole turns more from point to point, as that of a cable does
/// which is longer by so many ranges of the grid, and which may lose so little.
fn folded(sweep: &Sweep, at_dc: f64) -> impl Iterator<Item = FarEnd> {
    let freq_hz = sweep.freq_hz();
    let step_hz = (freq_hz[freq_hz.len() - 1] - freq_hz[0]) / (freq_hz.len() - 1) as f64;
    let start_in_steps = freq_hz[0] / step_hz;
    let loss_db = seen_loss_db(freq_hz, sweep.reflection(), 2.0);
    let most = (longest_delay_s(loss_db) * 2.0 * step_hz).min(MOST_FOLDS) as u32;
    (1..=most).filter_map(move |k| by_phase(at_dc + TAU * f64::from(k) * start_in_steps))
}

/// Phase of each value, rad, without jumps of a whole turn; between neighbours it falls by up to
/// [`LARGEST_STEP_RAD`] or rises a little.
fn unwrapped_phase(values: &[Complex64]) -> Vec<f64> {
    let mut unwrapped = Vec::with_capacity(values.len());
    let mut last = 0.0;
    for (i, v) in values.iter().enumerate() {
        let step = v.arg() - if i == 0 { 0.0 } else { values[i - 1].arg() };
        let largest_rise = TAU - LARGEST_STEP_RAD;
        last += step - TAU * ((step - largest_rise) / TAU).ceil();
        unwrapped.push(last);
    }
    unwrapped
}

/// How many points from the start lie within `range_rad` of the first, at least 1.
fn points_within(phase: &[f64], range_rad: f64) -> usize {
    phase
        .iter()
        .position(|p| (p - phase[0]).abs() > range_rad)
        .unwrap_or(phase.len())
        .max(1)
}

fn adjective(far_end: FarEnd) -> &'static str {
    match far_end {
        FarEnd::Open => "open",
        FarEnd::Short => "shorted",
        FarEnd::Load => "loaded",
    }
}

fn evidence(seen: FarEnd) -> &'static str {
    match seen {
        FarEnd::Open => "followed to 0 Hz its reflection is near +1",
        FarEnd::Short => "followed to 0 Hz its reflection is near -1",
        FarEnd::Load => "its reflection comes near 0",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reflection against 50 ohm of a line with loss ∝ √f, in closed form.
    fn line(far_end: FarEnd, z0: f64, one_way_s: f64, np_at_100mhz: f64, grid: &[f64]) -> Sweep {
        let end = match far_end {
            FarEnd::Open => Complex64::new(1.0, 0.0),
            FarEnd::Short => Complex64::new(-1.0, 0.0),
            FarEnd::Load => Complex64::new((50.0 - z0) / (50.0 + z0), 0.0),
        };
        let rho = (z0 - 50.0) / (z0 + 50.0);
        let reflection = grid
            .iter()
            .map(|f| {
                let gl = Complex64::new(np_at_100mhz * (f / 1e8).sqrt(), TAU * f * one_way_s);
                let g = end * (-2.0 * gl).exp();
                (rho + g) / (1.0 + rho * g)
            })
            .collect();
        Sweep::new(grid.to_vec(), reflection, 50.0).unwrap()
    }

    fn grid(start: f64, stop: f64, points: usize) -> Vec<f64> {
        (0..points)
            .map(|i| start + (stop - start) * i as f64 / (points - 1) as f64)
            .collect()
    }

    #[test]
    fn every_end_of_short_and_long_cables_is_seen() {
        // (z0, one-way delay, loss at 100 MHz in neper, start, stop, points)
        let cases = [
            (75.0, 7.6e-9, 0.02, 50e3, 300e6, 401),
            (50.0, 1.5e-9, 0.005, 1e6, 1.5e9, 101),
            (93.0, 10e-9, 0.02, 2e6, 100e6, 101),
            (60.0, 300e-9, 0.6, 2e6, 65e6, 201),
            (75.0, 250e-9, 1.2, 10e3, 75e6, 401),
        ];
        for (z0, delay, loss, start, stop, points) in cases {
            for end in [FarEnd::Open, FarEnd::Short, FarEnd::Load] {
                let sweep = line(end, z0, delay, loss, &grid(start, stop, points));
                assert_eq!(look(&sweep), Look::Is(end), "{z0} ohm, {delay} s, {end}");
            }
        }
    }

    #[test]
    fn a_sweep_that_starts_several_turns_up_is_followed_down() {
        let g = grid(20e6, 60e6, 401);
        for end in [FarEnd::Open, FarEnd::Short] {
            let sweep = line(end, 75.0, 150e-9, 0.1, &g);
            assert_eq!(look(&sweep), Look::Is(end), "{end}");
        }
    }

    #[test]
    fn a_coarse_step_does_no_harm_where_the_start_is_low() {
        for (step_hz, start_hz) in [(2.5e6, 10e3), (4.4e6, 50e3), (2.2e6, 2e6)] {
            let g: Vec<f64> = (0..101)
                .map(|i| start_hz + step_hz * f64::from(i))
                .collect();
            for end in [FarEnd::Open, FarEnd::Short, FarEnd::Load] {
                let sweep = line(end, 75.0, 100e-9, 0.2, &g);
                assert_eq!(look(&sweep), Look::Is(end), "{step_hz} Hz, {end}");
            }
        }
    }

    /// A far-end load of 10 or 250 ohm was refused as contradicted.
    #[test]
    fn a_load_far_from_the_reference_contradicts_nothing() {
        let g = grid(1e6, 300e6, 401);
        let loaded = |load_ohm: f64, z0: f64| {
            let end = Complex64::new((load_ohm - z0) / (load_ohm + z0), 0.0);
            let rho = (z0 - 50.0) / (z0 + 50.0);
            let reflection = g.iter().map(|f| {
                let g =
                    end * (-2.0 * Complex64::new(0.02 * (f / 1e8).sqrt(), TAU * f * 20e-9)).exp();
                (rho + g) / (1.0 + rho * g)
            });
            Sweep::new(g.clone(), reflection.collect(), 50.0).unwrap()
        };
        for load_ohm in [10.0, 250.0] {
            for z0 in [50.0, 75.0] {
                let sweep = loaded(load_ohm, z0);
                let seen = contradiction_with_load(&sweep, FarEnd::Load, load_ohm);
                assert_eq!(seen, None, "{load_ohm} ohm on {z0} ohm");
            }
            // The other way round, or with nothing on it, the load is not what was said.
            let sweep = loaded(2500.0 / load_ohm, 50.0);
            assert!(contradiction_with_load(&sweep, FarEnd::Load, load_ohm).is_some());
            for end in [FarEnd::Open, FarEnd::Short] {
                let sweep = line(end, 50.0, 20e-9, 0.02, &g);
                let seen = contradiction_with_load(&sweep, FarEnd::Load, load_ohm);
                assert_eq!(seen, Some(end));
            }
        }
    }

    #[test]
    fn what_cannot_be_told_is_not_told() {
        // 1.8 turns a point from a start of many turns: the phase seems to stand or rise.
        let coarse = line(FarEnd::Open, 50.0, 100e-9, 0.05, &grid(42e6, 842e6, 82));
        assert!(matches!(look(&coarse), Look::Unclear(_)));
        let one = line(FarEnd::Open, 50.0, 1e-9, 0.0, &[100e6]);
        let error = judge(&one, "cable.s1p").unwrap_err();
        assert_eq!(error.why, Unclear::TooFewPoints { points: 1 });
        assert_eq!(judge(&one, "cable-open.s1p").unwrap().far_end, FarEnd::Open);
    }

    #[test]
    fn names_hint_and_contradictions_are_told() {
        let cases = [
            ("jumper-7-open.s1p", Some(FarEnd::Open)),
            ("SHORT.S1P", Some(FarEnd::Short)),
            ("rg58_50_open.s1p", Some(FarEnd::Open)),
            ("coil 50ohm.csv", Some(FarEnd::Load)),
            ("open-and-short.s1p", None),
            ("shortwave-feeder.s1p", None),
            ("50m-drum.s1p", None),
        ];
        for (name, wanted) in cases {
            assert_eq!(name_hint(name), wanted, "{name}");
        }
        let short = line(FarEnd::Short, 50.0, 5e-9, 0.01, &grid(50e3, 300e6, 101));
        let judged = judge(&short, "open.s1p").unwrap();
        assert_eq!(judged.far_end, FarEnd::Open);
        assert_eq!(judged.data_show, Some(FarEnd::Short));
        let open = line(FarEnd::Open, 50.0, 5e-9, 0.01, &grid(50e3, 300e6, 101));
        let load = line(FarEnd::Load, 50.0, 5e-9, 0.01, &grid(50e3, 300e6, 101));
        // Two that look like each other's end are swapped; two that look alike are not.
        let ends = [
            (&load, FarEnd::Load),
            (&short, FarEnd::Open),
            (&open, FarEnd::Short),
        ];
        assert_eq!(swapped(&ends), [(1, 2)]);
        assert_eq!(
            swapped(&[(&short, FarEnd::Open), (&short, FarEnd::Load)]),
            []
        );
        assert_eq!(contradiction(&short, FarEnd::Open), Some(FarEnd::Short));
        assert_eq!(contradiction(&short, FarEnd::Short), None);
    }
}
