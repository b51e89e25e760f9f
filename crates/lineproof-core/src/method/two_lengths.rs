//! Two lengths of one cable: what the longer has more than the shorter, without plugs and adapters.
//!
//! With the chain matrices M₁ of the shorter piece and M₂ of the longer between the same fixtures,
//! M₂M₁⁻¹ = X diag(e^(−γΔl), e^(γΔl)) X⁻¹: trace and determinant hold γΔl, and X, which is plug and
//! adapter, is gone ([`two_lengths`]; R. Marks, IEEE Trans. MTT 39, 1991; from memory). The
//! impedance is gone with it.
//!
//! Assumes that the fixtures are the same both times: what plugs, their fitting and the analyser's
//! drift between the two sweeps differ by stays in. At multiples of half a wave of Δl the two
//! eigenvalues are alike and carry no information: points weigh by |1 − e^(−2γΔl)|. Whole turns are counted
//! from 0 Hz, so steps must be finer than half a turn of Δl.

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::bench::{Bench, ShorterPiece};
use crate::calibration::fixture::{Difference, two_lengths};
use crate::constants::{DB_PER_NEPER, SPEED_OF_LIGHT_M_S};
use crate::uncertain::{Uncertain, propagate};

use super::phase::{line_through, wrap};
use super::regression::{LossCurve, LossPoint};
use super::text::{hertz, metres, number, seconds};
use super::velocity::velocity_factor;
use super::{Method, Report, Unserved};

const METHOD: Method = Method::TwoLengths;

/// Frequency that results are stated at if the sweeps cover it, Hz; catalogues do the same.
const STATED_HZ: f64 = 100e6;
/// |1 − e^(−2γΔl)| below which a point tells nothing: within 9° of a multiple of half a wave.
const LEAST_APART: f64 = 0.3;
/// Fewest points that a straight line through the phase needs to show whether it is one.
const FEWEST_POINTS: usize = 5;
/// By how much the same plug, fitted twice, differs from itself, as transmission: 0.02 dB. Common
/// practice, no single source.
const FIXTURE_U: f64 = 2.5e-3;
/// Velocity factor that the first turn is expected with; any cable's is within a third of it.
const USUAL_VELOCITY: f64 = 0.75;

/// Velocity factor and loss from the first through sweep and that of the shorter piece.
///
/// # Errors
/// [`Unserved`] with what is missing.
pub fn from_bench(bench: &Bench, shorter: &ShorterPiece) -> Result<Report, Unserved> {
    let Some((longer, _)) = bench.throughs.first() else {
        return Err(Unserved::new(
            METHOD,
            "no sweep from port to port of the longer piece",
        ));
    };
    let more_m = more_length(bench, shorter)?;
    let points = followed(bench, &two_lengths(&shorter.through, longer), more_m.value)?;
    let at_hz = STATED_HZ.clamp(points[0].freq_hz, points[points.len() - 1].freq_hz);
    let mut report = Report::new(METHOD);
    report.at_hz = Some(at_hz);
    write_example(&mut report, &points, at_hz);
    set_velocity(&mut report, &points, (at_hz, more_m))?;
    set_loss(&mut report, &points, (bench, at_hz, more_m));
    if longer.reverse().is_none() || shorter.through.reverse().is_none() {
        report.remarks.push(
            "one direction only: each piece with its plugs is taken as the same from both ends"
                .to_owned(),
        );
    }
    report.remarks.push(
        "plugs and adapters cancel as far as they are the same on both pieces; the impedance cancels \
         with them"
            .to_owned(),
    );
    report.finished()
}

/// How much longer the longer piece is, m.
fn more_length(bench: &Bench, shorter: &ShorterPiece) -> Result<Uncertain, Unserved> {
    let Some(longer_m) = bench.length_m else {
        let reason = "the length of the longer piece is not known";
        return Err(Unserved::new(METHOD, reason).would_do("its length by tape"));
    };
    // one tape, so what it is off by at its ends cancels; counted in full here
    let more_m = propagate([longer_m, shorter.length_m], |[long, short]| long - short);
    // below that the velocity factor would be about as unsure as without a measurement
    if more_m.value > 3.0 * more_m.u {
        return Ok(more_m);
    }
    let reason = format!(
        "the pieces differ by {}, hardly more than the tape may be off",
        metres(more_m.value)
    );
    Err(Unserved::new(METHOD, reason).would_do("a piece at most half as long"))
}

/// The difference at one frequency.
#[derive(Clone, Copy, Debug)]
struct Point {
    freq_hz: f64,
    /// e^(−γΔl).
    one_way: Complex64,
    /// By how much it has turned since 0 Hz, rad.
    turned_rad: f64,
    /// Its relative uncertainty: shared by neighbours, own.
    u: [f64; 2],
}

