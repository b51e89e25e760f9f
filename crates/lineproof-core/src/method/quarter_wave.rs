//! Quarter wave with a known load: the line turns Z_L into Zc²/Z_L.
//!
//! With loss x (nepers one way) and t = tanh x the input at the quarter wave is
//! Zc (Z_L t + Zc)/(Zc t + Z_L), so
//! Zc = (t/2)(Zin − Z_L) + √(Zin Z_L + (t/2)²(Zin − Z_L)²).
//! Source: tanh(x + jπ/2) = coth x in the input-impedance formula of Pozar, *Microwave
//! Engineering*, 4th ed., section 2.7.
//!
//! The input resistance is stationary at the quarter wave, so its frequency need not be known
//! well; the open or short sweep's crossing serves if there is one, else the loaded curve's own.
//! Assumes a resistive load and real Zc. The bias by loss vanishes as Z_L nears Zc.

use crate::bench::{Bench, EndedSweep, FarEnd};
use crate::constants::DB_PER_NEPER;
use crate::sweep::impedance_of_reflection;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{far_load_ratio, far_load_shares_scale, open_or_short, reflection_u, scale};
use super::loss::{self, Loss};
use super::phase::{Reading, line_through, read_between};
use super::text::{hertz, number, ohm, round_up_hertz, seconds};
use super::velocity::{self, Known};
use super::{Method, Report, Unserved, UsedPoint};

const METHOD: Method = Method::QuarterWave;

/// Im Γ up to this part of the curve's size counts as near a crossing.
const NEAR_AXIS: f64 = 0.4;

/// Characteristic impedance from the input impedance at the quarter wave, ohm; exact for
/// `one_way_loss_np`.
pub fn impedance_ohm(z_in_ohm: f64, z_load_ohm: f64, one_way_loss_np: f64) -> f64 {
    let half = 0.5 * one_way_loss_np.tanh() * (z_in_ohm - z_load_ohm);
    half + (z_in_ohm * z_load_ohm + half * half).sqrt()
}

/// Input impedance at the quarter wave, ohm.
pub fn input_impedance_ohm(z0_ohm: f64, z_load_ohm: f64, one_way_loss_np: f64) -> f64 {
    let t = one_way_loss_np.tanh();
    z0_ohm * (z_load_ohm * t + z0_ohm) / (z0_ohm * t + z_load_ohm)
}

/// A quarter-wave resistance read off a screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Typed {
    /// Resistance where the reactance is nought, ohm.
    pub resistance_ohm: Uncertain,
    /// Resistance of the load at the far end, ohm.
    pub load_ohm: Uncertain,
    /// Frequency of the quarter wave, Hz.
    pub quarter_wave_hz: Option<Uncertain>,
    /// One-way loss of the piece there, dB.
    pub loss_db: Option<Uncertain>,
}

/// Characteristic impedance from a quarter-wave resistance read off a screen.
///
/// # Errors
/// [`Unserved`] if a resistance is not positive.
pub fn from_readings(typed: &Typed, known: Known) -> Result<Report, Unserved> {
    let (r, load) = (typed.resistance_ohm, typed.load_ohm);
    if !(r.value > 0.0 && load.value > 0.0) {
        return Err(Unserved::new(METHOD, "a resistance must be above 0 ohm"));
    }
    let freq_hz = typed.quarter_wave_hz.map(|f| f.value);
    let loss = match (typed.loss_db, freq_hz) {
        (Some(db), _) => loss::stated(db),
        (None, Some(f)) => loss::typical(f, std::f64::consts::FRAC_PI_2),
        (None, None) => loss::typical(30e6, std::f64::consts::FRAC_PI_2),
    };
    let z0 = propagate([r, load, loss.np], |[r, l, x]| impedance_ohm(r, l, x));
    let mut report = Report::new(METHOD);
    report.impedance_ohm = Some(z0);
    report.at_hz = freq_hz;
    write_working(&mut report, r.value, load.value, &loss);
    if let Some(f) = typed.quarter_wave_hz {
        set_delay(&mut report, f, 0.0);
        velocity::complete(&mut report, known, Some(1));
    }
    report.finished()
}

