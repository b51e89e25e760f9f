//! Faults along the cable as they are reported: from delays to metres.
//!
//! A tape scales the whole piece; where the cable ends early, or where another cable is joined on,
//! the velocity factor that the jacket claims does, and without either what cables have in general.

use crate::bench::Bench;
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::estimate::{Cause, Estimate, Event, LeastChange, ProfilePoint, Side};
use crate::mistake::tape::{self, TapeDoubt};
use crate::uncertain::{Uncertain, propagate};

use super::cause;
use super::stated::{MARKED_VELOCITY_U_REL, SETTLED_HZ};
use crate::finding::events::{End, EventFound, EventKind, EventRow};
use crate::finding::found::Finding;
use crate::finding::profile::{LeastDentFound, ProfileFound, ProfilePointFound};
use crate::line::mismatch::return_loss_db;

/// ln of the odds up to which two explanations can't be told apart: twenty to one.
const CANT_TELL: f64 = 3.0;
/// Velocity factor of a cable nobody knows: solid polyethylene to foam.
const ANY_VELOCITY_FACTOR: (f64, f64) = (0.74, 0.07);
/// By how much faster than marked a cable as long as the tape would have to be for it to end early
/// to be the better explanation: twice what pieces differ by from their data sheet.
const EARLY: f64 = 0.04;
/// Velocity factor that no common cable exceeds.
const FASTEST: f64 = 0.92;
/// Length of the dent that is asked after, m: a clamp, a heel, a tight bend.
pub const DENT_M: f64 = 0.05;
/// Relative difference of impedance up to which a marking is believed.
const SAME_IMPEDANCE: f64 = 0.06;

/// The length by tape, unless it can't be the cable's. Of a cable that the sweeps show to end early the delay
/// says nothing of the length.
///
/// # Errors
/// [`TapeDoubt`] says why it can't.
pub fn believed_length(bench: &Bench, estimate: &Estimate) -> Result<Option<Uncertain>, TapeDoubt> {
    if estimate.events().iter().any(is_early) {
        return Ok(bench.length_m);
    }
    match tape::doubt(bench, estimate.cable_delay_s(SETTLED_HZ)) {
        Some(doubt) => Err(doubt),
        None => Ok(bench.length_m),
    }
}

/// Every event of the estimate, and an early end that only the tape shows.
pub fn events(bench: &Bench, estimate: &Estimate) -> Vec<EventFound> {
    let mut events: Vec<EventFound> = estimate
        .events()
        .iter()
        .chain(estimate.most_uneven().iter())
        .map(|event| found(bench, estimate, event))
        .collect();
    match events.as_mut_slice() {
        [] => events.extend(early_by_tape(bench, estimate)),
        [only] => only.or = others(estimate, only.kind),
        _ => {}
    }
    events
}

/// Kinds that explain the sweeps nearly as well as the one that was chosen.
fn others(estimate: &Estimate, chosen: EventKind) -> Vec<EventKind> {
    let near = estimate
        .explanations()
        .iter()
        .filter(|e| e.ln_evidence > -CANT_TELL);
    near.filter_map(|e| e.cause.map(|c| kind(Some(c))))
        .filter(|&k| k != chosen)
        .collect()
}

/// Whether the sweeps themselves show that the rest of the piece is unseen.
pub fn is_seen_to_end_early(event: &EventFound) -> bool {
    matches!(event.kind, EventKind::Open | EventKind::Short) && !event.by_tape_alone
}

