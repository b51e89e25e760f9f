//! Eighth wave with the far end open or shorted: |Zin| = Zc.
//!
//! At y = 45° an open line reads Zc (tanh 2x − j sech 2x), a short one with +j, so |Zin| = Zc
//! exactly for any loss x while |X| = Zc sech 2x falls short; it holds at every odd multiple of
//! 45°. Source: coth(x + jy) = (sinh 2x − j sin 2y)/(cosh 2x − cos 2y) in the input-impedance
//! formula; practice: O. Duffy, eighth-wave article, <https://owenduffy.net/blog/?p=20762>.
//!
//! The frequency is half that of the quarter-wave crossing, where X = 0 whatever the loss. Two
//! corrections: skin effect delays the line by x/ω, so at half the frequency it is a little longer
//! than half a quarter wave; the fringing of an open end adds ωCZc to the turn at both
//! frequencies alike and so cancels here, but not in the delay.
//!
//! Looking for the frequency where the phase is −90° against the result itself can't replace the
//! crossing: with Zc = |Zin| that holds at *any* frequency.

use std::f64::consts::{FRAC_PI_2, PI};

use num_complex::Complex64;

use crate::bench::{Bench, FarEnd};
use crate::sweep::impedance_of_reflection;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{FRINGING_F, plug_delay_u_s, plug_u, reflection_u, scale, trace};
use super::loss::{self, Loss};
use super::phase::{Reading, Trace, refer_gain};
use super::text::{hertz, number, ohm, quarter_waves, round_up_hertz, seconds};
use super::velocity::{self, Known};
use super::{Method, Report, Unserved, UsedPoint};

/// Part of the skin-effect correction that may be wrong: it holds for copper, not for steel.
const DISPERSION_U_REL: f64 = 0.3;

/// What the plugs do to |Z| in quadrature besides what their reflection does: √(1 − ¼).
const PLUGS_REST: f64 = 0.866;

/// Input impedance of a line an eighth wave long, ohm.
pub fn input_impedance_ohm(z0_ohm: f64, one_way_loss_np: f64, far_end: FarEnd) -> Complex64 {
    let double = 2.0 * one_way_loss_np;
    let sign = if far_end == FarEnd::Short { 1.0 } else { -1.0 };
    // coth and tanh of x + jπ/4: real part ± tanh 2x, imaginary part 1/cosh 2x, so |Z| = Zc at any loss
    z0_ohm * Complex64::new(double.tanh(), sign / double.cosh())
}

/// Characteristic impedance from the reactance alone, ohm: |X| cosh 2x.
pub fn impedance_of_reactance_ohm(reactance_ohm: f64, one_way_loss_np: f64) -> f64 {
    reactance_ohm.abs() * (2.0 * one_way_loss_np).cosh()
}

/// Electrical length that a capacitance at an open end adds, rad: atan(ωCZc).
pub fn fringing_angle_rad(freq_hz: f64, capacitance_f: f64, z0_ohm: f64) -> f64 {
    (2.0 * PI * freq_hz * capacitance_f * z0_ohm).atan()
}

/// Frequency of `odd` eighth waves, Hz, from that of `order` quarter waves where the loss is
/// `loss_np`: solves ωτ + x√(f/f_q) = odd·45° with ω_qτ + x = order·90°.
pub fn eighth_wave_hz(quarter_hz: f64, order: u32, odd: u32, loss_np: f64) -> f64 {
    let turn_q = FRAC_PI_2 * f64::from(order);
    let wanted = 0.5 * FRAC_PI_2 * f64::from(odd);
    // without loss the frequencies go as the angles
    let ratio = wanted / turn_q;
    // Two rounds of the root's slow dependence are exact to 1e-6 for losses below 3 dB.
    (0..3).fold(ratio, |r, _| {
        (wanted - loss_np * r.sqrt()) / (turn_q - loss_np)
    }) * quarter_hz
}

