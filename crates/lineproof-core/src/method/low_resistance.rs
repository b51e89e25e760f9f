//! Loss from the low resistance R at a resonance: tanh x = R/Z0.
//!
//! loss = −10 log((Z0 − R)/(Z0 + R)), exact where the reactance is zero and Z0 is the cable's
//! own impedance; the shortcut 8.69 R/Z0 is 5 % low at 3.5 dB. Practice: TowerTalk list 1998,
//! "Lossy coax". The far end is open (odd quarter waves) or shorted (even ones).

use crate::bench::{Bench, FarEnd};
use crate::constants::DB_PER_NEPER;
use crate::sweep::impedance_of_reflection;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{open_or_short, reflection_u};
use super::text::{decibel, hertz, number, ohm, quarter_waves, round_up_hertz};
use super::{Method, Report, Unserved, UsedPoint, eighth_wave};

const METHOD: Method = Method::LowResistance;

/// Relative standard uncertainty of an impedance that nobody measured: 50, 60 and 75 ohm are all
/// about.
const UNKNOWN_Z0_U_REL: f64 = 0.2;

/// One-way loss, dB.
pub fn one_way_loss_db(resistance_ohm: f64, z0_ohm: f64) -> f64 {
    -10.0 * ((z0_ohm - resistance_ohm) / (z0_ohm + resistance_ohm)).log10()
}

/// Loss from a resistance read off a screen at a resonance.
///
/// # Errors
/// [`Unserved`] if the resistance is not between zero and the impedance.
pub fn from_readings(
    resistance_ohm: Uncertain,
    z0_ohm: Uncertain,
    freq_hz: Option<f64>,
) -> Result<Report, Unserved> {
    if !(resistance_ohm.value >= 0.0 && resistance_ohm.value < z0_ohm.value) {
        let reason = format!(
            "{} is not a low resistance for {}",
            ohm(resistance_ohm.value),
            ohm(z0_ohm.value)
        );
        return Err(Unserved::new(METHOD, reason));
    }
    let mut report = Report::new(METHOD);
    // the ratio alone counts, so a load of another value cancels if Zc was read with it
    let loss = propagate([resistance_ohm, z0_ohm], |[r, z]| one_way_loss_db(r, z));
    write_working(&mut report, resistance_ohm.value, z0_ohm.value);
    report.loss_db.push((freq_hz, loss));
    report.finished()
}

/// Loss from the first low-impedance crossing of the open or the short sweep.
///
/// # Errors
/// [`Unserved`] if there is no such sweep, its phase can't be followed, or it passes no crossing:
/// then which stop would do.
pub fn from_bench(bench: &Bench) -> Result<Report, Unserved> {
    let trace = open_or_short(bench, METHOD)?;
    let sweep = &trace.ended.sweep;
    // a short looks like a short again after a half wave, an open after a quarter
    let lowest = if trace.ended.far_end == FarEnd::Short {
        2
    } else {
        1
    };
    let Some((order, freq_hz)) = trace.lowest_quarter_waves(lowest, 2) else {
        // 5 % beyond leaves a point on the far side of the crossing
        let wanted_hz = 1.05 * f64::from(lowest) * trace.expected_quarter_wave_hz();
        let reason = format!(
            "no low-impedance resonance below {}",
            hertz(sweep.stop_hz())
        );
        return Err(Unserved::new(METHOD, reason).would_do(format!(
            "a stop of {} would do",
            round_up_hertz(wanted_hz.max(sweep.stop_hz()))
        )));
    };
    let reading = trace
        .read(freq_hz)
        .ok_or_else(|| Unserved::new(METHOD, "the crossing lies outside the sweep"))?;
    // the eighth wave of the same sweep gives Zc without knowing the loss
    let found = eighth_wave::from_bench(bench, trace.ended.far_end)
        .ok()
        .and_then(|r| r.impedance_ohm);
    let z0 = found
        .unwrap_or_else(|| Uncertain::new(trace.centre_ohm, UNKNOWN_Z0_U_REL * trace.centre_ohm));
    let resistance_ohm = impedance_of_reflection(reading.reflection, sweep.z_ref_ohm()).re;
    let u = reflection_u(&bench.analyser, freq_hz, z0.value, reading.noise_gain);
    // dZ/dΓ = 2·Zref/(1 − Γ)²
    let slope = 2.0 * sweep.z_ref_ohm() / (1.0 - reading.reflection).norm_sqr();
    // Linear beyond its ends so that a resistance below zero by error keeps its interval.
    let np = (resistance_ohm / z0.value).clamp(-0.9, 0.9).atanh();
    let u_np = (slope * u / z0.value).hypot(np * z0.relative()) / (1.0 - np.tanh().powi(2));
    let mut report = Report::new(METHOD);
    report
        .working
        .push(format!("{} at {}", quarter_waves(order), hertz(freq_hz)));
    write_working(&mut report, resistance_ohm, z0.value);
    report
        .loss_db
        .push((Some(freq_hz), Uncertain::new(np, u_np).scaled(DB_PER_NEPER)));
    report.used.push(UsedPoint {
        name: "low resistance".to_owned(),
        sweep: trace.ended.label.clone(),
        freq_hz,
        reflection: reading.reflection,
    });
    report.finished()
}

fn write_working(report: &mut Report, resistance_ohm: f64, z0_ohm: f64) {
    report.working.push(format!(
        "−10 log(({} − {})/({} + {})) = {}",
        number(z0_ohm),
        number(resistance_ohm),
        number(z0_ohm),
        number(resistance_ohm),
        decibel(one_way_loss_db(resistance_ohm, z0_ohm))
    ));
}
