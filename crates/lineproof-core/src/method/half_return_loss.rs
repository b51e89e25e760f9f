//! Half return loss: with everything reflected at the far end the wave goes through the loss twice.
//!
//! Exact if the reference is the cable's own impedance. Otherwise the open and short readings are
//! off by up to ±8.686·2ρ·sinh 2x dB with a ripple of one half wave, and their mean by less. Where
//! an open and a short sweep, or an eighth wave, give the impedance, the reflections are referred
//! to it and no bias is left; otherwise the interval covers it.
//! Source: addition rule of return loss; bias as in O. Duffy, "Woolly thinking on matched line
//! loss", <https://owenduffy.net/blog/?p=17613>.

use crate::bench::{Bench, FarEnd};
use crate::constants::DB_PER_NEPER;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{plug_u, trace};
use super::phase::{Trace, refer_gain};
use super::regression::{LossCurve, LossPoint};
use super::text::{decibel, hertz, number, ohm, plain, significant};
use super::{Method, Report, Unserved, eighth_wave, open_short};

const METHOD: Method = Method::HalfReturnLoss;

/// Frequency that results are stated at if the sweep covers it, Hz; catalogues do the same.
const STATED_HZ: f64 = 100e6;

/// Reflection of an impedance that is unknown: between 33 and 75 ohm for a 50-ohm reference.
const UNKNOWN_MISMATCH: f64 = 0.2;

/// How far a cable may be from the reference that its reflection was read against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mismatch {
    /// Largest reflection of the cable's impedance against the reference.
    reflection: f64,
    /// The impedance and the reference, ohm, where the impedance is known.
    known_ohm: Option<(Uncertain, f64)>,
}

impl Mismatch {
    /// Of a cable that nobody knows the impedance of: as far as 75 ohm from 50.
    pub const UNKNOWN: Self = Self {
        reflection: UNKNOWN_MISMATCH,
        known_ohm: None,
    };

    /// Of a cable of `z0_ohm` against `reference_ohm`: the far end of its 95 % interval.
    pub fn of(z0_ohm: Uncertain, reference_ohm: f64) -> Self {
        let reflection = |z: f64| ((z - reference_ohm) / (z + reference_ohm)).abs();
        let [low, high] = [-1.0, 1.0].map(|side| z0_ohm.value + side * z0_ohm.u95());
        Self {
            reflection: reflection(low).max(reflection(high)),
            known_ohm: Some((z0_ohm, reference_ohm)),
        }
    }

    /// Bias of a loss of `loss_db` that this may make, dB.
    pub(super) fn bias_db(self, loss_db: f64) -> f64 {
        bias_db(loss_db.max(0.0) / DB_PER_NEPER, self.reflection)
    }

    /// What the reader should know of it.
    pub(super) fn remark(self, bias_db: f64) -> String {
        let bias = decibel(bias_db);
        match self.known_ohm {
            None => format!(
                "biased by up to {bias} if the cable is as far from the reference as 75 ohm from 50; the interval covers it"
            ),
            Some((z0_ohm, reference_ohm)) => format!(
                "biased by up to {bias} for a cable of {} ± {} ohm read against {}; the interval covers it",
                plain(z0_ohm.value, 3),
                plain(z0_ohm.u95(), 2),
                ohm(reference_ohm)
            ),
        }
    }
}

/// One-way loss, dB, from return losses with the far end open and shorted; one of them may be
/// absent.
pub fn one_way_loss_db(open_db: Option<f64>, short_db: Option<f64>) -> Option<f64> {
    match (open_db, short_db) {
        (Some(open), Some(short)) => Some(0.25 * (open + short)),
        (Some(one), None) | (None, Some(one)) => Some(0.5 * one),
        (None, None) => None,
    }
}

/// Return loss at the near end of a cable, dB, whose far end has `far_end_db`.
pub fn return_loss_through_db(far_end_db: f64, one_way_loss_db: f64) -> f64 {
    far_end_db + 2.0 * one_way_loss_db
}