/// An eighth-wave reading off a screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Typed {
    /// Open or short.
    pub far_end: FarEnd,
    /// Reactance, ohm (either sign), or impedance magnitude if `is_magnitude`.
    pub reading_ohm: Uncertain,
    /// Whether the reading is |Z| rather than X.
    pub is_magnitude: bool,
    /// Frequency of the reading, Hz.
    pub eighth_wave_hz: Option<Uncertain>,
    /// Frequency of the quarter wave, Hz.
    pub quarter_wave_hz: Option<Uncertain>,
    /// One-way loss of the piece, dB.
    pub loss_db: Option<Uncertain>,
}

/// Characteristic impedance from an eighth-wave reading off a screen.
///
/// # Errors
/// [`Unserved`] if the reading is 0 ohm.
pub fn from_readings(typed: &Typed, known: Known) -> Result<Report, Unserved> {
    let method = method_of(typed.far_end);
    let reading = Uncertain::new(typed.reading_ohm.value.abs(), typed.reading_ohm.u);
    if reading.value <= 0.0 {
        return Err(Unserved::new(
            method,
            "a reading of 0 ohm is no eighth wave",
        ));
    }
    let mut report = Report::new(method);
    let quarter = typed
        .quarter_wave_hz
        .or(typed.eighth_wave_hz.map(|f| f.scaled(2.0)));
    let loss = typed.loss_db.map_or_else(
        || loss::typical(quarter.map_or(30e6, |f| 0.5 * f.value), 0.5 * FRAC_PI_2),
        loss::stated,
    );
    let off = off_eighth_wave(typed, reading.value);
    let z0 = if typed.is_magnitude {
        report
            .working
            .push(format!("|Z| = Zc = {}", ohm(reading.value)));
        reading
    } else {
        let z0 = propagate([reading, loss.np], |[x, l]| {
            impedance_of_reactance_ohm(x, l)
        });
        report.working.push(format!(
            "{} × cosh(2 × {} Np) = {}",
            ohm(reading.value),
            number(loss.np.value),
            ohm(z0.value)
        ));
        z0
    };
    report.impedance_ohm = Some(z0.widened(off));
    report.at_hz = typed
        .eighth_wave_hz
        .or(quarter.map(|f| f.scaled(0.5)))
        .map(|f| f.value);
    if let Some(f) = quarter {
        let fringing = if typed.far_end == FarEnd::Open {
            FRINGING_F.scaled(z0.value)
        } else {
            Uncertain::exact(0.0)
        };
        set_delay(&mut report, 1, f, fringing);
        velocity::complete(&mut report, known, Some(1));
    }
    report.finished()
}

/// Characteristic impedance from the sweep with this far end.
///
/// # Errors
/// [`Unserved`] if there is no such sweep, its phase can't be followed, or it has no quarter-wave
/// crossing: then which stop would do.
pub fn from_bench(bench: &Bench, far_end: FarEnd) -> Result<Report, Unserved> {
    let method = method_of(far_end);
    let trace = trace(bench, far_end, method)?;
    let sweep = &trace.ended.sweep;
    let (order, quarter_hz) = trace
        .lowest_quarter_waves(1, 2)
        .ok_or_else(|| no_crossing(method, &trace))?;
    let odd = (1..2 * order)
        .step_by(2)
        .find(|&odd| quarter_hz * f64::from(odd) / f64::from(2 * order) >= sweep.start_hz())
        .ok_or_else(|| starts_late(method, quarter_hz / f64::from(order)))?;
    let mut z0_ohm = trace.centre_ohm;
    let mut point = None;
    // the loss needs an impedance, which the reading gives: the second round no longer moves it
    for _ in 0..2 {
        let line_rad = FRAC_PI_2 * f64::from(order);
        let loss = loss::measured(bench, quarter_hz, line_rad, z0_ohm);
        let freq_hz = eighth_wave_hz(quarter_hz, order, odd, loss.np.value.max(0.0));
        let reading = trace
            .read(freq_hz)
            .ok_or_else(|| starts_late(method, quarter_hz / f64::from(order)))?;
        z0_ohm = impedance_of_reflection(reading.reflection, sweep.z_ref_ohm()).norm();
        point = Some(Eighth {
            quarter_hz,
            order,
            odd,
            freq_hz,
            reading,
            loss,
        });
    }
    let Some(point) = point.filter(|_| z0_ohm.is_finite() && z0_ohm > 0.0) else {
        return Err(Unserved::new(method, "the eighth wave reads no impedance"));
    };
    write_report(bench, &trace, &point, z0_ohm)
}

