//! Mistakes of measurement that the sweeps show, as warnings that say what to do. The table in
//! `docs/mistakes.md` lists all of them, and those that no sweep can show.

use super::stated::TYPICAL_VELOCITY_FACTOR;
use crate::bench::{Bench, EndedSweep, FarEnd};
use crate::constants::DB_PER_NEPER;
use crate::difference::{Whereabouts, difference};
use crate::estimate::{Estimate, Plug};
use crate::far_end;
use crate::mistake::dips::dips;
use crate::mistake::far_load::other_load;
use crate::mistake::outliers::{Outliers, outliers};
use crate::mistake::{residual, slips, through};
use crate::quantity::{format_frequency, format_length, format_uncertain};
use crate::sweep::ANOTHER_TRANSMISSION;
use crate::time_domain::distance::Scale;

use crate::finding::found::Finding;
use crate::finding::remarks::{Warning, WarningCode};
use crate::quantity::digits::significant;

/// Constant loss that is worth telling, dB.
const CONSTANT_LOSS_DB: f64 = 0.1;
/// Departure of S21 and S12 from their mean that is worth telling: twice what a through calibration leaves.
const DIRECTIONS_APART: f64 = 5e-3;
/// Ripple of the second port that is worth telling, dB.
const PORT_RIPPLE_DB: f64 = 0.1;
/// One-way delay from which a plug is more than a plug, s: 4 cm of one. Common practice.
const LONG_PLUG_S: f64 = 190e-12;
/// Part of the piece's delay from which it matters.
const PLUG_SHARE: f64 = 0.01;
/// Loss tangent above that of any dielectric of a sound cable (polyethylene, its foams and PTFE are
/// below 0.0005, soft old fillings reach 0.001). Handbook values, from memory.
const LOSSY_TAN_DELTA: f64 = 1.5e-3;

/// All that is found.
pub fn warnings(bench: &Bench, estimate: Option<&Estimate>, finding: &Finding) -> Vec<Warning> {
    let mut found = Vec::new();
    found.extend(standards_swapped(bench));
    found.extend(bench.sweeps.iter().filter_map(antenna_on));
    found.extend(repeats_differ(bench, finding));
    found.extend(far_load_differs(bench, finding).or_else(|| another_far_load(bench, estimate?)));
    found.extend(constant_loss(bench));
    found.extend(directions_differ(bench));
    found.extend(unit_slip(bench, finding));
    if let Some(estimate) = estimate {
        found.extend(kink(bench, estimate));
        found.extend(periodic(bench, estimate, finding));
        found.extend(port_mismatch(bench, estimate));
        found.extend(adapter_in_length(estimate, finding));
        found.extend(lossy_dielectric(finding));
    }
    found
}

/// Open looks like short and short like open.
fn standards_swapped(bench: &Bench) -> Option<Warning> {
    let contrary = |declared: FarEnd, seen: FarEnd| {
        let mut sweeps = bench.ended(declared);
        sweeps.any(|s| far_end::contradiction(&s.sweep, declared) == Some(seen))
    };
    let swapped = contrary(FarEnd::Open, FarEnd::Short) && contrary(FarEnd::Short, FarEnd::Open);
    swapped.then(|| {
        Warning::new(
            WarningCode::StandardsSwapped,
            "the open sweep looks shorted and the shorted one open: two files are swapped, or open and \
             short were during calibration; then calibrate again",
        )
    })
}

/// Readings of the bench that lie off their sweep's curve.
pub fn out_of_line(bench: &Bench) -> Vec<Warning> {
    bench.sweeps.iter().flat_map(out_of_line_of).collect()
}