/// Points that tell something, with whole turns counted from 0 Hz. Which eigenvalue is e^(−γΔl) follows
/// from the turn: with little loss errors can make the other one the smaller.
fn followed(
    bench: &Bench,
    differences: &[Difference],
    more_m: f64,
) -> Result<Vec<Point>, Unserved> {
    let about_s = more_m / (USUAL_VELOCITY * SPEED_OF_LIGHT_M_S);
    let steps = differences.windows(2).map(|w| w[1].freq_hz - w[0].freq_hz);
    let step_hz = steps.fold(0.0, f64::max);
    let start_hz = differences.first().map_or(0.0, |d| d.freq_hz);
    // a quarter turn a step, with the velocity off by a third, stays below half a turn
    if step_hz.max(0.5 * start_hz) * about_s > 0.25 {
        let reason = "whole turns can't be counted: the sweeps start too late or step too far";
        return Err(Unserved::new(METHOD, reason).would_do(format!(
            "a start below {} and steps of {} or less",
            hertz(0.5 / about_s),
            hertz(0.25 / about_s)
        )));
    }
    let (mut points, mut last) = (Vec::new(), None);
    for d in differences.iter().filter(|d| d.freq_hz > 0.0) {
        let expected = last.map_or(TAU * d.freq_hz * about_s, |(f, turned)| {
            turned * d.freq_hz / f
        });
        let (one_way, turned_rad) = nearer(d, expected);
        let apart = (1.0 - one_way * one_way).norm();
        // skipped before `last` is set: such a point must not carry the count of turns
        if apart < LEAST_APART {
            continue;
        }
        last = Some((d.freq_hz, turned_rad));
        // both sweeps carry their errors; alike eigenvalues magnify them
        let gain = 2f64.sqrt() * (2.0 / apart).max(1.0);
        let shared = bench.analyser.residual_floor.hypot(FIXTURE_U);
        points.push(Point {
            freq_hz: d.freq_hz,
            one_way,
            turned_rad,
            u: [gain * shared, gain * bench.analyser.noise / one_way.norm()],
        });
    }
    if points.len() < FEWEST_POINTS {
        let reason = "the two sweeps share too few frequencies away from multiples of half a wave";
        return Err(Unserved::new(METHOD, reason));
    }
    Ok(points)
}

/// The eigenvalue whose turn is nearer to the expected one, with its turn.
fn nearer(d: &Difference, expected_rad: f64) -> (Complex64, f64) {
    let smaller = Complex64::from_polar((-d.loss_db / DB_PER_NEPER).exp(), -d.phase_rad);
    // e^(−γΔl) and e^(γΔl) turn in opposite directions: the turn tells them apart where their sizes do not
    let [a, b] = [smaller, smaller.inv()].map(|w| (w, wrap(-w.arg() - expected_rad)));
    let (one_way, off) = if a.1.abs() <= b.1.abs() { a } else { b };
    (one_way, expected_rad + off)
}

/// Phase delay of the difference by a straight line through the turns within half an octave of
/// `at_hz`, and the velocity factor.
fn set_velocity(
    report: &mut Report,
    points: &[Point],
    (at_hz, more_m): (f64, Uncertain),
) -> Result<(), Unserved> {
    let near: Vec<(f64, f64, f64)> = points
        .iter()
        // narrow enough for a straight line, wide enough to average over the ripple of the fixtures
        .filter(|p| (0.7..=1.4).contains(&(p.freq_hz / at_hz)))
        .map(|p| (p.freq_hz - at_hz, p.turned_rad, p.u[0].powi(-2)))
        .collect();
    let Some((turn_rad, _)) = line_through(&near) else {
        let reason = format!("too few points about {}", hertz(at_hz));
        return Err(Unserved::new(METHOD, reason));
    };
    // what neighbours share does not average out: the best point's is what is left
    let least = points.iter().map(|p| p.u[0]).fold(f64::INFINITY, f64::min);
    let delay = Uncertain::new(turn_rad, least).scaled(1.0 / (TAU * at_hz));
    report.working.push(format!(
        "phase of e^(−γΔl) at {}: −{} rad; delay of the difference = that / (2π f) = {}",
        hertz(at_hz),
        number(turn_rad),
        seconds(delay.value)
    ));
    let vf = velocity_factor(more_m, delay);
    report.working.push(format!(
        "velocity factor = Δl/(c × delay) = {} / (299792458 m/s × {}) = {}",
        metres(more_m.value),
        seconds(delay.value),
        number(vf.value)
    ));
    report.velocity_factor = Some(vf);
    Ok(())
}

/// Loss of the difference by a√f + bf, and from it that of the whole longer piece by its length.
fn set_loss(
    report: &mut Report,
    points: &[Point],
    (bench, at_hz, more_m): (&Bench, f64, Uncertain),
) {
    let loss_points: Vec<LossPoint> = points
        .iter()
        .map(|p| LossPoint {
            freq_hz: p.freq_hz,
            loss_np: -p.one_way.norm().ln(),
            u_shared_np: p.u[0],
            u_own_np: p.u[1],
        })
        .collect();
    let (Some(curve), Some(longer_m)) = (LossCurve::fit(&loss_points), bench.length_m) else {
        return;
    };
    let more = curve.at(at_hz).scaled(DB_PER_NEPER);
    // the lengths' ratio, so that of one cable all along
    let whole = propagate([more, longer_m, more_m], |[db, long, more]| {
        db * long / more
    });
    report.working.push(format!(
        "loss of the difference at {} by a·√f + b·f through {} points: {} dB, {} dB/100m",
        hertz(at_hz),
        points.len(),
        number(more.value),
        number(100.0 * more.value / more_m.value)
    ));
    report.working.push(format!(
        "of the longer piece: {} dB × {} / {} = {} dB",
        number(more.value),
        metres(longer_m.value),
        metres(more_m.value),
        number(whole.value)
    ));
    report.loss_db.push((Some(at_hz), whole));
}

/// One point in full: eigenvalue, phase, loss.
fn write_example(report: &mut Report, points: &[Point], at_hz: f64) {
    let away = |p: &Point| p.u[0] * (1.0 + (p.freq_hz / at_hz).ln().abs());
    let Some(best) = points.iter().min_by(|a, b| away(a).total_cmp(&away(b))) else {
        return;
    };
    report.working.push(format!(
        "for example at {}: with M = M₂M₁⁻¹ the smaller eigenvalue trace/2 − √(trace²/4 − det) is {} \
         at {}°: loss −8.686 ln {} = {} dB",
        hertz(best.freq_hz),
        number(best.one_way.norm()),
        number(best.one_way.arg().to_degrees()),
        number(best.one_way.norm()),
        number(-best.one_way.norm().ln() * DB_PER_NEPER)
    ));
}