/// Characteristic impedance from the sweep with a load at the far end.
///
/// # Errors
/// [`Unserved`] if there is no such sweep, no quarter wave in it, or the curve stays too near the
/// centre to show one.
pub fn from_bench(bench: &Bench) -> Result<Report, Unserved> {
    let loaded = bench
        .first(FarEnd::Load)
        .ok_or_else(|| Unserved::new(METHOD, "no sweep with a load at the far end"))?;
    let quarter = find_quarter_wave(bench, loaded)?;
    let z_load_ohm = bench.far_load.ohm.value;
    let z_ref_ohm = loaded.sweep.z_ref_ohm();
    let (mut z0_ohm, mut reading, mut loss) = (
        z_load_ohm,
        quarter.reading,
        loss::typical(quarter.freq_hz, quarter.line_rad()),
    );
    // Reading between points and the loss both refer to the impedance sought: three rounds.
    for _ in 0..3 {
        let z_in = impedance_of_reflection(reading.reflection, z_ref_ohm).norm();
        z0_ohm = impedance_ohm(z_in, z_load_ohm, loss.np.value).clamp(5.0, 600.0);
        loss = loss::measured(bench, quarter.freq_hz, quarter.line_rad(), z0_ohm);
        reading = quarter.read(loaded, z0_ohm).unwrap_or(reading);
    }
    let z_in_ohm = impedance_of_reflection(reading.reflection, z_ref_ohm).norm();
    let mut report = Report::new(METHOD);
    report.at_hz = Some(quarter.freq_hz);
    report.impedance_ohm = Some(interval(bench, &quarter, reading, z_ref_ohm, &loss, z0_ohm));
    report.working.push(format!(
        "{} quarter wave{} at {}, {}",
        quarter.order,
        if quarter.order == 1 { "" } else { "s" },
        hertz(quarter.freq_hz),
        quarter.basis
    ));
    write_working(&mut report, z_in_ohm, z_load_ohm, &loss);
    report.used.push(UsedPoint {
        name: "quarter wave".to_owned(),
        sweep: loaded.label.clone(),
        freq_hz: quarter.freq_hz,
        reflection: reading.reflection,
    });
    report.finished()
}

/// Where a loaded sweep passes a quarter wave.
#[derive(Clone, Debug)]
pub(crate) struct Quarter {
    pub(crate) freq_hz: f64,
    /// Quarter waves in the line there, odd.
    pub(crate) order: u32,
    pub(crate) basis: &'static str,
    pub(crate) reading: Reading,
}

impl Quarter {
    /// Electrical length of the line, rad.
    pub(crate) fn line_rad(&self) -> f64 {
        std::f64::consts::FRAC_PI_2 * f64::from(self.order)
    }

    fn read(&self, loaded: &EndedSweep, z0_ohm: f64) -> Option<Reading> {
        let round_trip_delay_s = 0.5 * f64::from(self.order) / self.freq_hz;
        read_between(&loaded.sweep, self.freq_hz, z0_ohm, round_trip_delay_s)
    }
}

/// The quarter wave by the crossing of an open or short sweep, else by the loaded curve's own.
pub(crate) fn find_quarter_wave(bench: &Bench, loaded: &EndedSweep) -> Result<Quarter, Unserved> {
    if let Ok(trace) = open_or_short(bench, METHOD) {
        let start_hz = loaded.sweep.start_hz();
        let crossing = (1..=trace.highest_order())
            .step_by(2)
            .take(64)
            .filter_map(|order| Some((order, trace.quarter_waves_hz(order)?)))
            .find(|&(_, f)| f >= start_hz && f <= loaded.sweep.stop_hz());
        if let Some((order, freq_hz)) = crossing {
            let basis = match trace.ended.far_end {
                FarEnd::Short => "by the short sweep's phase",
                _ => "by the open sweep's phase",
            };
            let delay_s = trace.round_trip_delay_s;
            let reading = read_between(&loaded.sweep, freq_hz, trace.centre_ohm, delay_s);
            if let Some(reading) = reading {
                return Ok(Quarter {
                    freq_hz,
                    order,
                    basis,
                    reading,
                });
            }
        }
        let wanted_hz = 1.05 * trace.expected_quarter_wave_hz();
        if wanted_hz > loaded.sweep.stop_hz() {
            return Err(no_crossing(loaded, Some(wanted_hz)));
        }
    }
    own_crossing(bench, loaded)
}

