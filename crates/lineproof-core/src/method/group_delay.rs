//! Group delay: the slope of phase against frequency, −dφ/dω; half of it for a reflection.
//!
//! Source: Pozar, *Microwave Engineering*, 4th ed., section 3.10; IEC 61196-1-108 for cables.
//! Connectors are included. A mean over the whole sweep; skin effect makes it fall slightly as
//! frequency rises. Refused if the phase turns by more than half a turn from point to point.

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::bench::{Bench, FarEnd};
use crate::uncertain::{Uncertain, propagate};

use super::budget::{FRINGING_F, lost_in, open_or_short, plug_delay_u_s, systematic_u};
use super::phase::{Trace, delay_of, line_through, unwrap};
use super::text::{hertz, number, seconds};
use super::velocity::{self, Known};
use super::{Method, Report, Unserved};

const METHOD: Method = Method::GroupDelay;

/// Reflection of an impedance that is unknown: between 33 and 75 ohm for a 50-ohm reference.
const UNKNOWN_MISMATCH: f64 = 0.2;

/// Group delay of a transmission, s, from a phase change over a frequency change.
pub fn transmission_delay_s(phase_change_rad: f64, freq_change_hz: f64) -> f64 {
    -phase_change_rad / (TAU * freq_change_hz)
}

/// One-way group delay of a line seen by reflection, s: half of what its phase shows.
pub fn reflection_delay_s(phase_change_rad: f64, freq_change_hz: f64) -> f64 {
    0.5 * transmission_delay_s(phase_change_rad, freq_change_hz)
}

/// One-way delay from a round trip that a pulse or a time-domain picture shows.
///
/// # Errors
/// [`Unserved`] if the delay is not above 0 s.
pub fn from_readings(round_trip_delay_s: Uncertain, known: Known) -> Result<Report, Unserved> {
    if round_trip_delay_s.value <= 0.0 {
        return Err(Unserved::new(
            Method::PulseDelay,
            "a delay must be above 0 s",
        ));
    }
    let delay = round_trip_delay_s.scaled(0.5);
    let mut report = Report::new(Method::PulseDelay);
    report.working.push(format!(
        "{} / 2 = {} one way",
        seconds(round_trip_delay_s.value),
        seconds(delay.value)
    ));
    report.one_way_delay_s = Some(delay);
    velocity::complete(&mut report, known, None);
    report.finished()
}

/// One-way group delay from the phase of the open or the short sweep.
///
/// # Errors
/// [`Unserved`] if there is no such sweep or its phase can't be followed.
pub fn from_reflection(bench: &Bench) -> Result<Report, Unserved> {
    let trace = open_or_short(bench, METHOD)?;
    let sweep = &trace.ended.sweep;
    let spiral = trace.spiral(trace.centre_ohm);
    let slope = slope_of(sweep.freq_hz(), trace.turned_rad(), &spiral)?;
    let mut report = Report::new(METHOD);
    let ripple_rad = if trace.centre_found {
        0.0
    } else {
        report.remarks.push(
            "less than half a turn: the cable's impedance bends the phase and is not known here"
                .to_owned(),
        );
        // a mismatch ρ bends the phase by up to 2ρ sin; what is left at the end of the sweep tilts the line
        UNKNOWN_MISMATCH * trace.turned_rad()[sweep.len() - 1].sin().abs()
    };
    let u_rad = phase_u(bench, &slope, trace.centre_ohm).hypot(ripple_rad);
    // slope between two ends, each off by u; half of it, since the reflection goes both ways
    let u_s = 0.5 * 2f64.sqrt() * u_rad / (TAU * slope.span_hz);
    let plain = Uncertain::new(-0.5 * slope.rad_per_hz / TAU, u_s);
    write_slope(&mut report, &slope, 2.0, plain.value);
    let delay = less_fringing(&mut report, &trace, plain);
    report.one_way_delay_s = Some(delay.widened(plug_delay_u_s(trace.centre_ohm)));
    report.delay_at_hz = Some(slope.mean_hz);
    report.remarks.push(INCLUDED.to_owned());
    velocity::complete(&mut report, Known::from(bench), None);
    report.finished()
}