/// Spikes together, each burst by itself.
fn out_of_line_of(ended: &EndedSweep) -> Vec<Warning> {
    let (bursts, spikes): (Vec<Outliers>, Vec<_>) =
        outliers(&ended.sweep).into_iter().partition(|o| o.is_burst);
    let mut found = Vec::new();
    if let Some(largest) = spikes.iter().max_by(|a, b| a.size.total_cmp(&b.size)) {
        let at: Vec<String> = spikes
            .iter()
            .take(3)
            .map(|o| format_frequency(0.5 * (o.band_hz.0 + o.band_hz.1)))
            .collect();
        let more = if spikes.len() > 3 { " and more" } else { "" };
        found.push(Warning::new(
            WarningCode::Interference,
            format!(
                "`{}` has points off its curve by up to {} at {}{more}, which are left out: most \
                 likely a transmitter nearby; filter, wait or move, and sweep again",
                ended.label,
                significant(largest.size, 2),
                at.join(", ")
            ),
        ));
    }
    found.extend(bursts.iter().map(|burst| {
        Warning::new(
            WarningCode::ContactLost,
            format!(
                "`{}` jumps between {} and {} by up to {}: contact came and went during the \
                 sweep; tighten the plugs, do not move the cable, and sweep again",
                ended.label,
                format_frequency(burst.band_hz.0),
                format_frequency(burst.band_hz.1),
                significant(burst.size, 2)
            ),
        )
    }));
    found
}

fn antenna_on(ended: &EndedSweep) -> Option<Warning> {
    if ended.far_end == FarEnd::Load {
        return None;
    }
    let dips = dips(&ended.sweep);
    let deepest = dips
        .iter()
        .min_by(|a, b| a.reflection.total_cmp(&b.reflection))?;
    Some(Warning::new(
        WarningCode::AntennaOn,
        format!(
            "`{}` was taken as {} but reflects only {} at {}: an antenna or filter is still \
             connected; readings outside its bands give an upper limit for the loss; disconnect \
             it and sweep again",
            ended.label,
            ended.far_end,
            significant(deepest.reflection, 2),
            format_frequency(deepest.at_hz)
        ),
    ))
}

/// Sweeps with the same far end against the first of them.
fn repeats_differ(bench: &Bench, finding: &Finding) -> Vec<Warning> {
    let scale = scale(bench, finding);
    let Some(delay_s) = scale.one_way_delay_s else {
        return Vec::new();
    };
    let repeats = [FarEnd::Open, FarEnd::Short, FarEnd::Load].map(|end| {
        let mut all = bench.ended(end);
        all.next()
            .into_iter()
            .flat_map(move |first| bench.ended(end).skip(1).map(move |again| (first, again)))
    });
    let differ = |(first, again): (&EndedSweep, &EndedSweep)| {
        let found = difference(&first.sweep, &again.sweep, delay_s, false, &bench.analyser).ok()?;
        let places = || found.places.iter();
        let along = places().find(|p| p.whereabouts == Whereabouts::Along);
        let place = along.or_else(|| places().next())?;
        let at = match place.whereabouts {
            Whereabouts::NearPlug => "at the plug on the analyser".to_owned(),
            Whereabouts::FarEnd => "at the far end".to_owned(),
            Whereabouts::Along => format!(
                "{} along the cable",
                format_length(scale.from_near_m(place.two_way_s))
            ),
        };
        Some(Warning::new(
            WarningCode::RepeatsDiffer,
            format!(
                "`{}` and `{}` differ by {} {at} although the far end is the same: a loose \
                 joint, or the cable moved; tighten, flex and sweep again",
                first.label,
                again.label,
                significant(place.size, 2)
            ),
        ))
    };
    repeats.into_iter().flatten().filter_map(differ).collect()
}

fn scale(bench: &Bench, finding: &Finding) -> Scale {
    let velocity_factor = finding
        .velocity_factor
        .map(|v| v.ratio)
        .or(bench.marking.velocity_factor)
        .unwrap_or(TYPICAL_VELOCITY_FACTOR);
    // a delay that the tape rules out is none
    let possible = bench.length_m.is_none() || finding.velocity_factor.is_some();
    let mut scale = Scale {
        velocity_factor,
        one_way_delay_s: finding.delay.filter(|_| possible).map(|d| d.one_way_s),
    };
    if scale.one_way_delay_s.is_none() {
        let by_tape = bench.length_m.map(|l| 0.5 * scale.two_way_s(l.value));
        scale.one_way_delay_s = by_tape;
    }
    scale
}

