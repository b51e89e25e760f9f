//! Low-frequency inductance (far end shorted) and capacitance (open): Zc = √(L/C), τ = √(LC).
//!
//! Source: L' and C' of the lossless line, Pozar, *Microwave Engineering*, 4th ed., section 2.1.
//! A piece that is not short against a quarter wave reads both too large by tan y/y; their ratio
//! does not change, and τ = atan(ω√(LC))/ω undoes it. At audio frequencies the inductance holds
//! the field inside the conductors too and reads a few per cent above the one that counts at
//! radio frequency.

use std::f64::consts::TAU;

use crate::bench::{Bench, FarEnd};
use crate::sweep::impedance_of_reflection;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{plug_delay_u_s, plug_mix_u_rel, scale, trace};
use super::phase::{Reading, Trace, refer};
use super::text::{hertz, number, ohm, seconds, significant};
use super::velocity::{self, Known};
use super::{Method, Report, Unserved, UsedPoint};

const METHOD: Method = Method::InductanceCapacitance;

/// Round-trip turn of the spiral at the frequency used, rad: 25 degrees of line.
const TURN_USED_RAD: f64 = -2.0 * 25.0 * std::f64::consts::PI / 180.0;

/// Characteristic impedance √(L/C), ohm.
pub fn impedance_ohm(inductance_h: f64, capacitance_f: f64) -> f64 {
    (inductance_h / capacitance_f).sqrt()
}

/// One-way delay, s, from the inductance and capacitance that a piece shows at `freq_hz`; zero
/// for readings at a frequency low enough.
pub fn one_way_delay_s(inductance_h: f64, capacitance_f: f64, freq_hz: f64) -> f64 {
    let plain = (inductance_h * capacitance_f).sqrt();
    let omega = TAU * freq_hz;
    if omega * plain < 1e-6 {
        plain
    } else {
        // X_L·B_C = tan²y, so y = atan ω√(LC): the piece is already a little longer than its LC says
        (omega * plain).atan() / omega
    }
}

/// Impedance and delay from an inductance and a capacitance that a meter shows.
///
/// # Errors
/// [`Unserved`] if one of them is not positive.
pub fn from_readings(
    inductance_h: Uncertain,
    capacitance_f: Uncertain,
    freq_hz: Option<f64>,
    known: Known,
) -> Result<Report, Unserved> {
    if !(inductance_h.value > 0.0 && capacitance_f.value > 0.0) {
        let reason = "inductance and capacitance must be above zero";
        return Err(Unserved::new(METHOD, reason));
    }
    let mut report = Report::new(METHOD);
    report.at_hz = freq_hz;
    fill(&mut report, inductance_h, capacitance_f, freq_hz);
    complete(&mut report, inductance_h, capacitance_f, known);
    report.remarks.push(
        "low-frequency inductance includes the field inside the conductors: a few per cent high below 1 MHz"
            .to_owned(),
    );
    report.finished()
}

/// Impedance and delay from the low-frequency ends of an open and a short sweep.
///
/// # Errors
/// [`Unserved`] if one is missing, its phase can't be followed, or both start where the piece is
/// no longer short.
pub fn from_bench(bench: &Bench) -> Result<Report, Unserved> {
    let open = trace(bench, FarEnd::Open, METHOD)?;
    let short = trace(bench, FarEnd::Short, METHOD)?;
    let freq_hz = low_frequency(&open)?;
    let (Some(at_open), Some(at_short)) = (open.read(freq_hz), short.read(freq_hz)) else {
        let reason = "open and short sweep share no low frequency";
        return Err(Unserved::new(METHOD, reason));
    };
    let omega = TAU * freq_hz;
    let x_open = reactance(&open, at_open);
    let x_short = reactance(&short, at_short);
    // beyond a quarter wave both change sign, and a leak or a series contact hides them
    if x_open >= 0.0 || x_short <= 0.0 {
        let reason = "the low end shows no capacitance when open or no inductance when shorted";
        return Err(Unserved::new(METHOD, reason));
    }
    let z0_ohm = (-x_open * x_short).sqrt();
    let capacitance = -1.0 / (omega * x_open);
    let inductance = x_short / omega;
    // each reactance by its own reading: near the real axis of the chart an error of Γ weighs heavily
    let u_open = reactance_u_rel(bench, &open, at_open, freq_hz, z0_ohm);
    let u_short = reactance_u_rel(bench, &short, at_short, freq_hz, z0_ohm);
    let mut report = Report::new(METHOD);
    report.at_hz = Some(freq_hz);
    report.working.push(format!(
        "at {}: X open {}, C = 1/(2π f X) = {} pF; X short {}, L = X/(2π f) = {} nH",
        hertz(freq_hz),
        ohm(x_open),
        number(capacitance * 1e12),
        ohm(x_short),
        number(inductance * 1e9)
    ));
    let inductance = Uncertain::new(inductance, inductance * u_short);
    let capacitance = Uncertain::new(capacitance, capacitance * u_open);
    fill(&mut report, inductance, capacitance, Some(freq_hz));
    let line_rad = 0.5 * TAU * freq_hz * open.round_trip_delay_s;
    let plugs = z0_ohm * plug_mix_u_rel(freq_hz, z0_ohm, line_rad);
    let in_ohm = |z| propagate([z, scale(bench)], |[z, unit]| z * unit).widened(plugs);
    report.impedance_ohm = report.impedance_ohm.map(in_ohm);
    // the plugs' own L and C are in both readings
    let with_plugs = |d: Uncertain| d.widened(plug_delay_u_s(z0_ohm));
    report.one_way_delay_s = report.one_way_delay_s.map(with_plugs);
    complete(&mut report, inductance, capacitance, Known::from(bench));
    for (trace, reading) in [(&open, at_open), (&short, at_short)] {
        report.used.push(UsedPoint {
            name: "low-frequency end".to_owned(),
            sweep: trace.ended.label.clone(),
            freq_hz,
            reflection: reading.reflection,
        });
    }
    report.finished()
}