/// Largest bias of half the return loss of one end, dB, where the reference is not the cable's
/// impedance: |Γ| lies between (e − ρ)/(1 − ρe) and (e + ρ)/(1 + ρe) with e = e^(−2x).
pub fn bias_db(one_way_loss_np: f64, mismatch: f64) -> f64 {
    let e = (-2.0 * one_way_loss_np).exp();
    let rho = mismatch.abs();
    let (low, high) = (
        ((e - rho) / (1.0 - rho * e)).abs(),
        (e + rho) / (1.0 + rho * e),
    );
    // half: the return loss holds the one-way loss twice
    let bias = |size: f64| 0.5 * DB_PER_NEPER * (size / e).ln().abs();
    // a reflection that may vanish has no bound in dB; a millionth stands for it
    bias(low.max(1e-6)).max(bias(high))
}

/// Loss from return losses read off a screen, dB.
///
/// # Errors
/// [`Unserved`] if neither end was read.
pub fn from_readings(
    open_db: Option<Uncertain>,
    short_db: Option<Uncertain>,
    freq_hz: Option<f64>,
    mismatch: Mismatch,
) -> Result<Report, Unserved> {
    let read: Vec<_> = open_db.iter().chain(&short_db).copied().collect();
    let loss_db = one_way_loss_db(open_db.map(|q| q.value), short_db.map(|q| q.value))
        .ok_or_else(|| Unserved::new(METHOD, "no return loss was read"))?;
    // half for the way back, and the mean of as many ends as were read
    let share = 0.5 / read.len() as f64;
    let u = read
        .iter()
        .map(|q| (share * q.u).powi(2))
        .sum::<f64>()
        .sqrt();
    let bias = mismatch.bias_db(loss_db);
    // With both ends the first-order parts of the bias cancel.
    let left = if read.len() == 2 {
        // what is left is of second order, smaller by about ρ: 0.3 covers 93 ohm read against 50
        0.3 * bias
    } else {
        bias / 3f64.sqrt()
    };
    let mut report = Report::new(METHOD);
    let list: Vec<_> = read.iter().map(|q| number(q.value)).collect();
    report.working.push(format!(
        "({}) / {} = {}",
        list.join(" + "),
        2 * read.len(),
        decibel(loss_db)
    ));
    report
        .loss_db
        .push((freq_hz, Uncertain::new(loss_db, u.hypot(left))));
    report.remarks.push(mismatch.remark(bias));
    report.finished()
}

/// Loss from the open and short sweeps, the mean of both if both are there.
///
/// # Errors
/// [`Unserved`] if there is no such sweep or its phase can't be followed.
pub fn from_bench(bench: &Bench) -> Result<Report, Unserved> {
    let ends = [FarEnd::Open, FarEnd::Short].map(|end| trace(bench, end, METHOD));
    let traces: Vec<_> = ends.iter().flatten().collect();
    let Some(&first) = traces.first() else {
        let [open, short] = ends;
        let chosen = if bench.first(FarEnd::Open).is_some() {
            open
        } else {
            short
        };
        return Err(chosen.err().unwrap_or_else(|| {
            Unserved::new(METHOD, "no sweep with the far end open or shorted")
        }));
    };
    // referred to the cable itself a return loss has no bias
    let own = impedance_of_cable(bench);
    let z0_ohm = own.map_or(first.centre_ohm, |z| z.value);
    let points: Vec<_> = traces
        .iter()
        .flat_map(|t| loss_points(bench, t, z0_ohm))
        .collect();
    let curve = LossCurve::fit(&points)
        .ok_or_else(|| Unserved::new(METHOD, "no point above 0 Hz reflects enough"))?;
    let stop_hz = first.ended.sweep.stop_hz();
    let at_hz = STATED_HZ.clamp(first.ended.sweep.start_hz(), stop_hz);
    let mut report = Report::new(METHOD);
    let mut frequencies = vec![at_hz, stop_hz];
    frequencies.dedup();
    for freq_hz in frequencies.into_iter().filter(|&f| f > 0.0) {
        let loss = curve.at(freq_hz);
        // what the impedance may still be off by comes back as bias
        let left = bias_db(loss.value, leftover_mismatch(own, z0_ohm, first));
        report
            .loss_db
            .push((Some(freq_hz), loss.scaled(DB_PER_NEPER).widened(0.5 * left)));
    }
    write_working(&mut report, &traces, at_hz, z0_ohm, curve.at(at_hz).value);
    report.finished()
}

