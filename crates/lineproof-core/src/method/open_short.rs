//! Open/short pair: Zc = √(Zoc Zsc) and e^(−2γl) from the same piece open and shorted.
//!
//! Zc is the root with positive real part. Referred to that Zc the open sweep reads e^(−2γl) and
//! the short one −e^(−2γl), so loss and turn follow without a second choice of root; the number
//! of whole turns comes from following the phase from the lowest point. Source: Pozar, *Microwave
//! Engineering*, 4th ed., section 2.3; D. K. Cheng, *Field and Wave Electromagnetics*, ch. 9.
//!
//! dZ/Z = (dΓo + dΓs)/(1 − e^(−4γl)): smallest at odd eighth waves, unbounded at multiples of a
//! quarter wave, so points weigh by 1/u². What calibration left is common to neighbours and stays
//! in the interval however many points there are.
//! Assumes one uniform line; an open end without correction for its fringing reads long by CZc/2.

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::bench::{Bench, EndedSweep, FarEnd};
use crate::constants::DB_PER_NEPER;
use crate::sweep::impedance_of_reflection;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{
    FRINGING_F, plug_delay_u_s, plug_mix_u_rel, plug_ripple_u, scale, systematic_u, trace,
};
use super::phase::{Trace, delay_of, line_through, refer, refer_gain, wrap};
use super::regression::{ImpedancePoint, LossCurve, LossPoint, dispersion, impedance_at};
use super::text::{decibel, hertz, number, ohm, seconds};
use super::velocity::{self, Known};
use super::{Method, Report, Unserved, UsedPoint};

const METHOD: Method = Method::OpenShort;

/// Frequency that results are stated at if the sweeps cover it, Hz; catalogues do the same.
const STATED_HZ: f64 = 100e6;

/// Points with a larger relative uncertainty than this say nothing (multiples of a quarter wave).
const WORST_U_REL: f64 = 0.5;

/// Characteristic impedance and e^(−2γl) of one pair of impedances.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// Characteristic impedance, ohm.
    pub z0_ohm: Complex64,
    /// e^(−2γl): magnitude below 1 for a passive line.
    pub round_trip: Complex64,
}

impl Pair {
    /// One-way loss, Np.
    pub fn loss_np(self) -> f64 {
        -0.5 * self.round_trip.norm().ln()
    }

    /// Electrical length less whole half waves, rad, between 0 and π.
    pub fn principal_turn_rad(self) -> f64 {
        0.5 * (-self.round_trip.arg()).rem_euclid(TAU)
    }

    /// Electrical length nearest to a rough one, rad: whole half waves are chosen by `rough_rad`.
    pub fn turn_near_rad(self, rough_rad: f64) -> f64 {
        rough_rad + 0.5 * wrap(-self.round_trip.arg() - 2.0 * rough_rad)
    }
}

/// Solves one pair of input impedances; absent if one is zero or infinite.
pub fn solve(z_open_ohm: Complex64, z_short_ohm: Complex64) -> Option<Pair> {
    let root = (z_open_ohm * z_short_ohm).sqrt();
    // of the two roots the passive one
    let z0_ohm = if root.re < 0.0 { -root } else { root };
    let open = (z_open_ohm - z0_ohm) / (z_open_ohm + z0_ohm);
    let short = (z_short_ohm - z0_ohm) / (z_short_ohm + z0_ohm);
    // e^(−2γl) with +1 and −1 at the end: half the difference, so that an error common to both cancels
    let round_trip = 0.5 * (open - short);
    let pair = Pair { z0_ohm, round_trip };
    (z0_ohm.is_finite() && round_trip.is_finite() && z0_ohm.re > 0.0).then_some(pair)
}

/// A pair of impedances read off a screen at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Typed {
    /// Resistance and reactance with the far end open, ohm.
    pub open_ohm: [Uncertain; 2],
    /// Resistance and reactance with the far end shorted, ohm.
    pub short_ohm: [Uncertain; 2],
    /// Frequency of both readings, Hz.
    pub freq_hz: f64,
}