/// The reading that a sweep gives.
struct Eighth {
    quarter_hz: f64,
    order: u32,
    odd: u32,
    freq_hz: f64,
    reading: Reading,
    loss: Loss,
}

fn write_report(
    bench: &Bench,
    trace: &Trace,
    point: &Eighth,
    z0_ohm: f64,
) -> Result<Report, Unserved> {
    let mut report = Report::new(method_of(trace.ended.far_end));
    let z_in = impedance_of_reflection(point.reading.reflection, trace.ended.sweep.z_ref_ohm());
    report.at_hz = Some(point.freq_hz);
    report.impedance_ohm = Some(interval(bench, trace, point, z0_ohm));
    let halves = f64::from(point.odd) / f64::from(2 * point.order);
    report.working.push(format!(
        "{} at {}; times {} = {}; with the skin effect of a loss of {}: {}",
        quarter_waves(point.order),
        hertz(point.quarter_hz),
        number(halves),
        hertz(point.quarter_hz * halves),
        point.loss.text(),
        hertz(point.freq_hz)
    ));
    report.working.push(format!(
        "|Z| = sqrt({}² + {}²) = {}",
        number(z_in.re),
        number(z_in.im),
        ohm(z0_ohm)
    ));
    let u_turn = turn_u(bench, trace, point.quarter_hz, z0_ohm);
    let quarter = Uncertain::new(
        point.quarter_hz,
        point.quarter_hz * u_turn / (PI * f64::from(point.order)),
    );
    let fringing = match trace.ended.far_end {
        FarEnd::Open => FRINGING_F.scaled(z0_ohm),
        _ => Uncertain::exact(0.0),
    };
    set_delay(
        &mut report,
        point.order,
        quarter,
        fringing.widened(plug_delay_u_s(z0_ohm)),
    );
    velocity::complete(&mut report, Known::from(bench), Some(point.order));
    add_points(&mut report, trace, point);
    report.finished()
}

/// Perturbs the reading, the turn at the crossing, the unit and the skin-effect correction.
fn interval(bench: &Bench, trace: &Trace, point: &Eighth, z0_ohm: f64) -> Uncertain {
    let z_ref_ohm = trace.ended.sweep.z_ref_ohm();
    let gain = point.reading.noise_gain;
    let u = reflection_u(&bench.analyser, point.freq_hz, z0_ohm, gain);
    let g = point.reading.reflection;
    // |Z| = Zc |cot y|: at odd eighth waves dZ/Z = 2 dy.
    let ratio = f64::from(point.odd) / f64::from(2 * point.order);
    // a quarter wave misplaced by an angle misplaces the eighth wave in proportion; half, as the spiral turns both ways
    let u_turn = 0.5 * ratio * turn_u(bench, trace, point.quarter_hz, z0_ohm);
    let loss_u = point
        .loss
        .np
        .u
        .hypot(DISPERSION_U_REL * point.loss.np.value);
    // lag of skin effect at the eighth wave less that scaled down from the quarter wave
    let u_skin = loss_u * (ratio.sqrt() - ratio);
    let inputs = [
        scale(bench),
        Uncertain::new(0.0, u),
        Uncertain::new(0.0, u),
        Uncertain::new(0.0, u_turn.hypot(u_skin)),
    ];
    let result = propagate(inputs, |[unit, re, im, turn]| {
        let z = impedance_of_reflection(g + Complex64::new(re, im), z_ref_ohm).norm();
        z * unit * (1.0 + 2.0 * turn)
    });
    // a plug at either end looks longer at the quarter wave by (Zp/Z + Z/Zp)/2, at the eighth wave
    // the far one by Z/Zp: |Z| is off by ωt(Z/Zp − Zp/Z), of which `u` holds a quarter
    let plugs = PLUGS_REST * 2.0 * plug_u(point.freq_hz, z0_ohm);
    Uncertain::new(z0_ohm, result.u).widened(z0_ohm * plugs)
}