/// Impedance along the cable in metres; `None` where neither a tape nor a marking gives them.
pub fn profile(bench: &Bench, estimate: &Estimate) -> Option<ProfileFound> {
    let profile = estimate.profile();
    let early = estimate.events().iter().any(is_early);
    let length_m = believed_length(bench, estimate).unwrap_or(None);
    let metres_per_s = match length_m.filter(|_| !early) {
        Some(length) => length.value / profile.whole_s,
        None => bench.marking.velocity_factor? * SPEED_OF_LIGHT_M_S,
    };
    let point = |p: &ProfilePoint| ProfilePointFound {
        at_m: p.delay_s * metres_per_s,
        one_way_s: p.delay_s,
        ohm: p.impedance_ohm.value,
        u95_ohm: p.impedance_ohm.u95(),
    };
    let least = |l: &LeastChange| LeastDentFound {
        at_m: l.delay_s * metres_per_s,
        relative: l.relative,
    };
    let least_changes = estimate.least_change(DENT_M / metres_per_s);
    Some(ProfileFound {
        resolution_m: profile.resolution_s * metres_per_s,
        points: profile.points.iter().map(point).collect(),
        least_dent_length_m: DENT_M,
        // an impedance can't change by more than it is: there no dent shows
        least_dents: least_changes
            .iter()
            .filter(|l| l.relative < 1.0)
            .map(least)
            .collect(),
    })
}

/// Whether the cable ends at this event, so that nothing beyond it is seen.
pub fn is_early(event: &Event) -> bool {
    matches!(event.cause, Some(Cause::Open | Cause::Short))
}

fn found(bench: &Bench, estimate: &Estimate, event: &Event) -> EventFound {
    let early = is_early(event);
    let splice = event.cause == Some(Cause::Splice);
    let believed = believed_length(bench, estimate);
    let in_metres = believed.is_ok();
    let length_m = believed.unwrap_or(None);
    let metres = |delay_s: Uncertain| {
        let by_velocity = propagate([velocity_factor(bench), delay_s], |[vf, delay]| {
            vf * SPEED_OF_LIGHT_M_S * delay
        });
        let by_tape = length_m.filter(|_| !early).map(|length| {
            propagate([length, delay_s, event.whole_s], |[l, delay, whole]| {
                l * delay / whole
            })
        });
        match by_tape {
            Some(tape) if !splice || tape.u < by_velocity.u => tape,
            _ => by_velocity,
        }
    };
    let extent = event.end_s.value - event.begin_s.value;
    let extent_m = (in_metres && extent > 0.0).then(|| {
        let [begin, end] = [event.begin_s, event.end_s].map(&metres);
        end.value - begin.value
    });
    let at = metres(event.middle_s);
    let share = event.middle_s.value / event.whole_s.value;
    EventFound {
        kind: kind(event.cause),
        at_m: in_metres.then_some(at.value),
        u95_m: in_metres.then(|| at.u95()),
        length_m: extent_m,
        impedance_ohm: event.impedance_ohm.map(|z| z.value),
        u95_impedance_ohm: event.impedance_ohm.map(Uncertain::u95),
        series_ohm: event.series_ohm.map(|r| r.value),
        u95_series_ohm: event.series_ohm.map(Uncertain::u95),
        one_way_s: event.middle_s.value,
        from_far_m: (in_metres && !early).then(|| at.value * (1.0 / share - 1.0)),
        share: (!early).then_some(share),
        reaches: event.reaches.map(|side| match side {
            Side::Near => End::Near,
            Side::Far => End::Far,
        }),
        cause: cause::of_event(estimate, event),
        or: Vec::new(),
        by_tape_alone: false,
        beside_ohm: event
            .impedance_ohm
            .map(|_| estimate.impedance_limit_ohm().value),
        shunt_ohm: event.shunt_ohm.map(|r| r.value),
        u95_shunt_ohm: event.shunt_ohm.map(Uncertain::u95),
        shunt_f: event.shunt_f.map(|c| c.value),
        u95_shunt_f: event.shunt_f.map(Uncertain::u95),
        own_delay_s: event.own_delay_s.map(|s| s.value),
        u95_own_delay_s: event.own_delay_s.map(Uncertain::u95),
        by_itself: Vec::new(),
    }
}