/// Impedance, loss and, if the branch is known from a length, delay from a pair of impedances.
///
/// # Errors
/// [`Unserved`] if the pair has no solution.
pub fn from_readings(typed: &Typed, known: Known) -> Result<Report, Unserved> {
    let z = |[r, x]: [f64; 2]| Complex64::new(r, x);
    let values = [typed.open_ohm, typed.short_ohm].map(|p| p.map(|q| q.value));
    let pair = solve(z(values[0]), z(values[1]))
        .ok_or_else(|| Unserved::new(METHOD, "the two impedances have no characteristic impedance between them: one is zero or infinite"))?;
    let inputs = [
        typed.open_ohm[0],
        typed.open_ohm[1],
        typed.short_ohm[0],
        typed.short_ohm[1],
    ];
    let through = |f: &dyn Fn(Pair) -> f64| {
        propagate(inputs, |[a, b, c, d]| {
            solve(z([a, b]), z([c, d])).map_or(f64::NAN, f)
        })
    };
    let mut report = Report::new(METHOD);
    report.at_hz = Some(typed.freq_hz);
    report.impedance_ohm = Some(through(&|p| p.z0_ohm.re));
    write_point(&mut report, z(values[0]), z(values[1]), pair);
    // without resistances typed in nothing was read of the loss; zero would be an invention
    let lossless = values.iter().all(|v| v[0] == 0.0);
    if !lossless {
        let loss = through(&|p| p.loss_np() * DB_PER_NEPER);
        report.loss_db.push((Some(typed.freq_hz), loss));
    }
    let turn = through(&|p| p.turn_near_rad(pair.principal_turn_rad()));
    choose_turns(&mut report, turn, typed.freq_hz, known);
    report.finished()
}

/// Whole half waves by the known length: those that give a velocity factor that cables have.
fn choose_turns(report: &mut Report, principal: Uncertain, freq_hz: f64, known: Known) {
    let omega = TAU * freq_hz;
    let fits = |half_waves: u32| {
        let turn = principal.value + std::f64::consts::PI * f64::from(half_waves);
        let length = known.length_m?;
        let vf = velocity::velocity_factor(length, Uncertain::exact(turn / omega)).value;
        // velocity factors that cables have, from solid dielectric to air with spacers (common practice)
        (0.6..=0.97).contains(&vf).then_some((half_waves, turn))
    };
    // enough for 200 m at 1 GHz; of more half waves several fit in any case
    let possible: Vec<_> = (0..2000).filter_map(fits).collect();
    let [(half_waves, turn)] = possible[..] else {
        report.remarks.push(format!(
            "electrical length {} rad plus {} whole half waves: {}",
            number(principal.value),
            if possible.is_empty() {
                "an unknown number of".to_owned()
            } else {
                possible
                    .iter()
                    .map(|p| p.0.to_string())
                    .collect::<Vec<_>>()
                    .join(" or ")
            },
            "one frequency can't tell, a second one or the length would"
        ));
        return;
    };
    report.working.push(format!(
        "electrical length {} rad + {half_waves} half waves = {} rad; delay = {}",
        number(principal.value),
        number(turn),
        seconds(turn / omega)
    ));
    report.one_way_delay_s = Some(Uncertain::new(turn / omega, principal.u / omega));
    report.delay_at_hz = Some(freq_hz);
    velocity::complete(report, known, None);
}

/// Impedance, loss and delay from an open and a short sweep.
///
/// # Errors
/// [`Unserved`] if one of the two is missing, the phase can't be followed, or they share no
/// frequencies.
pub fn from_bench(bench: &Bench) -> Result<Report, Unserved> {
    for end in [FarEnd::Open, FarEnd::Short] {
        if bench.first(end).is_none() {
            let reason = format!("no sweep with the far end {end}");
            let wanted = format!("a sweep of the same piece with the far end {end} would do");
            return Err(Unserved::new(METHOD, reason).would_do(wanted));
        }
    }
    let open = trace(bench, FarEnd::Open, METHOD)?;
    let short = trace(bench, FarEnd::Short, METHOD)?;
    let line = solve_sweeps(bench, &open, &short)
        .ok_or_else(|| Unserved::new(METHOD, "open and short sweep share no usable frequencies"))?;
    let at_hz = STATED_HZ.clamp(line.lowest_hz(), line.highest_hz());
    let mut report = Report::new(METHOD);
    report.at_hz = Some(at_hz);
    report.impedance_ohm = line
        .impedance_at(at_hz)
        .map(|z| propagate([z, scale(bench)], |[z, unit]| z * unit));
    write_best_point(&mut report, &line, at_hz);
    for freq_hz in loss_frequencies(&line, at_hz) {
        if let Some(loss) = line.loss_at(freq_hz) {
            report
                .loss_db
                .push((Some(freq_hz), loss.scaled(DB_PER_NEPER)));
        }
    }
    if let Some(delay) = line.delay_at(bench, at_hz) {
        report.working.push(format!(
            "electrical length at {}: {} rad; one-way delay = that / (2π f) = {}",
            hertz(at_hz),
            number(TAU * at_hz * delay.value),
            seconds(delay.value)
        ));
        report.one_way_delay_s = Some(delay);
        report.delay_at_hz = Some(at_hz);
        velocity::complete(&mut report, Known::from(bench), None);
    }
    report.finished()
}