/// First point where the loaded curve comes back to the real axis far from where it started.
fn own_crossing(bench: &Bench, loaded: &EndedSweep) -> Result<Quarter, Unserved> {
    let sweep = &loaded.sweep;
    let ratio = bench.far_load.ohm.value / sweep.z_ref_ohm();
    let start = (ratio - 1.0) / (ratio + 1.0);
    let chord: Vec<_> = sweep.reflection().iter().map(|g| g - start).collect();
    let size = chord.iter().map(|c| c.norm()).fold(0.0, f64::max);
    let u = reflection_u(&bench.analyser, sweep.stop_hz(), sweep.z_ref_ohm(), 1.0);
    if size < 4.0 * u {
        let reason = format!(
            "the loaded curve stays within {} of where it starts, so its crossing can't be told from the analyser's errors",
            number(size)
        );
        return Err(Unserved::new(METHOD, reason)
            .would_do("an open or short sweep would show the quarter wave; a match needs none"));
    }
    let far = |k: usize| chord[k].norm() > 0.5 * size;
    let changes = |k: usize| (chord[k - 1].im > 0.0) != (chord[k].im > 0.0);
    let at = (1..chord.len()).find(|&k| far(k) && far(k - 1) && changes(k));
    let Some(at) = at else {
        return Err(no_crossing(loaded, expected_from_turn(loaded, &chord)));
    };
    let freq_hz = crossing_near(sweep.freq_hz(), &chord, at, NEAR_AXIS * size);
    // The half wave before would lie at two thirds of the crossing if this were the third one.
    if sweep.start_hz() > 0.6 * freq_hz {
        let reason = "the sweep starts too late to tell which quarter wave its crossing is";
        let start = format!("a start below {} would do", hertz(0.5 * freq_hz));
        return Err(Unserved::new(METHOD, reason).would_do(start));
    }
    let reading = read_between(sweep, freq_hz, sweep.z_ref_ohm(), 0.5 / freq_hz);
    reading
        .map(|reading| Quarter {
            freq_hz,
            order: 1,
            basis: "where the loaded curve crosses the real axis",
            reading,
        })
        .ok_or_else(|| no_crossing(loaded, None))
}

/// Root of Im Γ by a straight line through the points near the axis around `at`.
fn crossing_near(freq_hz: &[f64], chord: &[num_complex::Complex64], at: usize, limit: f64) -> f64 {
    let near = |k: usize| chord[k].im.abs() < limit;
    let first = (0..at)
        .rev()
        .take_while(|&k| near(k))
        .last()
        .unwrap_or(at - 1);
    let last = (at..chord.len())
        .take_while(|&k| near(k))
        .last()
        .unwrap_or(at);
    let points: Vec<_> = (first..=last)
        .map(|k| (freq_hz[k], chord[k].im, 1.0))
        .collect();
    let root = line_through(&points).map(|(intercept, slope)| -intercept / slope);
    root.filter(|f| (freq_hz[first]..=freq_hz[last]).contains(f))
        .unwrap_or(freq_hz[at])
}

/// The chord of a circle turns half as fast as its radius: it starts at ±90° and is real at the
/// quarter wave.
fn expected_from_turn(loaded: &EndedSweep, chord: &[num_complex::Complex64]) -> Option<f64> {
    let last = chord.last()?;
    let sign = if last.im > 0.0 { 1.0 } else { -1.0 };
    let line_rad = sign * (sign * std::f64::consts::FRAC_PI_2 - last.arg());
    (line_rad > 0.02).then(|| 1.1 * loaded.sweep.stop_hz() * std::f64::consts::FRAC_PI_2 / line_rad)
}

