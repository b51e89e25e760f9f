//! When the sweeps do not determine the cable although a fit came out, and where its law is in doubt.

use crate::bench::{Bench, EndedSweep, FarEnd};
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::difference::difference;
use crate::estimate::{Difference, Estimate};
use crate::far_end;
use crate::method::velocity;
use crate::mistake::bare_port::{SHORTEST_CABLE_S, bare_port};
use crate::plan::following_step_hz;
use crate::quantity::{format_delay, format_frequency, format_length, format_uncertain};
use crate::uncertain::Uncertain;

use super::disagreement::Contradiction;
use super::events::is_seen_to_end_early;
use super::stated::TYPICAL_VELOCITY_FACTOR;
use crate::finding::events::{EventFound, EventKind};
use crate::finding::found::Finding;
use crate::finding::remarks::{Warning, WarningCode};
use crate::quantity::digits::significant;

/// Delays that differ by less than this part are one.
const SAME: f64 = 0.02;
/// Delays that a sentence lists.
const LISTED: usize = 3;

/// Whether the sweeps show the port and nothing on it.
pub fn is_bare_port(finding: &Finding) -> bool {
    finding
        .warnings
        .iter()
        .any(|w| w.code == WarningCode::NoCable)
}

/// Why no number of this estimate may be believed; nothing if they may.
pub fn undetermined(
    bench: &Bench,
    estimate: &Estimate,
    events: &[EventFound],
    contradictions: &[Contradiction],
) -> Option<Warning> {
    // a bare port has no line that a fit could come to rest at
    if let Some(warning) = no_cable(bench) {
        return Some(warning);
    }
    if !estimate.converged() {
        return not_one_cable(bench, estimate).or(Some(Warning::new(
            WarningCode::NotConverged,
            "impedance, delay and loss are not stated: the fit of one cable to all sweeps did \
             not converge; the methods by themselves remain valid",
        )));
    }
    far_end_contradicted(bench, events)
        .or_else(|| {
            // where several delays fit, sweeps by themselves may come to different ones
            let not_one = not_one_cable(bench, estimate);
            not_one.filter(|_| delay_ambiguous(bench, estimate).is_none())
        })
        .or_else(|| not_a_cable(estimate, events))
        .or_else(|| loaded_sweeps_differ(bench, estimate))
        .or_else(|| delay_ambiguous(bench, estimate))
        .or_else(|| sweeps_contradict(bench, contradictions))
}

/// Nothing on the port, or a part of the kit, in one of the sweeps.
fn no_cable(bench: &Bench) -> Option<Warning> {
    let seen = |s: &EndedSweep| Some((s.label.clone(), bare_port(&s.sweep)?));
    let (label, longest_s) = bench.sweeps.iter().find_map(seen)?;
    Some(Warning::new(
        WarningCode::NoCable,
        format!(
            "impedance, delay and loss are not stated: what `{label}` shows is at most {} long \
             one way, and a cable with its plugs is longer than {}: nothing was connected, or a \
             part of the kit, or a pin is broken in the near plug; connect the cable and sweep \
             again",
            format_delay(longest_s),
            format_delay(SHORTEST_CABLE_S),
        ),
    ))
}

/// Impedances that a coaxial cable can have, ohm: 60/√ε·ln(D/d) with solid polyethylene and D/d of 1.2 to air with
/// D/d of 45.
const COAXIAL_OHM: std::ops::RangeInclusive<f64> = 7.0..=230.0;
/// Half-width of an impedance, over its value, from which nothing is known of it.
const UNKNOWN_PART: f64 = 0.5;

/// Errors that no calibrated analyser leaves, rms of the complex reflection: a directivity of 20 dB, which is less than
/// that of an uncalibrated bridge. Common practice.
const NO_ANALYSERS_ERROR: f64 = 0.1;