/// A pair solved at every shared frequency.
#[derive(Clone, Debug)]
pub(crate) struct SolvedLine {
    points: Vec<Solved>,
    turned_rad: Vec<f64>,
    loss: Option<LossCurve>,
    one_way_delay_s: f64,
    labels: [String; 2],
}

#[derive(Clone, Copy, Debug)]
struct Solved {
    freq_hz: f64,
    open: Complex64,
    short: Complex64,
    z_ref_ohm: f64,
    pair: Pair,
    /// Relative uncertainty of the impedance: shared by neighbours, by plugs (signed), own.
    u_rel: [f64; 3],
    /// Uncertainty of e^(−2γl): shared by neighbours, own.
    u_round_trip: [f64; 2],
}

/// Solves two sweeps of one piece; the short one is read between its points where the grids
/// differ.
pub(crate) fn solve_sweeps(bench: &Bench, open: &Trace, short: &Trace) -> Option<SolvedLine> {
    let points: Vec<_> = shared_points(open.ended, short)
        .filter_map(|(freq_hz, o, s)| solved_point(bench, open, freq_hz, o, s))
        .collect();
    let freq_hz: Vec<_> = points.iter().map(|p| p.freq_hz).collect();
    let spiral: Vec<_> = points.iter().map(|p| p.pair.round_trip).collect();
    let length_m = bench.length_m.map(|l| 2.0 * l.value);
    let delay_s = delay_of(&freq_hz, &spiral, length_m).ok()?;
    let mut turned_rad = super::phase::unwrap(&freq_hz, &spiral, delay_s);
    count_turns(&mut turned_rad, &freq_hz, open);
    // e^(−2γl) from both ends is free of the mismatch that a single end's return loss has
    let loss_points: Vec<_> = points.iter().map(loss_point).collect();
    Some(SolvedLine {
        loss: LossCurve::fit(&loss_points),
        one_way_delay_s: 0.5 * delay_s,
        labels: [open.ended.label.clone(), short.ended.label.clone()],
        points,
        turned_rad,
    })
}

fn shared_points<'a>(
    open: &'a EndedSweep,
    short: &'a Trace<'a>,
) -> impl Iterator<Item = (f64, Complex64, Complex64)> + 'a {
    // on one grid nothing is read between points, so nothing is smoothed
    let same_grid = open.sweep.freq_hz() == short.ended.sweep.freq_hz();
    let z_open = open.sweep.z_ref_ohm();
    let z_short = short.ended.sweep.z_ref_ohm();
    (0..open.sweep.len()).filter_map(move |k| {
        let freq_hz = open.sweep.freq_hz()[k];
        let at_short = if same_grid {
            short.ended.sweep.reflection()[k]
        } else {
            short.read(freq_hz)?.reflection
        };
        // two files may state two references
        let at_short = refer(at_short, z_short, z_open);
        Some((freq_hz, open.sweep.reflection()[k], at_short))
    })
}