fn far_load_differs(bench: &Bench, finding: &Finding) -> Option<Warning> {
    // sweeps that contradict each other have no delay of their own, and another load is a reason for that; the longest
    // that a method reads leaves the fewest points
    let by_methods = finding.methods.iter().filter_map(|m| m.one_way_s);
    let by_methods = by_methods.max_by(f64::total_cmp);
    let delay_s = scale(bench, finding).one_way_delay_s.or(by_methods)?;
    let is_load = |s: &&EndedSweep| far_end::contradiction(&s.sweep, FarEnd::Load).is_none();
    bench.ended(FarEnd::Load).filter(is_load).find_map(|ended| {
        let other = other_load(&ended.sweep, delay_s, bench.far_load, &bench.analyser)?;
        let found = significant(other.found_ohm, 3);
        Some(Warning::new(
            WarningCode::FarLoadDiffers,
            format!(
                "at its lowest points `{}` shows {found} ohm at the far end, where {} ohm was \
                 stated: the load, not the cable; measure it and state its value, or check \
                 whether a joint adds resistance",
                ended.label,
                significant(other.stated_ohm, 3)
            ),
        ))
    })
}

/// All sweeps together speak for another part.
fn another_far_load(bench: &Bench, estimate: &Estimate) -> Option<Warning> {
    let found = estimate.other_far_load_ohm()?;
    let loaded = bench.first(FarEnd::Load)?;
    Some(Warning::new(
        WarningCode::FarLoadDiffers,
        format!(
            "in `{}` the far end is not the calibration's load: {} explains the sweeps, {} ohm does not, and the \
             impedance is stated with that; measure the load and state its value, or check whether a joint at the far \
             end adds resistance",
            loaded.label,
            format_uncertain(found, "ohm"),
            significant(bench.far_load.ohm.value, 3)
        ),
    ))
}

fn constant_loss(bench: &Bench) -> Option<Warning> {
    bench.throughs.iter().find_map(|(sweep, label)| {
        let loss = through::constant_loss(sweep)?;
        (loss.value > CONSTANT_LOSS_DB && loss.value > 2.0 * loss.u95()).then(|| {
            Warning::new(
                WarningCode::LossConstant,
                format!(
                    "`{label}` has {} dB of loss that does not fall with frequency: adapters or \
                     a jumper in the path; connect the two ports without the cable, and \
                     normalise to that",
                    significant(loss.value, 2)
                ),
            )
        })
    })
}

fn directions_differ(bench: &Bench) -> Option<Warning> {
    bench.throughs.iter().find_map(|(sweep, label)| {
        let each = sweep.directions_apart()?;
        let db = significant(DB_PER_NEPER * 2.0 * each, 2);
        let taken = if each > ANOTHER_TRANSMISSION {
            "S12 is left out; if the analyser measures both directions, tighten the plugs, calibrate \
             and sweep again"
        } else {
            "their mean is taken, and the intervals count the difference; tighten the plugs, keep the \
             leads still, and sweep again"
        };
        (each > DIRECTIONS_APART).then(|| {
            Warning::new(
                WarningCode::DirectionsDiffer,
                format!(
                    "S21 and S12 of `{label}` differ by the equivalent of {db} dB (rms), though a cable \
                     passes both ways alike: {taken}"
                ),
            )
        })
    })
}

fn unit_slip(bench: &Bench, finding: &Finding) -> Option<Warning> {
    let claim = bench.marking.loss?;
    let row = finding.loss.iter().find(|row| row.at_hz == claim.at_hz)?;
    let found = row.db_per_100m?;
    if row.u95_db_per_100m? > 0.1 * found {
        return None;
    }
    let slip = slips::loss_slip(found, claim.db_per_100m)?;
    Some(Warning::new(
        WarningCode::UnitSlip,
        format!(
            "the loss found, {} dB/100m, is {} times the claimed {} dB/100m: perhaps {}; check \
             the unit of the data sheet before you blame the cable",
            significant(found, 3),
            significant(found / claim.db_per_100m, 3),
            claim.db_per_100m,
            slip.what
        ),
    ))
}