fn no_crossing(loaded: &EndedSweep, wanted_hz: Option<f64>) -> Unserved {
    let stop = hertz(loaded.sweep.stop_hz());
    let unserved = Unserved::new(METHOD, format!("no quarter-wave crossing below {stop}"));
    match wanted_hz.filter(|&f| f > loaded.sweep.stop_hz()) {
        Some(f) => unserved.would_do(format!("a stop of {} would do", round_up_hertz(f))),
        None => unserved,
    }
}

fn interval(
    bench: &Bench,
    quarter: &Quarter,
    reading: Reading,
    z_ref_ohm: f64,
    loss: &Loss,
    z0_ohm: f64,
) -> Uncertain {
    let u = reflection_u(&bench.analyser, quarter.freq_hz, z0_ohm, reading.noise_gain);
    let z_load_ohm = bench.far_load.ohm.value;
    let shares = far_load_shares_scale(bench);
    let inputs = [
        scale(bench),
        far_load_ratio(bench),
        Uncertain::new(0.0, u),
        loss.np,
    ];
    propagate(inputs, |[unit, load, error, x]| {
        let z_in = impedance_of_reflection(reading.reflection + error, z_ref_ohm).norm() * unit;
        let z_load = z_load_ohm * load * if shares { unit } else { 1.0 };
        impedance_ohm(z_in, z_load, x)
    })
}

fn write_working(report: &mut Report, z_in_ohm: f64, z_load_ohm: f64, loss: &Loss) {
    let plain = (z_in_ohm * z_load_ohm).sqrt();
    report.working.push(format!(
        "sqrt({} × {}) = {}",
        ohm(z_in_ohm),
        ohm(z_load_ohm),
        ohm(plain)
    ));
    let x = loss.np.value;
    let half = 0.5 * x.tanh();
    let difference = z_in_ohm - z_load_ohm;
    report.working.push(format!(
        "loss {}: t = tanh({} dB / {}) = {}",
        loss.text(),
        number(x * DB_PER_NEPER),
        number(DB_PER_NEPER),
        number(2.0 * half)
    ));
    report.working.push(format!(
        "(t/2)({} − {}) + sqrt({}² + (t/2)²({} − {})²) = {}",
        number(z_in_ohm),
        number(z_load_ohm),
        number(plain),
        number(z_in_ohm),
        number(z_load_ohm),
        ohm(half * difference + plain.hypot(half * difference))
    ));
    if !loss.measured {
        let bias = impedance_ohm(z_in_ohm, z_load_ohm, x) - plain;
        report.remarks.push(format!(
            "the loss is assumed; it moves the result by {}",
            ohm(bias)
        ));
    }
}

/// Sets the delay 1/(4f) less what fringing adds.
pub(crate) fn set_delay(report: &mut Report, quarter_wave_hz: Uncertain, fringing_s: f64) {
    let delay = quarter_wave_hz.map(|f| 0.25 / f - fringing_s);
    report.working.push(format!(
        "one-way delay = 1/(4 × {}) = {}",
        hertz(quarter_wave_hz.value),
        seconds(delay.value)
    ));
    report.one_way_delay_s = Some(delay);
    report.delay_at_hz = Some(quarter_wave_hz.value);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn correction_inverts_the_lossy_quarter_wave() {
        for (z0, load, loss_np) in [(50.0, 100.0, 0.06), (75.0, 50.0, 0.01), (93.0, 50.0, 0.3)] {
            let z_in = input_impedance_ohm(z0, load, loss_np);
            assert!((impedance_ohm(z_in, load, loss_np) - z0).abs() < 1e-10);
        }
    }

    #[test]
    fn working_can_be_checked_by_calculator() {
        let typed = Typed {
            resistance_ohm: Uncertain::within(110.7, 0.05),
            load_ohm: Uncertain::new(50.02, 0.04),
            quarter_wave_hz: None,
            loss_db: None,
        };
        let report = from_readings(&typed, Known::default()).unwrap();
        assert_eq!(
            report.working[0],
            "sqrt(110.70 ohm × 50.020 ohm) = 74.412 ohm"
        );
    }
}