/// Something that is no cable, or of which the sweeps show too little to claim one.
fn not_a_cable(estimate: &Estimate, events: &[EventFound]) -> Option<Warning> {
    let (low_hz, high_hz) = estimate.covered_hz();
    let ohm = estimate.impedance_ohm((low_hz * high_hz).sqrt());
    let delay_s = estimate.one_way_delay_s(high_hz);
    let (lowest, highest) = (ohm.value - ohm.u95(), ohm.value + ohm.u95());
    let error = estimate.analyser_error();
    // of a piece that ends within some centimetres little is known, but that it ends there
    let ends_early = events.iter().any(is_seen_to_end_early);
    let why = if lowest > *COAXIAL_OHM.end() || highest < *COAXIAL_OHM.start() {
        format!(
            "a line that explains them would have {}, which no coaxial cable has: a part, an antenna, or files that \
             are not of a cable",
            format_uncertain(ohm, "ohm")
        )
    } else if error > NO_ANALYSERS_ERROR {
        format!(
            "a line explains them only with errors of {} of the incident wave that a calibrated analyser would have to \
             have: readings that were scaled, reversed or taken without a calibration, or nothing that is a cable",
            significant(error, 2)
        )
    } else if !estimate.shows_end() {
        "the loaded sweeps do not show where a cable ends: a load on the port, with no cable or with one that \
         matches it, looks the same; add a sweep with the far end open"
            .to_owned()
    } else if ends_early {
        return None;
    } else if delay_s.value - delay_s.u95() < SHORTEST_CABLE_S {
        format!(
            "they leave room for a delay of {}, less than that of two plugs: a part, an antenna, or a cable too short \
             for these frequencies",
            format_delay((delay_s.value - delay_s.u95()).max(0.0))
        )
    } else if ohm.u95() > UNKNOWN_PART * ohm.value {
        format!(
            "they leave the impedance of a line between {} and {} ohm: a part, an antenna, or a cable too short for \
             these frequencies",
            significant(lowest.max(0.0), 2),
            significant(highest, 2)
        )
    } else {
        return None;
    };
    Some(Warning::new(
        WarningCode::CableNotSeen,
        format!(
            "impedance, delay and loss are not stated: the sweeps show no cable for sure; {why}"
        ),
    ))
}

/// Loaded sweeps of a cable that changed between them, and no other: where the cable ends is the
/// faintest thing in them, and whatever changed passes for it.
fn loaded_sweeps_differ(bench: &Bench, estimate: &Estimate) -> Option<Warning> {
    let (first, others) = bench.sweeps.split_first()?;
    let is_loaded = |s: &EndedSweep| s.far_end == FarEnd::Load;
    if !bench.throughs.is_empty() || !bench.sweeps.iter().all(is_loaded) {
        return None;
    }
    let found_s = estimate.one_way_delay_s(estimate.covered_hz().1).value;
    let delay_s = bench.length_m.map_or(found_s, |length| {
        let is_possible =
            velocity::POSSIBLE.contains(&(length.value / (SPEED_OF_LIGHT_M_S * found_s)));
        let usual_s = length.value / (SPEED_OF_LIGHT_M_S * TYPICAL_VELOCITY_FACTOR);
        if is_possible { found_s } else { usual_s }
    });
    let differs = |again: &&EndedSweep| {
        difference(&first.sweep, &again.sweep, delay_s, false, &bench.analyser)
            .is_ok_and(|found| !found.places.is_empty())
    };
    let again = others.iter().find(differs)?;
    Some(Warning::new(
        WarningCode::LoadedSweepsDiffer,
        format!(
            "impedance, delay and loss are not stated: `{}` and `{}` do not show one cable in \
             one state, and loaded sweeps alone hardly show where it ends; tighten what is \
             loose, sweep again, and add a sweep with the far end open",
            first.label, again.label
        ),
    ))
}

/// A sweep that looks otherwise than its far end was declared, and no break, short or bad joint that
/// lies before the far end for sure explains it. A wrong file and a fault at the very end look alike.
fn far_end_contradicted(bench: &Bench, events: &[EventFound]) -> Option<Warning> {
    let (label, declared, seen) = bench.sweeps.iter().find_map(|s| {
        let load_ohm = bench.far_load.ohm.value;
        let seen = far_end::contradiction_with_load(&s.sweep, s.far_end, load_ohm)?;
        Some((&s.label, s.far_end, seen))
    })?;
    let before_far_end = |event: &EventFound| {
        let hides = matches!(
            event.kind,
            EventKind::Open
                | EventKind::Short
                | EventKind::Joint
                | EventKind::Shunt
                | EventKind::Stub
        );
        let length = bench.length_m.map(|l| l.value);
        let end_m = event.place_m().map(|at| at.value + at.u95());
        let before = end_m.zip(length).is_some_and(|(end, length)| end < length);
        hides && !event.by_tape_alone && before
    };
    if events.iter().any(before_far_end) {
        return None;
    }
    let length = if bench.length_m.is_none() {
        "; the length by tape would distinguish this from a break on the way"
    } else {
        ""
    };
    Some(Warning::new(
        WarningCode::FarEndContradicted,
        format!(
            "impedance, delay and loss are not stated: `{label}` was declared {declared} but \
             looks like {seen}, and no fault before the far end explains it: a wrong file, \
             another far end, or a fault at the very end{length}; if the file is right, declare \
             its far end as {seen}"
        ),
    ))
}

/// A method that contradicts the joint fit beyond its own flaws, and would not on the sweeps that the fit predicts:
/// then the fit is of none of the sweeps, and they are not of one cable in one state.
fn sweeps_contradict(bench: &Bench, contradictions: &[Contradiction]) -> Option<Warning> {
    if bench.sweeps.len() + bench.throughs.len() < 2 {
        return None;
    }
    let against = contradictions.iter().find(|c| c.beyond && !c.reproduced)?;
    Some(two_cables(&against.difference))
}