fn kink(bench: &Bench, estimate: &Estimate) -> Option<Warning> {
    let kink = residual::kink(bench, estimate)?;
    Some(Warning::new(
        WarningCode::KinkInBand,
        format!(
            "around {} the sweeps depart from the curve of any line by {}: most likely common- \
             mode current on the cable or the analyser's lead; choke the lead, move away from \
             metal, keep your hands off, and sweep again",
            format_frequency(kink.at_hz),
            significant(kink.size, 2)
        ),
    ))
}

fn periodic(bench: &Bench, estimate: &Estimate, finding: &Finding) -> Option<Warning> {
    let periodic = residual::periodic(bench, estimate)?;
    let scale = scale(bench, finding);
    Some(Warning::new(
        WarningCode::PeriodicDamage,
        format!(
            "reflections of {} add up in a narrow band at {}: the cable has a regular defect \
             every {}, from manufacture, clamps or winding (structural return loss)",
            significant(periodic.size, 2),
            format_frequency(periodic.at_hz),
            format_length(scale.from_near_m(2.0 * periodic.spacing_s))
        ),
    ))
}

fn port_mismatch(bench: &Bench, estimate: &Estimate) -> Option<Warning> {
    let ripple_db = through::port_ripple_db(bench, estimate)?;
    (ripple_db > PORT_RIPPLE_DB).then(|| {
        Warning::new(
            WarningCode::PortMismatch,
            format!(
                "the match of port 2 causes a ripple of {} dB (rms) in the transmission: put 6 \
                 to 10 dB pads on both ports, calibrate with them, and sweep again",
                significant(ripple_db, 2)
            ),
        )
    })
}

fn adapter_in_length(estimate: &Estimate, finding: &Finding) -> Option<Warning> {
    let whole_s = finding.delay?.one_way_s;
    let [near, far] = estimate.plugs();
    let seen = |p: &Plug| p.delay_s > LONG_PLUG_S && p.is_seen;
    let (plug, end) = [(near, "near"), (far, "far")]
        .into_iter()
        .find(|(p, _)| seen(p))?;
    (plug.delay_s > PLUG_SHARE * whole_s).then(|| {
        let air_mm = 1e3 * plug.delay_s * crate::constants::SPEED_OF_LIGHT_M_S;
        Warning::new(
            WarningCode::AdapterInLength,
            format!(
                "at the {end} end, {} ps of another impedance ({} ohm) count as cable, {} mm of \
                 air: an adapter or a tee; calibrate on its cable side, or sweep two lengths and \
                 use the difference",
                significant(1e12 * plug.delay_s, 2),
                significant(plug.impedance_ohm, 2),
                significant(air_mm, 2)
            ),
        )
    })
}

/// tan δ = 2·loss/(ωτ) of the part of the loss that grows as f.
fn lossy_dielectric(finding: &Finding) -> Option<Warning> {
    let parts = finding.loss_parts.as_ref()?;
    let delay = finding.delay?;
    let (loss_db, u95_db) = (parts.dielectric_db?, parts.u95_dielectric_db?);
    let radians = std::f64::consts::TAU * parts.at_hz * delay.one_way_s;
    let tan_delta = |db: f64| 2.0 * db / crate::constants::DB_PER_NEPER / radians;
    (tan_delta(loss_db - u95_db) > LOSSY_TAN_DELTA).then(|| {
        Warning::new(
            WarningCode::DielectricLossy,
            format!(
                "the loss that grows in proportion to frequency means a loss tangent of {}, and \
                 a sound cable dielectric has at most 0.001: most likely water; dry it, sweep \
                 again, and compare",
                significant(tan_delta(loss_db), 2)
            ),
        )
    })
}