/// The point nearest to 25 degrees of line; refused if the sweep starts far above.
fn low_frequency(open: &Trace) -> Result<f64, Unserved> {
    let sweep = &open.ended.sweep;
    // shorter, and L and C drown in what calibration left; longer, and tan y is steep
    let wanted_hz = open.turn_hz(TURN_USED_RAD).unwrap_or(sweep.stop_hz());
    let index = sweep.freq_hz().partition_point(|&f| f < wanted_hz);
    let freq_hz = sweep.freq_hz()[index.min(sweep.len() - 1)];
    let per_hz = TAU * open.round_trip_delay_s;
    if freq_hz > 0.0 && freq_hz * per_hz <= 1.2 * -TURN_USED_RAD {
        return Ok(freq_hz);
    }
    let reason = "the piece is not short against a quarter wave where the sweeps start";
    let start = format!("a start below {} would do", hertz(-TURN_USED_RAD / per_hz));
    Err(Unserved::new(METHOD, reason).would_do(start))
}

/// dZ/Z = 2dΓ/(1 − Γ²), Γ referred to the cable.
fn reactance_u_rel(
    bench: &Bench,
    trace: &Trace,
    reading: Reading,
    freq_hz: f64,
    z0_ohm: f64,
) -> f64 {
    // against the cable itself, so that the formula holds for any reference
    let own = refer(reading.reflection, trace.ended.sweep.z_ref_ohm(), z0_ohm);
    let u = bench.analyser.residual(freq_hz).hypot(bench.analyser.noise);
    2.0 * u / (1.0 - own * own).norm()
}

fn reactance(trace: &Trace, reading: Reading) -> f64 {
    impedance_of_reflection(reading.reflection, trace.ended.sweep.z_ref_ohm()).im
}

fn fill(report: &mut Report, inductance: Uncertain, capacitance: Uncertain, freq_hz: Option<f64>) {
    let inputs = [inductance, capacitance];
    let z0 = propagate(inputs, |[l, c]| impedance_ohm(l, c));
    let f = freq_hz.unwrap_or(0.0);
    let delay = propagate(inputs, |[l, c]| one_way_delay_s(l, c, f));
    report.impedance_ohm = Some(z0);
    report.one_way_delay_s = Some(delay);
    report.delay_at_hz = freq_hz;
    report.working.push(format!(
        "sqrt({} nH / {} pF) = {}",
        number(inductance.value * 1e9),
        number(capacitance.value * 1e12),
        ohm(z0.value)
    ));
    report.working.push(format!(
        "sqrt({} nH × {} pF) = {}{}",
        number(inductance.value * 1e9),
        number(capacitance.value * 1e12),
        seconds((inductance.value * capacitance.value).sqrt()),
        match freq_hz {
            Some(f) => format!("; undone tan y/y at {}: {}", hertz(f), seconds(delay.value)),
            None => String::new(),
        }
    ));
}

fn complete(report: &mut Report, inductance: Uncertain, capacitance: Uncertain, known: Known) {
    if let Some(length) = known.length_m {
        report.working.push(format!(
            "per metre {} nH and {} pF",
            significant(inductance.value * 1e9 / length.value, 4),
            significant(capacitance.value * 1e12 / length.value, 4)
        ));
    }
    velocity::complete(report, known, None);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_piece_is_undone() {
        // 50 ohm, 5 ns, read at 20 MHz: y = 36 degrees.
        let y = TAU * 20e6 * 5e-9;
        let (l, c) = (50.0 * y.tan() / (TAU * 20e6), y.tan() / (50.0 * TAU * 20e6));
        assert!((impedance_ohm(l, c) - 50.0).abs() < 1e-9);
        assert!((one_way_delay_s(l, c, 20e6) - 5e-9).abs() < 1e-18);
    }
}
