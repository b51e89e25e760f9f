//! Two-port method: characteristic impedance and γl from all four S-parameters.
//!
//! Chain matrix A, B, C, D: Zc = √(B/C) and cosh γl = (A + D)/2; with Zc in the half plane of
//! positive real part sinh γl = (B/Zc + C Zc)/2, and e^(−γl) = cosh γl − sinh γl needs no further
//! choice of root. Source: Eisenstadt and Eo, IEEE Trans. CHMT 15, 1992 (symmetric case);
//! unsymmetric form as in Pozar, *Microwave Engineering*, 4th ed., table 4.2 and section 4.4.
//!
//! At half-wave multiples B and C vanish and Zc is undefined: points weigh by 1/u², u ∝ 1/|sinh
//! γl|, after Orloff et al., NIST, on distributed parameters from scattering parameters. An
//! analyser with one direction gives S11 and S21 only; then the cable is taken as symmetric and
//! port 2, whose own reflection such an analyser does not correct, goes into the interval.

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::bench::Bench;
use crate::constants::DB_PER_NEPER;
use crate::network::conversion::TwoPort;
use crate::network::{Chain, Scattering};
use crate::sweep::ThroughSweep;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{lost_in, plug_delay_u_s, plug_mix_u_rel, plug_ripple_u, scale, systematic_u};
use super::phase::{delay_of, line_through, unwrap};
use super::regression::{ImpedancePoint, LossCurve, LossPoint, dispersion, impedance_at};
use super::text::{hertz, number, ohm, seconds};
use super::velocity::{self, Known};
use super::{Method, Report, Unserved};

const METHOD: Method = Method::TwoPort;

/// Reflection of an uncorrected port 2: 30 dB return loss. Common practice, no single source.
const UNCORRECTED_PORT_U: f64 = 0.03;

/// Reflection that is left of a port 2 whose readings were corrected or taken by turning the cable:
/// 38 dB. Common practice, no single source.
const CORRECTED_PORT_U: f64 = 0.0125 / std::f64::consts::SQRT_2;

/// Frequency that results are stated at if the sweep covers it, Hz; catalogues do the same.
const STATED_HZ: f64 = 100e6;

/// Points with a larger relative uncertainty of the impedance than this say nothing.
const WORST_U_REL: f64 = 0.5;

/// Line that the scattering parameters belong to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Characteristic impedance, ohm.
    pub z0_ohm: Complex64,
    /// e^(−γl): magnitude below 1 for a passive line.
    pub one_way: Complex64,
}

impl Line {
    /// One-way matched loss, Np.
    pub fn loss_np(self) -> f64 {
        -self.one_way.norm().ln()
    }

    /// Electrical length less whole turns, rad, between 0 and 2π.
    pub fn principal_turn_rad(self) -> f64 {
        (-self.one_way.arg()).rem_euclid(TAU)
    }
}

/// Solves one set of scattering parameters; absent where B or C vanishes.
pub fn solve(s: Scattering) -> Option<Line> {
    let chain = s.chain().ok()?;
    // of the two roots the passive one; its sign decides that of sinh γl as well
    let root = (chain.b_ohm / chain.c_s).sqrt();
    let z0_ohm = if root.re < 0.0 { -root } else { root };
    let one_way = one_way(chain, z0_ohm);
    let line = Line { z0_ohm, one_way };
    (z0_ohm.is_finite() && one_way.is_finite() && z0_ohm.re > 0.0 && one_way.norm() > 0.0)
        .then_some(line)
}

/// e^(−γl) = cosh γl − sinh γl of a line of this impedance.
fn one_way(chain: Chain, z0_ohm: Complex64) -> Complex64 {
    0.5 * (chain.a + chain.d) - 0.5 * (chain.b_ohm / z0_ohm + chain.c_s * z0_ohm)
}

/// Impedance, loss and delay from the first through sweep whose phase can be followed.
///
/// # Errors
/// [`Unserved`] if there is none or no point is usable.
pub fn from_bench(bench: &Bench) -> Result<Report, Unserved> {
    let mut first_lost = None;
    for (through, label) in &bench.throughs {
        match from_through(bench, through, label) {
            Ok(report) => return Ok(report),
            Err(lost) => first_lost = first_lost.or(Some(lost)),
        }
    }
    Err(first_lost.unwrap_or_else(|| Unserved::new(METHOD, "no sweep from port to port")))
}