/// States what connectors and stubs do by themselves, at the frequencies of the loss that the sweeps cover.
pub fn state_by_itself(estimate: &Estimate, finding: &mut Finding) {
    let (low, high) = estimate.covered_hz();
    let rows = finding.loss.iter().map(|row| row.at_hz);
    let at_hz: Vec<f64> = rows.filter(|f| (low..=high).contains(f)).collect();
    let stated = |kind: EventKind| matches!(kind, EventKind::Connector | EventKind::Stub);
    for (i, event) in finding.events.iter_mut().enumerate() {
        if !stated(event.kind) && !event.or.contains(&EventKind::Connector) {
            continue;
        }
        let row = |&at_hz: &f64| {
            let alone = estimate.by_itself(i, at_hz)?;
            Some(EventRow {
                at_hz,
                return_loss_db: return_loss_db(alone.reflection)?,
                loss_db: alone.loss_db.value,
                u95_loss_db: alone.loss_db.u95(),
            })
        };
        event.by_itself = at_hz.iter().filter_map(row).collect();
    }
}

/// The kind that a cause is reported as.
pub fn kind(cause: Option<Cause>) -> EventKind {
    match cause {
        None => EventKind::Unknown,
        Some(Cause::Dent) => EventKind::Dent,
        Some(Cause::Wet) => EventKind::Wet,
        Some(Cause::Splice) => EventKind::Splice,
        Some(Cause::Joint) => EventKind::Joint,
        Some(Cause::Connector) => EventKind::Connector,
        Some(Cause::Shunt) => EventKind::Shunt,
        Some(Cause::Stub) => EventKind::Stub,
        Some(Cause::Open) => EventKind::Open,
        Some(Cause::Short) => EventKind::Short,
    }
}

fn velocity_factor(bench: &Bench) -> Uncertain {
    bench.marking.velocity_factor.map_or_else(
        || Uncertain::new(ANY_VELOCITY_FACTOR.0, ANY_VELOCITY_FACTOR.1),
        |vf| Uncertain::new(vf, vf * MARKED_VELOCITY_U_REL),
    )
}

/// The far end looks as declared, but stands nearer than the tape has it: the cable ends early, if
/// it is the cable that the jacket names, or any cable at all.
fn early_by_tape(bench: &Bench, estimate: &Estimate) -> Option<EventFound> {
    let length = bench.length_m?;
    let delay = estimate.cable_delay_s(SETTLED_HZ);
    let seems = propagate([length, delay], |[l, d]| l / (SPEED_OF_LIGHT_M_S * d));
    let marking = &bench.marking;
    let z_ohm = estimate.impedance_ohm(estimate.covered_hz().1).value;
    let same_cable = marking
        .impedance_ohm
        .is_none_or(|marked| (z_ohm / marked - 1.0).abs() < SAME_IMPEDANCE);
    let most = match marking.velocity_factor {
        Some(marked) if same_cable => marked * (1.0 + EARLY),
        _ => FASTEST,
    };
    if seems.value - seems.u95() < most {
        return None;
    }
    // a load at the far end that is seen means that it is there
    let kind = match bench.sweeps.iter().map(|s| s.far_end).collect::<Vec<_>>()[..] {
        [crate::bench::FarEnd::Open] => EventKind::Open,
        [crate::bench::FarEnd::Short] => EventKind::Short,
        _ => return None,
    };
    let at = propagate([velocity_factor(bench), delay], |[vf, d]| {
        vf * SPEED_OF_LIGHT_M_S * d
    });
    // where the tape is off by a usual slip, the place would be as doubtful as the tape
    let in_metres = believed_length(bench, estimate).is_ok();
    Some(EventFound {
        at_m: in_metres.then_some(at.value),
        u95_m: in_metres.then(|| at.u95()),
        one_way_s: delay.value,
        by_tape_alone: true,
        ..EventFound::at(kind, at.value, at.u95())
    })
}