/// Uncertainty of the spiral's turn at the crossing, rad.
fn turn_u(bench: &Bench, trace: &Trace, freq_hz: f64, z0_ohm: f64) -> f64 {
    let Some(reading) = trace.read(freq_hz) else {
        return 0.0;
    };
    let z_ref_ohm = trace.ended.sweep.z_ref_ohm();
    let size = super::phase::refer(reading.reflection, z_ref_ohm, z0_ohm).norm();
    let u = reflection_u(&bench.analyser, freq_hz, z0_ohm, reading.noise_gain);
    u * refer_gain(reading.reflection, z_ref_ohm, z0_ohm) / size.max(0.05)
}

/// Delay of `order` quarter waves less that of the fringing, s·F gives C·Zc.
fn set_delay(report: &mut Report, order: u32, quarter: Uncertain, fringing_s: Uncertain) {
    let order_f = f64::from(order);
    let delay = propagate([quarter, fringing_s], |[f, c]| 0.25 * order_f / f - c);
    report.working.push(format!(
        "one-way delay = {order}/(4 × {}) − {} (fringing) = {}",
        hertz(quarter.value),
        seconds(fringing_s.value),
        seconds(delay.value)
    ));
    report.one_way_delay_s = Some(delay);
    report.delay_at_hz = Some(quarter.value);
}

fn add_points(report: &mut Report, trace: &Trace, point: &Eighth) {
    let mut add = |name: &str, freq_hz: f64| {
        if let Some(reading) = trace.read(freq_hz) {
            report.used.push(UsedPoint {
                name: name.to_owned(),
                sweep: trace.ended.label.clone(),
                freq_hz,
                reflection: reading.reflection,
            });
        }
    };
    add("eighth wave", point.freq_hz);
    add("quarter wave", point.quarter_hz);
}

/// Error of the impedance if the typed frequency is not half the quarter-wave frequency, ohm.
fn off_eighth_wave(typed: &Typed, reading_ohm: f64) -> f64 {
    match (typed.eighth_wave_hz, typed.quarter_wave_hz) {
        (Some(eighth), Some(quarter)) => {
            let y = FRAC_PI_2 * eighth.value / quarter.value;
            // X = Zc/tan y or Zc tan y: at another frequency than the eighth wave it is off by that
            reading_ohm * (y.tan() - 1.0).abs().min(1.0)
        }
        _ => 0.0,
    }
}

fn method_of(far_end: FarEnd) -> Method {
    match far_end {
        FarEnd::Short => Method::EighthWaveShort,
        _ => Method::EighthWaveOpen,
    }
}

fn no_crossing(method: Method, trace: &Trace) -> Unserved {
    let stop_hz = trace.ended.sweep.stop_hz();
    let wanted_hz = 1.05 * trace.expected_quarter_wave_hz();
    let reason = format!("no quarter-wave crossing below {}", hertz(stop_hz));
    Unserved::new(method, reason).would_do(format!(
        "a stop of {} would do",
        round_up_hertz(wanted_hz.max(stop_hz))
    ))
}

fn starts_late(method: Method, quarter_wave_hz: f64) -> Unserved {
    let start = format!("a start below {} would do", hertz(0.45 * quarter_wave_hz));
    Unserved::new(method, "the sweep starts above the eighth wave").would_do(start)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_eighth_wave_lies_below_half_the_quarter_wave_by_the_skin_effect() {
        assert_eq!(eighth_wave_hz(100e6, 1, 1, 0.0), 50e6);
        let f = eighth_wave_hz(100e6, 1, 1, 0.01);
        let turn = |f: f64| (FRAC_PI_2 - 0.01) * f / 100e6 + 0.01 * (f / 100e6).sqrt();
        assert!((turn(f) - 0.5 * FRAC_PI_2).abs() < 1e-8);
    }
}