fn from_through(bench: &Bench, through: &ThroughSweep, label: &str) -> Result<Report, Unserved> {
    let length_m = bench.length_m.map(|l| l.value);
    // The transmission's own phase shows whether the points lie close enough together.
    let delay_s = delay_of(through.freq_hz(), through.s21(), length_m)
        .map_err(|lost| lost_in(METHOD, &lost, label))?;
    let points = solved_points(bench, through, delay_s);
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        let reason = format!("{label}: every point is a multiple of half a wave or too weak");
        return Err(Unserved::new(METHOD, reason));
    };
    let at_hz = STATED_HZ.clamp(first.freq_hz, last.freq_hz);
    let loss = LossCurve::fit(&points.iter().map(loss_point).collect::<Vec<_>>());
    let mut report = Report::new(METHOD);
    report.at_hz = Some(at_hz);
    // weighted, with skin effect referred to one frequency: a plain mean would favour the high end, where most points
    // lie
    let z0 = mean_impedance(&points, loss.as_ref(), at_hz, delay_s);
    report.impedance_ohm = z0.map(|z| propagate([z, scale(bench)], |[z, unit]| z * unit));
    write_example(&mut report, through, &points, at_hz, z0);
    for freq_hz in [10e6, at_hz, last.freq_hz] {
        let new = report.loss_db.iter().all(|l| l.0 != Some(freq_hz));
        if let Some(curve) = loss.as_ref().filter(|_| new && freq_hz >= first.freq_hz) {
            report
                .loss_db
                .push((Some(freq_hz), curve.at(freq_hz).scaled(DB_PER_NEPER)));
        }
    }
    set_delay(bench, &mut report, &points, delay_s, at_hz);
    if through.reverse().is_none() {
        report.remarks.push(
            "one direction only: the cable is taken as the same from both ends, and port 2 as uncorrected; pads at port 2 would narrow the interval"
                .to_owned(),
        );
    }
    report.finished()
}

#[derive(Clone, Copy, Debug)]
struct Solved {
    freq_hz: f64,
    s: Scattering,
    line: Line,
    /// Relative uncertainty of the impedance: shared by neighbours, by plugs (signed), own.
    u_rel: [f64; 3],
    /// Uncertainty of e^(−γl): shared by neighbours, own.
    u_one_way: [f64; 2],
}

fn solved_points(bench: &Bench, through: &ThroughSweep, delay_s: f64) -> Vec<Solved> {
    let all: Vec<_> = (0..through.freq_hz().len())
        .filter_map(|k| {
            let (s11, s21) = (through.s11()[k], through.s21()[k]);
            let (s12, s22) = through
                .reverse()
                .map_or((s21, s11), |r| (r.s12[k], r.s22[k]));
            let z_ref_ohm = [through.z_ref_ohm(); 2];
            let s = Scattering {
                s11,
                s12,
                s21,
                s22,
                z_ref_ohm,
            };
            Some((through.freq_hz()[k], s, solve(s)?))
        })
        .collect();
    let centre_ohm = middle_impedance(&all).unwrap_or(through.z_ref_ohm());
    all.into_iter()
        .filter_map(|(freq_hz, s, line)| {
            solved_point(bench, through, (freq_hz, s, line), (centre_ohm, delay_s))
        })
        .collect()
}