/// The cable's impedance by the methods that do not need the loss.
fn impedance_of_cable(bench: &Bench) -> Option<Uncertain> {
    let found = open_short::from_bench(bench)
        .or_else(|_| eighth_wave::from_bench(bench, FarEnd::Open))
        .or_else(|_| eighth_wave::from_bench(bench, FarEnd::Short));
    found.ok()?.impedance_ohm
}

/// Mismatch that may be left between the impedance used and the cable's.
fn leftover_mismatch(own: Option<Uncertain>, z0_ohm: f64, trace: &Trace) -> f64 {
    match own {
        Some(z0) => 0.5 * z0.u / z0_ohm,
        // the centre that a sweep shows is good to about 2 % of the impedance, a reflection of 0.01
        None if trace.centre_found => 0.01,
        None => UNKNOWN_MISMATCH,
    }
}

fn loss_points(bench: &Bench, trace: &Trace, z0_ohm: f64) -> Vec<LossPoint> {
    let sweep = &trace.ended.sweep;
    let spiral = trace.spiral(z0_ohm);
    (0..sweep.len())
        // 17 dB one way: below that the reflection is mostly what the calibration left
        .filter(|&k| sweep.freq_hz()[k] > 0.0 && spiral[k].norm() > 0.02)
        .map(|k| {
            let freq_hz = sweep.freq_hz()[k];
            // a residual against 50 ohm grows when it is seen against another impedance
            let gain = refer_gain(sweep.reflection()[k], sweep.z_ref_ohm(), z0_ohm);
            let share = 0.5 * gain / spiral[k].norm();
            // A lossless plug can't change a total reflection; the less is total, the more it can.
            let absorbed = (1.0 - spiral[k].norm_sqr()).clamp(0.0, 1.0);
            let plug = absorbed * plug_u(freq_hz, z0_ohm);
            LossPoint {
                freq_hz,
                loss_np: -0.5 * spiral[k].norm().ln(),
                u_shared_np: share * bench.analyser.residual(freq_hz).hypot(plug),
                u_own_np: share * bench.analyser.noise,
            }
        })
        .collect()
}

fn write_working(report: &mut Report, traces: &[&Trace], at_hz: f64, z0_ohm: f64, loss_np: f64) {
    let z_ref_ohm = traces[0].ended.sweep.z_ref_ohm();
    let plain: Vec<_> = traces
        .iter()
        .filter_map(|t| Some(-20.0 * t.read(at_hz)?.reflection.norm().log10()))
        .collect();
    let list: Vec<_> = plain.iter().map(|q| number(*q)).collect();
    let mean = plain.iter().sum::<f64>() / (2 * plain.len().max(1)) as f64;
    report.working.push(format!(
        "return loss at {} against {}: ({}) / {} = {}",
        hertz(at_hz),
        ohm(z_ref_ohm),
        list.join(" + "),
        2 * plain.len(),
        decibel(mean)
    ));
    report.working.push(format!(
        "against {} and smoothed over the sweep: {}",
        ohm(z0_ohm),
        decibel(loss_np * DB_PER_NEPER)
    ));
    let mismatch = (z0_ohm - z_ref_ohm) / (z0_ohm + z_ref_ohm);
    let bias = propagate([Uncertain::exact(loss_np)], |[x]| bias_db(x, mismatch)).value;
    report.remarks.push(format!(
        "read plainly, one end is off by up to {} here because the cable is {} ohm, not {}; corrected",
        decibel(bias),
        significant(z0_ohm, 3),
        significant(z_ref_ohm, 3)
    ));
}
