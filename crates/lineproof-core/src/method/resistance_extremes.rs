//! Largest and smallest resistance with a resistor at the far end: Zc = √(Rmax·Rmin).
//!
//! Without loss the input swings between the resistor's value (half waves) and Zc² over it
//! (quarter waves), so the product is Zc² whatever the resistor. With loss the reflections are
//! −g e^(−2x) and +g e^(−2x'), and the product is Zc² times (1 − a)(1 + b)/((1 + a)(1 − b)), with
//! a at the quarter and b at the half wave: a correction of a few tenths of a per cent.
//! Source: standard practice; from the lossy input-impedance formula.

use std::f64::consts::FRAC_PI_2;

use crate::bench::{Bench, EndedSweep, FarEnd};
use crate::sweep::impedance_of_reflection;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{reflection_u, scale};
use super::loaded::{self, Quarter};
use super::loss;
use super::phase::{Reading, read_between};
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
    // 0.10 and 0.15 dB: a jumper's loss at its quarter and half wave; nobody read it off
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
    // without loss Zq·ZL = Zc², which is near enough to start from
    let z_rough_ohm =
        impedance_of_reflection(quarter.reading.reflection, loaded.sweep.z_ref_ohm()).norm();
    let rough_ohm = impedance_ohm(z_rough_ohm, bench.far_load.ohm.value);
    // Reading between points and the loss both refer to the impedance sought: two rounds.
    let extremes = Extremes::read(bench, loaded, &quarter, half_hz, rough_ohm)
        .and_then(|first| Extremes::read(bench, loaded, &quarter, half_hz, first.z0_ohm))
        .ok_or_else(|| {
            let reason = format!("no half wave below {}", hertz(loaded.sweep.stop_hz()));
            let stop = format!("a stop of {} would do", round_up_hertz(1.05 * half_hz));
            Unserved::new(METHOD, reason).would_do(stop)
        })?;
    extremes.report(bench, loaded, &quarter)
}

/// The loaded sweep at its quarter wave and the half wave after it.
struct Extremes {
    half_hz: f64,
    readings: [Reading; 2],
    /// Input impedances at quarter and half wave, ohm.
    z_ohm: [f64; 2],
    loss_factor: Uncertain,
    z0_ohm: f64,
}

impl Extremes {
    fn read(
        bench: &Bench,
        loaded: &EndedSweep,
        quarter: &Quarter,
        half_hz: f64,
        rough_ohm: f64,
    ) -> Option<Self> {
        let delay_s = quarter.round_trip_delay_s();
        let at_quarter = quarter.read(loaded, rough_ohm)?;
        let at_half = read_between(&loaded.sweep, half_hz, rough_ohm, delay_s)?;
        let readings = [at_quarter, at_half];
        let z_ref_ohm = loaded.sweep.z_ref_ohm();
        let z_ohm = readings.map(|r| impedance_of_reflection(r.reflection, z_ref_ohm).norm());
        // the half wave follows the quarter wave by a quarter wave
        let half_rad = quarter.line_rad() + FRAC_PI_2;
        let at_quarter = loss::measured(bench, quarter.freq_hz, quarter.line_rad(), rough_ohm).np;
        let at_half = loss::measured(bench, half_hz, half_rad, rough_ohm).np;
        // at the half wave the input is the load again, a little nearer to Zc
        let g = (z_ohm[1] - rough_ohm) / (z_ohm[1] + rough_ohm);
        let factor = loss_factor(g, at_quarter.value, at_half.value);
        Some(Self {
            half_hz,
            readings,
            z_ohm,
            // the two losses scale together, so most of what they are off by cancels; taken as independent, on the
            // safe side
            loss_factor: Uncertain::new(factor, g * at_half.u.hypot(at_quarter.u)),
            z0_ohm: impedance_ohm(z_ohm[0], z_ohm[1]) / factor,
        })
    }

    fn report(
        &self,
        bench: &Bench,
        loaded: &EndedSweep,
        quarter: &Quarter,
    ) -> Result<Report, Unserved> {
        let [zq, zh] = self.z_ohm;
        let mut report = Report::new(METHOD);
        report.at_hz = Some(quarter.freq_hz);
        report.impedance_ohm = Some(self.interval(bench, quarter));
        report.working.push(format!(
            "quarter wave at {}: {}; half wave at {}: {}",
            hertz(quarter.freq_hz),
            ohm(zq),
            hertz(self.half_hz),
            ohm(zh)
        ));
        write_product(&mut report, zq.max(zh), zq.min(zh));
        report.working.push(format!(
            "corrected for loss: {} / {} = {}",
            number(impedance_ohm(zq, zh)),
            number(self.loss_factor.value),
            ohm(self.z0_ohm)
        ));
        let names = [
            ("quarter wave", quarter.freq_hz),
            ("half wave", self.half_hz),
        ];
        for ((name, freq_hz), reading) in names.into_iter().zip(self.readings) {
            report.used.push(UsedPoint {
                name: name.to_owned(),
                sweep: loaded.label.clone(),
                freq_hz,
                reflection: reading.reflection,
            });
        }
        report.finished()
    }

    fn interval(&self, bench: &Bench, quarter: &Quarter) -> Uncertain {
        let relative = |reading: Reading, freq_hz: f64, bend: f64| {
            let g = reading.reflection;
            let u = reflection_u(&bench.analyser, freq_hz, self.z0_ohm, reading.noise_gain);
            // dZ/Z = 2dΓ/(1 − Γ²)
            2.0 * u.hypot(bend) / (1.0 - g * g).norm()
        };
        let [at_quarter, at_half] = self.readings;
        let [zq, zh] = self.z_ohm;
        let inputs = [
            Uncertain::new(zq, zq * relative(at_quarter, quarter.freq_hz, quarter.bend)),
            // at the half wave the input is the load again and stationary, so a misplaced point costs little
            Uncertain::new(zh, zh * relative(at_half, self.half_hz, 0.0)),
            scale(bench),
            self.loss_factor,
        ];
        propagate(inputs, |[a, b, unit, factor]| {
            impedance_ohm(a, b) * unit / factor
        })
    }
}

fn write_product(report: &mut Report, largest_ohm: f64, smallest_ohm: f64) {
    report.working.push(format!(
        "sqrt({} × {}) = {}",
        ohm(largest_ohm),
        ohm(smallest_ohm),
        ohm(impedance_ohm(largest_ohm, smallest_ohm))
    ));
}