/// Median over the points away from half-wave multiples, ohm.
fn middle_impedance(points: &[(f64, Scattering, Line)]) -> Option<f64> {
    // near half-wave multiples e^(−2γl) is near 1 and Zc may be anything
    let away = |line: &Line| (1.0 - line.one_way * line.one_way).norm() > 1.0;
    let mut values: Vec<_> = points
        .iter()
        .filter(|(_, _, line)| away(line))
        .map(|(_, _, line)| line.z0_ohm.re)
        .collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

/// Near half-wave multiples a single point's Zc may be anything, and so would be weights taken
/// from it: e^(−γl) and the weights refer to the median impedance. dZ/Z = 2dS/(1 − e^(−2γl)) for
/// a reflection that is off by dS.
fn solved_point(
    bench: &Bench,
    through: &ThroughSweep,
    (freq_hz, s, line): (f64, Scattering, Line),
    (centre_ohm, delay_s): (f64, f64),
) -> Option<Solved> {
    let z0_ohm = line.z0_ohm;
    let one_way = one_way(s.chain().ok()?, Complex64::from(centre_ohm));
    let line = Line { z0_ohm, one_way };
    let square = one_way * one_way;
    // without the reverse direction port 2's own reflection comes back through the cable twice
    let port = match through.reverse() {
        Some(_) => CORRECTED_PORT_U,
        None => UNCORRECTED_PORT_U * square.norm(),
    };
    // S11 and S22 both shift: twice that of a single reflection
    let sensitivity = 2.0 / (1.0 - square).norm();
    let residual = bench.analyser.residual(freq_hz).hypot(port);
    let noise = bench.analyser.noise;
    let u_rel = [
        residual * sensitivity,
        plug_mix_u_rel(freq_hz, centre_ohm, line.principal_turn_rad()),
        noise * sensitivity,
    ];
    let step_hz = through.freq_hz()[1] - through.freq_hz()[0];
    let ripple = plug_ripple_u(freq_hz, centre_ohm, step_hz, 2.0 * delay_s);
    let size = one_way.norm();
    // sizes beyond 1 are noise on short pieces, and an impedance more reactive than real is none
    let useful = freq_hz > 0.0
        && u_rel[0].hypot(u_rel[1]) < WORST_U_REL
        && (1e-3..1.2).contains(&size)
        && z0_ohm.im.abs() < z0_ohm.re;
    useful.then_some(Solved {
        freq_hz,
        s,
        line,
        u_rel,
        u_one_way: [residual, noise.hypot(ripple)],
    })
}

fn loss_point(p: &Solved) -> LossPoint {
    LossPoint {
        freq_hz: p.freq_hz,
        loss_np: p.line.loss_np(),
        u_shared_np: p.u_one_way[0],
        u_own_np: p.u_one_way[1] / p.line.one_way.norm(),
    }
}

fn mean_impedance(
    points: &[Solved],
    loss: Option<&LossCurve>,
    at_hz: f64,
    one_way_delay_s: f64,
) -> Option<Uncertain> {
    let points: Vec<_> = points
        .iter()
        .map(|p| ImpedancePoint {
            freq_hz: p.freq_hz,
            z0_ohm: p.line.z0_ohm.re,
            u_shared: p.u_rel[0],
            u_plug: p.u_rel[1],
            u_own: p.u_rel[2],
        })
        .collect();
    let conductor = loss.map_or(0.0, |l| l.conductor);
    impedance_at(&points, at_hz, |f| {
        dispersion(conductor * f.sqrt(), f, one_way_delay_s)
    })
}

/// Phase delay at `at_hz` by a straight line through the turns within half an octave of it.
fn set_delay(bench: &Bench, report: &mut Report, points: &[Solved], delay_s: f64, at_hz: f64) {
    let freq_hz: Vec<_> = points.iter().map(|p| p.freq_hz).collect();
    let values: Vec<_> = points.iter().map(|p| p.line.one_way).collect();
    let turned = unwrap(&freq_hz, &values, delay_s);
    let start_rad = turned[0] + TAU * delay_s * freq_hz[0];
    // from half a turn on, the line back to 0 Hz may miss a whole one
    if delay_s * freq_hz[0] > 0.5 {
        report
            .remarks
            .push("the sweep starts too late to count whole turns: no delay".to_owned());
        return;
    }
    let whole = TAU * (start_rad / TAU).round();
    let near: Vec<_> = freq_hz
        .iter()
        .zip(&turned)
        .filter(|(f, _)| (0.7..=1.4).contains(&(*f / at_hz)))
        // one weight: transmission is as sure at every point of half an octave
        .map(|(f, t)| (f - at_hz, t - whole, 1.0))
        .collect();
    let Some(turn_rad) = line_through(&near)
        .map(|l| -l.0)
        .or(near.first().map(|n| -n.1))
    else {
        return;
    };
    let z0_ohm = report.impedance_ohm.map_or(50.0, |z| z.value);
    // noise averages out over the points, what the calibration left does not
    let u_rad = systematic_u(&bench.analyser, at_hz, z0_ohm);
    let omega = TAU * at_hz;
    report.working.push(format!(
        "phase of e^(−γl) at {}: {} rad; one-way delay = that / (2π f) = {}",
        hertz(at_hz),
        number(turn_rad),
        seconds(turn_rad / omega)
    ));
    let delay = Uncertain::new(turn_rad / omega, u_rad / omega);
    report.one_way_delay_s = Some(delay.widened(plug_delay_u_s(z0_ohm)));
    report.delay_at_hz = Some(at_hz);
    velocity::complete(report, Known::from(bench), None);
}

fn write_example(
    report: &mut Report,
    through: &ThroughSweep,
    points: &[Solved],
    at_hz: f64,
    z0: Option<Uncertain>,
) {
    let cost = |p: &Solved| p.u_rel[0] * (1.0 + (p.freq_hz / at_hz).ln().abs());
    let Some(best) = points.iter().min_by(|a, b| cost(a).total_cmp(&cost(b))) else {
        return;
    };
    let text = |z: Complex64| format!("{} {:+.5}j", number(z.re), z.im);
    report.working.push(format!(
        "for example at {}: S11 = {}, S21 = {}",
        hertz(best.freq_hz),
        text(best.s.s11),
        text(best.s.s21)
    ));
    report.working.push(format!(
        "{} × sqrt(((1 + S11)(1 + S22) − S12 S21)/((1 − S11)(1 − S22) − S12 S21)) = {} ohm",
        ohm(through.z_ref_ohm()),
        text(best.line.z0_ohm)
    ));
    report.working.push(format!(
        "weighted mean of {} points with skin effect referred to {}: {}",
        points.len(),
        hertz(at_hz),
        ohm(z0.map_or(f64::NAN, |z| z.value))
    ));
}