/// Group delay from the transmission of the first through sweep.
///
/// # Errors
/// [`Unserved`] if there is none or its phase can't be followed.
pub fn from_through(bench: &Bench) -> Result<Report, Unserved> {
    let (through, label) = bench
        .throughs
        .first()
        .ok_or_else(|| Unserved::new(METHOD, "no sweep from port to port"))?;
    let (freq_hz, s21) = (through.freq_hz(), through.s21());
    let delay_s = delay_of(freq_hz, s21, bench.length_m.map(|l| l.value))
        .map_err(|lost| lost_in(METHOD, &lost, label))?;
    let slope = slope_of(freq_hz, &unwrap(freq_hz, s21, delay_s), s21)?;
    // Twice reflected waves bend the phase by up to |S11|² / |S21|².
    let ripple_rad = 0.3
        * through
            .s11()
            .iter()
            .map(Complex64::norm_sqr)
            .fold(0.0, f64::max);
    let u_rad = phase_u(bench, &slope, through.z_ref_ohm()).hypot(ripple_rad.min(0.5));
    let mut report = Report::new(METHOD);
    let u_s = 2f64.sqrt() * u_rad / (TAU * slope.span_hz);
    let delay = Uncertain::new(-slope.rad_per_hz / TAU, u_s);
    write_slope(&mut report, &slope, 1.0, delay.value);
    report.one_way_delay_s = Some(delay.widened(plug_delay_u_s(through.z_ref_ohm())));
    report.delay_at_hz = Some(slope.mean_hz);
    report.remarks.push(INCLUDED.to_owned());
    velocity::complete(&mut report, Known::from(bench), None);
    report.finished()
}

const INCLUDED: &str = "connectors and adapters up to the calibration plane are included";

/// Weighted straight line through the phase.
struct Slope {
    rad_per_hz: f64,
    mean_hz: f64,
    span_hz: f64,
    count: usize,
    /// Magnitude of the weakest point in use.
    weakest: f64,
}

fn slope_of(freq_hz: &[f64], phase_rad: &[f64], values: &[Complex64]) -> Result<Slope, Unserved> {
    // The phase of a reflection of size m is known to u/m.
    let points: Vec<_> = (0..freq_hz.len())
        .map(|k| (freq_hz[k], phase_rad[k], values[k].norm_sqr()))
        .collect();
    let total: f64 = points.iter().map(|p| p.2).sum();
    let mean_hz = points.iter().map(|p| p.0 * p.2).sum::<f64>() / total;
    let spread: f64 = points.iter().map(|p| p.2 * (p.0 - mean_hz).powi(2)).sum();
    let Some((_, rad_per_hz)) = line_through(&points) else {
        return Err(Unserved::new(METHOD, "the points have no phase slope"));
    };
    Ok(Slope {
        rad_per_hz,
        mean_hz,
        // A straight line over a span B has a standard deviation of frequency B/√12.
        span_hz: (12.0 * spread / total).sqrt(),
        count: points.len(),
        weakest: (total / points.len() as f64).sqrt(),
    })
}

fn phase_u(bench: &Bench, slope: &Slope, z0_ohm: f64) -> f64 {
    let stop_hz = slope.mean_hz + 0.5 * slope.span_hz;
    // at the stop, where it is largest
    let shared = systematic_u(&bench.analyser, stop_hz, z0_ohm);
    // standard deviation of a regression slope over a span B of n points: u√(12/n)/B
    let own = bench.analyser.noise * (12.0 / slope.count as f64).sqrt();
    shared.hypot(own) / slope.weakest
}

fn write_slope(report: &mut Report, slope: &Slope, ways: f64, delay_s: f64) {
    let degrees = (slope.rad_per_hz * slope.span_hz).to_degrees();
    report.working.push(format!(
        "phase slope {} degrees over {}: −({})/(360 × {} × {}) = {}",
        number(degrees),
        hertz(slope.span_hz),
        number(degrees),
        ways,
        hertz(slope.span_hz),
        seconds(delay_s)
    ));
}

fn less_fringing(report: &mut Report, trace: &Trace, delay: Uncertain) -> Uncertain {
    if trace.ended.far_end != FarEnd::Open {
        return delay;
    }
    // a capacitance C at the end of a line delays like a piece of it: one way by C·Z0
    let fringing = FRINGING_F.scaled(trace.centre_ohm);
    let rest = propagate([delay, fringing], |[t, c]| t - c);
    report.working.push(format!(
        "less fringing of 40 fF × {} ohm = {}: {}",
        number(trace.centre_ohm),
        seconds(fringing.value),
        seconds(rest.value)
    ));
    rest
}