/// Near multiples of a quarter wave a single point's Zc may be anything, and so would be weights
/// taken from it: e^(−2γl) and the weights refer to the impedance that the spiral winds about.
/// Its error cancels between open and short to first order.
fn solved_point(
    bench: &Bench,
    open_trace: &Trace,
    freq_hz: f64,
    open: Complex64,
    short: Complex64,
) -> Option<Solved> {
    let z_ref_ohm = open_trace.ended.sweep.z_ref_ohm();
    let centre_ohm = open_trace.centre_ohm;
    let z = |g| impedance_of_reflection(g, z_ref_ohm);
    let z0_ohm = solve(z(open), z(short))?.z0_ohm;
    let own = |g| refer(g, z_ref_ohm, centre_ohm);
    let round_trip = 0.5 * (own(open) - own(short));
    let pair = Pair { z0_ohm, round_trip };
    let gain =
        refer_gain(open, z_ref_ohm, centre_ohm).max(refer_gain(short, z_ref_ohm, centre_ohm));
    // dZ/Z = dΓ/(1 − e^(−4γl)): grows without bound at multiples of a quarter wave
    let sensitivity = 1.0 / (1.0 - round_trip * round_trip).norm();
    let noise = bench.analyser.noise * gain;
    let residual = bench.analyser.residual(freq_hz) * gain;
    // Both sweeps share what calibration left; noise is their own.
    let u_rel = [
        2.0 * residual * sensitivity,
        plug_mix_u_rel(freq_hz, centre_ohm, pair.principal_turn_rad()),
        2f64.sqrt() * noise * sensitivity,
    ];
    let step_hz = open_trace.ended.sweep.largest_step_hz();
    let ripple = plug_ripple_u(freq_hz, centre_ohm, step_hz, open_trace.round_trip_delay_s);
    let u_round_trip = [residual, (noise / 2f64.sqrt()).hypot(ripple)];
    let useful = freq_hz > 0.0
        && u_rel[0].hypot(u_rel[1]) < WORST_U_REL
        // beyond 17 dB one way both ends look alike
        && round_trip.norm() > 0.02
        && z0_ohm.im.abs() < z0_ohm.re;
    useful.then_some(Solved {
        freq_hz,
        open,
        short,
        z_ref_ohm,
        pair,
        u_rel,
        u_round_trip,
    })
}

/// Whole turns as the open sweep's own phase has them at the best point near its start.
fn count_turns(turned_rad: &mut [f64], freq_hz: &[f64], open: &Trace) {
    let grid = open.ended.sweep.freq_hz();
    let Some(k) = freq_hz
        .first()
        .and_then(|f| grid.iter().position(|g| g == f))
    else {
        return;
    };
    // the pair shows its phase but for whole turns, which the open sweep has counted from 0 Hz
    let turns = ((turned_rad[0] - open.turned_rad()[k]) / TAU).round();
    for turned in turned_rad {
        *turned -= TAU * turns;
    }
}

fn loss_point(p: &Solved) -> LossPoint {
    let size = p.pair.round_trip.norm();
    LossPoint {
        freq_hz: p.freq_hz,
        loss_np: p.pair.loss_np(),
        // x = −½ ln |e^(−2γl)|, so du is half the relative error of the size
        u_shared_np: 0.5 * p.u_round_trip[0] / size,
        u_own_np: 0.5 * p.u_round_trip[1] / size,
    }
}

impl SolvedLine {
    fn lowest_hz(&self) -> f64 {
        self.points[0].freq_hz
    }

    fn highest_hz(&self) -> f64 {
        self.points[self.points.len() - 1].freq_hz
    }

    /// Real part of the characteristic impedance in units of the reference, without its scale's
    /// uncertainty, ohm.
    pub(crate) fn impedance_at(&self, at_hz: f64) -> Option<Uncertain> {
        let points: Vec<_> = self
            .points
            .iter()
            .map(|p| ImpedancePoint {
                freq_hz: p.freq_hz,
                z0_ohm: p.pair.z0_ohm.re,
                u_shared: p.u_rel[0],
                u_plug: p.u_rel[1],
                u_own: p.u_rel[2],
            })
            .collect();
        let conductor = self.loss.as_ref().map_or(0.0, |l| l.conductor);
        impedance_at(&points, at_hz, |f| {
            dispersion(conductor * f.sqrt(), f, self.one_way_delay_s)
        })
    }

    /// One-way loss, Np.
    pub(crate) fn loss_at(&self, freq_hz: f64) -> Option<Uncertain> {
        self.loss.as_ref().map(|l| l.at(freq_hz))
    }