/// Sweeps that two cables explain better by far than one.
fn not_one_cable(bench: &Bench, estimate: &Estimate) -> Option<Warning> {
    let apart = estimate.apart()?;
    let labels = |is_of: bool| {
        let of = |s: &&EndedSweep| (s.far_end == apart.far_end) == is_of;
        let labels = bench.sweeps.iter().filter(of);
        let labels: Vec<String> = labels.map(|s| format!("`{}`", s.label)).collect();
        labels.join(", ")
    };
    let (these, others) = (labels(true), labels(false));
    let both = |[a, b]: [Uncertain; 2], scale: f64, unit: &str| {
        let [a, b] = [a, b].map(|value| format_uncertain(value.scaled(scale), unit));
        format!("{these} by itself shows {a}, {others} {b}")
    };
    let text = match apart.differences.first()? {
        Difference::Impedance(at_hz, ohm) => {
            format!("{} at {}", both(*ohm, 1.0, "ohm"), format_frequency(*at_hz))
        }
        Difference::Delay(delay_s) => format!("{} one way", both(*delay_s, 1e9, "ns")),
        Difference::Loss(at_hz, db) => {
            let at = format_frequency(*at_hz);
            format!("{} of loss at {at}", both(*db, 1.0, "dB"))
        }
        Difference::Fault(_) => {
            format!("one of {these} and {others} shows a fault that the other does not")
        }
        Difference::Misfit => format!("one cable explains neither {these} nor {others}"),
    };
    Some(two_cables(&text))
}

fn two_cables(difference: &str) -> Warning {
    Warning::new(
        WarningCode::SweepsContradict,
        format!(
            "impedance, delay and loss are not stated: {difference}, and nothing explains both: sweeps of two cables, \
             of one that was moved or changed between them, a joint that comes and goes, or a far end other than \
             stated; tighten what is loose, leave the cable as it lies, and sweep every far end again, one after the \
             other"
        ),
    )
}

/// More than one delay explains every point, or the tape rules out the one that was found.
fn delay_ambiguous(bench: &Bench, estimate: &Estimate) -> Option<Warning> {
    let found_s = estimate.one_way_delay_s(estimate.covered_hz().1).value;
    let is_found = |delay_s: &f64| (delay_s / found_s - 1.0).abs() < SAME;
    let step_for = |longest_s: f64| format_frequency(following_step_hz(longest_s.min(1e-6)));
    if estimate.is_unfollowed() {
        return Some(Warning::new(
            WarningCode::DelayAmbiguous,
            format!(
                "impedance, delay and loss are not stated: the points lie so far apart that they do not follow the \
                 phase, and what a good cable of {} would not show may be another delay or a fault; a second sweep \
                 with a step of {} or less decides",
                format_delay(found_s),
                step_for(found_s),
            ),
        ));
    }
    let possible = estimate.possible_delays_s();
    if possible.is_empty() || possible.iter().all(is_found) {
        return None;
    }
    let by_tape: Vec<f64> = bench.length_m.map_or_else(
        || possible.clone(),
        |length| {
            let fits = |delay_s: &&f64| {
                velocity::USUAL.contains(&(length.value / (SPEED_OF_LIGHT_M_S * **delay_s)))
            };
            possible.iter().filter(fits).copied().collect()
        },
    );
    if !by_tape.is_empty() && by_tape.iter().all(is_found) {
        return None;
    }
    let shown = if by_tape.is_empty() {
        &possible
    } else {
        &by_tape
    };
    let list: Vec<String> = shown
        .iter()
        .take(LISTED)
        .map(|&d| format_delay(d))
        .collect();
    let more = if shown.len() > LISTED {
        " and more"
    } else {
        ""
    };
    let by_tape_text = bench
        .length_m
        .filter(|_| !by_tape.is_empty())
        .map_or_else(String::new, |length| {
            format!(" with a length of {}", format_length(length.value))
        });
    let longest_s = shown.iter().copied().fold(found_s, f64::max);
    Some(Warning::new(
        WarningCode::DelayAmbiguous,
        format!(
            "impedance, delay and loss are not stated: the points lie so far apart that a delay \
             of {}{more} would fit as well{by_tape_text} (the fit used {}); a second sweep with \
             a step of {} or less decides",
            list.join(", "),
            format_delay(found_s),
            step_for(longest_s),
        ),
    ))
}

/// A conductor whose resistance levels off where copper's would not.
pub fn steel_core(estimate: &Estimate) -> Option<Warning> {
    let steel = estimate.steel_core()?;
    Some(Warning::new(
        WarningCode::SteelCore,
        format!(
            "the conductor loss at {} is {} times that of a copper cable with this loss at 100 \
             MHz: most likely copper-clad steel, or a shield of bare foil; good at UHF, poor \
             below 10 MHz; no values are extrapolated below the sweep",
            format_frequency(steel.freq_hz),
            significant(steel.excess.value, 2),
        ),
    ))
}
