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

use crate::bench::{Bench, FarEnd};
use crate::constants::DB_PER_NEPER;
use crate::sweep::impedance_of_reflection;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{far_load_ratio, far_load_shares_scale, reflection_u, scale};
use super::loaded::{self, Quarter};
use super::loss::{self, Loss};
use super::phase::Reading;
use super::text::{hertz, number, ohm, quarter_waves, seconds};
use super::velocity::{self, Known};
use super::{Method, Report, Unserved, UsedPoint};

const METHOD: Method = Method::QuarterWave;

/// Characteristic impedance from the input impedance at the quarter wave, ohm; exact for
/// `one_way_loss_np`.
pub fn impedance_ohm(z_in_ohm: f64, z_load_ohm: f64, one_way_loss_np: f64) -> f64 {
    // the root with the plus sign: the other is negative for passive impedances
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
    /// Resistance where the reactance is zero, ohm.
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
        // no frequency either: that of the quarter wave of 1.6 m of solid polyethylene, a usual jumper
        (None, None) => loss::typical(30e6, std::f64::consts::FRAC_PI_2),
    };
    let z0 = propagate([r, load, loss.np], |[r, l, x]| impedance_ohm(r, l, x));
    let mut report = Report::new(METHOD);
    report.impedance_ohm = Some(z0);
    report.at_hz = freq_hz;
    write_working(&mut report, r.value, load.value, &loss);
    if let Some(f) = typed.quarter_wave_hz {
        set_delay(&mut report, f, 0.0);
        // a quarter wave that is read as such is the first one
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
    let quarter = loaded::quarter_wave(bench, loaded, METHOD)?;
    // the load as measured, not as marked: half of its error goes into the result
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
        // no coaxial cable lies beyond these; a poor first round must not lead the next astray
        z0_ohm = impedance_ohm(z_in, z_load_ohm, loss.np.value).clamp(5.0, 600.0);
        loss = loss::measured(bench, quarter.freq_hz, quarter.line_rad(), z0_ohm);
        reading = quarter.read(loaded, z0_ohm).unwrap_or(reading);
    }
    let z_in_ohm = impedance_of_reflection(reading.reflection, z_ref_ohm).norm();
    let mut report = Report::new(METHOD);
    report.at_hz = Some(quarter.freq_hz);
    report.impedance_ohm = Some(interval(bench, &quarter, reading, z_ref_ohm, &loss, z0_ohm));
    report.working.push(format!(
        "{} at {}, {}",
        quarter_waves(quarter.order),
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

fn interval(
    bench: &Bench,
    quarter: &Quarter,
    reading: Reading,
    z_ref_ohm: f64,
    loss: &Loss,
    z0_ohm: f64,
) -> Uncertain {
    let gain = reading.noise_gain;
    // a crossing found on the loaded curve itself may be misplaced; one by the open or short is not
    let u = reflection_u(&bench.analyser, quarter.freq_hz, z0_ohm, gain).hypot(quarter.bend);
    let z_load_ohm = bench.far_load.ohm.value;
    // if the far load is the calibration load, its error scales both factors under the root and none cancels
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
        // who checks with √(Zin·ZL) on a calculator sees what was assumed beyond it
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