    /// One-way phase delay by a straight line through the turns within half an octave of `at_hz`,
    /// the fringing of the open taken out.
    fn delay_at(&self, bench: &Bench, at_hz: f64) -> Option<Uncertain> {
        let near: Vec<_> = self
            .points
            .iter()
            .zip(&self.turned_rad)
            .filter(|(p, _)| (0.7..=1.4).contains(&(p.freq_hz / at_hz)))
            .map(|(p, &turned)| (p.freq_hz - at_hz, turned, 1.0 / p.u_round_trip[0].powi(2)))
            .collect();
        let turned = match line_through(&near) {
            Some((turned, _)) => turned,
            None => near.first()?.1,
        };
        let z0_ohm = self.impedance_at(at_hz)?.value;
        // the spiral's phase is surer the larger it still is
        let u = systematic_u(&bench.analyser, at_hz, z0_ohm)
            / (-2.0 * self.loss_at(at_hz)?.value).exp();
        let omega = TAU * at_hz;
        // only the open of the two fringes, and the pair takes the mean: half of C·Z0
        let fringing = FRINGING_F.scaled(0.5 * z0_ohm);
        let delay = propagate([Uncertain::new(-turned, u), fringing], |[t, c]| {
            0.5 * t / omega - c
        });
        Some(delay.widened(plug_delay_u_s(z0_ohm)))
    }

    fn best_near(&self, at_hz: f64) -> &Solved {
        // a sure point near the stated frequency: an octave away counts as much as 1.7 times the uncertainty
        let cost = |p: &Solved| p.u_rel[0] * (1.0 + (p.freq_hz / at_hz).ln().abs());
        self.points
            .iter()
            .min_by(|a, b| cost(a).total_cmp(&cost(b)))
            .expect("a solved line has points")
    }
}

/// Frequencies to state the loss at: where the impedance is stated and the ends of the sweep.
fn loss_frequencies(line: &SolvedLine, at_hz: f64) -> Vec<f64> {
    // 10 MHz, where conductors alone lose, and the end, where the dielectric counts most
    let mut frequencies = vec![10e6, at_hz, line.highest_hz()];
    frequencies.retain(|&f| f >= line.lowest_hz() && f <= line.highest_hz());
    frequencies.sort_by(f64::total_cmp);
    frequencies.dedup();
    frequencies
}

fn write_best_point(report: &mut Report, line: &SolvedLine, at_hz: f64) {
    let best = line.best_near(at_hz);
    let z = |g| impedance_of_reflection(g, best.z_ref_ohm);
    report
        .working
        .push(format!("for example at {}:", hertz(best.freq_hz)));
    write_point(report, z(best.open), z(best.short), best.pair);
    report.working.push(format!(
        "weighted mean of {} points with skin effect referred to {}: {}",
        line.points.len(),
        hertz(at_hz),
        ohm(line.impedance_at(at_hz).map_or(f64::NAN, |z| z.value))
    ));
    for (label, reflection) in line.labels.iter().zip([best.open, best.short]) {
        report.used.push(UsedPoint {
            name: "open/short pair".to_owned(),
            sweep: label.clone(),
            freq_hz: best.freq_hz,
            reflection,
        });
    }
}

fn write_point(report: &mut Report, open: Complex64, short: Complex64, pair: Pair) {
    report.working.push(format!(
        "sqrt(({}) × ({})) = {} ohm",
        complex(open),
        complex(short),
        complex(pair.z0_ohm)
    ));
    let size = pair.round_trip.norm();
    report.working.push(format!(
        "|(Zoc − Zc)/(Zoc + Zc)| = {}; loss = −10 log {} = {}",
        number(size),
        number(size),
        decibel(pair.loss_np() * DB_PER_NEPER)
    ));
}

fn complex(z: Complex64) -> String {
    let sign = if z.im < 0.0 { '−' } else { '+' };
    format!("{} {sign} j{}", number(z.re), number(z.im.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_branch_follows_the_rough_length() {
        let round_trip = Complex64::from_polar(0.9, -0.3);
        let pair = Pair {
            z0_ohm: Complex64::from(50.0),
            round_trip,
        };
        assert!((pair.principal_turn_rad() - 0.15).abs() < 1e-12);
        let wanted = 0.15 + 6.0 * std::f64::consts::PI;
        assert!((pair.turn_near_rad(19.5) - wanted).abs() < 1e-12);
    }
}
