//! Largest and smallest resistance with a resistor at the far end: Zc = √(Rmax·Rmin).
//!
//! Without loss the input swings between the resistor's value (half waves) and Zc² over it
//! (quarter waves), so the product is Zc² whatever the resistor. With loss the reflections are
//! −g e^(−2x) and +g e^(−2x'), and the product is Zc² times (1 − a)(1 + b)/((1 + a)(1 − b)), with
//! a at the quarter and b at the half wave: a correction of a few tenths of a per cent.
//! Source: standard practice; from the lossy input-impedance formula.

use crate::bench::{Bench, FarEnd};
use crate::sweep::impedance_of_reflection;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{reflection_u, scale};
use super::loaded::{self, Quarter};
use super::loss;
use super::phase::read_between;
use super::text::{hertz, number, ohm, round_up_hertz};
use super::{Method, Report, Unserved, UsedPoint};

const METHOD: Method = Method::ResistanceExtremes;

/// Characteristic impedance without loss, ohm.
pub fn impedance_ohm(resistance_max_ohm: f64, resistance_min_ohm: f64) -> f64 {
    (resistance_max_ohm * resistance_min_ohm).sqrt()
}

/// What to divide √(Zq·Zh) by, for a far-end reflection `g` against the cable's impedance and
/// losses, Np, at the quarter wave and the half wave.
pub fn loss_factor(g: f64, quarter_loss_np: f64, half_loss_np: f64) -> f64 {
    let a = g * (-2.0 * quarter_loss_np).exp();
    let b = g * (-2.0 * half_loss_np).exp();
    ((1.0 - a) * (1.0 + b) / ((1.0 + a) * (1.0 - b))).sqrt()
}

/// Impedance from the extremes read off a screen.
///
/// # Errors
/// [`Unserved`] if a resistance is not positive.
pub fn from_readings(
    resistance_max_ohm: Uncertain,
    resistance_min_ohm: Uncertain,
    freq_hz: Option<f64>,
) -> Result<Report, Unserved> {
    if !(resistance_max_ohm.value > 0.0 && resistance_min_ohm.value > 0.0) {
        return Err(Unserved::new(METHOD, "a resistance must be above 0 ohm"));
    }
    let z0 = propagate([resistance_max_ohm, resistance_min_ohm], |[a, b]| {
        impedance_ohm(a, b)
    });
    let mut report = Report::new(METHOD);
    report.at_hz = freq_hz;
    // Loss shrinks the swing; the product moves by the difference of the two shrinkages.
    let swing = (resistance_max_ohm.value / resistance_min_ohm.value).sqrt();
    let g = (swing - 1.0) / (swing + 1.0);
    let bias = loss_factor(g, 0.012, 0.017) - 1.0;
    report.impedance_ohm = Some(z0.widened(z0.value * bias));
    write_product(
        &mut report,
        resistance_max_ohm.value,
        resistance_min_ohm.value,
    );
    report.finished()
}

/// Impedance from the loaded sweep's quarter wave and the half wave after it.
///
/// # Errors
/// [`Unserved`] if there is no such sweep or it does not reach a half wave: then which stop would
/// do.
pub fn from_bench(bench: &Bench) -> Result<Report, Unserved> {
    let loaded = bench
        .first(FarEnd::Load)
        .ok_or_else(|| Unserved::new(METHOD, "no sweep with a load at the far end"))?;
    let quarter = loaded::quarter_wave(bench, loaded, METHOD)?;
    let half_hz = loaded::half_wave_hz(bench, loaded, &quarter);
    let delay_s = quarter.round_trip_delay_s();
    let half_rad = quarter.line_rad() + std::f64::consts::FRAC_PI_2;
    let z_ref_ohm = loaded.sweep.z_ref_ohm();
    let wanted = || {
        let reason = format!("no half wave below {}", hertz(loaded.sweep.stop_hz()));
        let stop = format!("a stop of {} would do", round_up_hertz(1.05 * half_hz));
        Unserved::new(METHOD, reason).would_do(stop)
    };
    let rough = |q: &Quarter| impedance_of_reflection(q.reading.reflection, z_ref_ohm).norm();
    let mut z0_ohm = impedance_ohm(rough(&quarter), bench.far_load.ohm.value);
    let mut found = None;
    for _ in 0..2 {
        let at_quarter = read_between(&loaded.sweep, quarter.freq_hz, z0_ohm, delay_s);
        let at_half = read_between(&loaded.sweep, half_hz, z0_ohm, delay_s);
        let (Some(q), Some(h)) = (at_quarter, at_half) else {
            return Err(wanted());
        };
        let z = |g| impedance_of_reflection(g, z_ref_ohm).norm();
        let (zq, zh) = (z(q.reflection), z(h.reflection));
        let lq = loss::measured(bench, quarter.freq_hz, quarter.line_rad(), z0_ohm).np;
        let lh = loss::measured(bench, half_hz, half_rad, z0_ohm).np;
        let g = (zh - z0_ohm) / (zh + z0_ohm);
        let factor = loss_factor(g, lq.value, lh.value);
        z0_ohm = impedance_ohm(zq, zh) / factor;
        found = Some((q, h, zq, zh, factor, g * (lh.u.hypot(lq.u))));
    }
    let Some((q, h, zq, zh, factor, u_loss)) = found else {
        return Err(wanted());
    };
    let error_q = reflection_u(&bench.analyser, quarter.freq_hz, z0_ohm, q.noise_gain);
    let u_q = 2.0 * error_q.hypot(quarter.bend) / (1.0 - q.reflection * q.reflection).norm();
    let u_h = 2.0 * reflection_u(&bench.analyser, half_hz, z0_ohm, h.noise_gain)
        / (1.0 - h.reflection * h.reflection).norm();
    let inputs = [
        Uncertain::new(zq, zq * u_q),
        Uncertain::new(zh, zh * u_h),
        scale(bench),
        Uncertain::new(factor, u_loss),
    ];
    let mut report = Report::new(METHOD);
    report.at_hz = Some(quarter.freq_hz);
    report.impedance_ohm = Some(propagate(inputs, |[a, b, unit, k]| {
        impedance_ohm(a, b) * unit / k
    }));
    report.working.push(format!(
        "quarter wave at {}: {}; half wave at {}: {}",
        hertz(quarter.freq_hz),
        ohm(zq),
        hertz(half_hz),
        ohm(zh)
    ));
    write_product(&mut report, zq.max(zh), zq.min(zh));
    report.working.push(format!(
        "corrected for loss: {} / {} = {}",
        number(impedance_ohm(zq, zh)),
        number(factor),
        ohm(z0_ohm)
    ));
    for (name, freq_hz, reading) in [
        ("quarter wave", quarter.freq_hz, q),
        ("half wave", half_hz, h),
    ] {
        report.used.push(UsedPoint {
            name: name.to_owned(),
            sweep: loaded.label.clone(),
            freq_hz,
            reflection: reading.reflection,
        });
    }
    report.finished()
}

fn write_product(report: &mut Report, largest_ohm: f64, smallest_ohm: f64) {
    report.working.push(format!(
        "sqrt({} × {}) = {}",
        ohm(largest_ohm),
        ohm(smallest_ohm),
        ohm(impedance_ohm(largest_ohm, smallest_ohm))
    ));
}
