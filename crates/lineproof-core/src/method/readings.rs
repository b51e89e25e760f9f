//! Values read off a screen or a meter, all methods that they serve, and what they say together.
//!
//! Cross-checks follow the physics of a coaxial line: Zc = 59.96·VF·ln(D/d), so Zc/VF depends on
//! the geometry alone and VF on the dielectric alone.

use crate::bench::{FarEnd, Load, Marking};
use crate::catalogue::{Catalogue, Claim, Claimed};
use crate::constants::ETA_0_OVER_2PI_OHM;
use crate::uncertain::{COVERAGE_FACTOR_95, Uncertain};

use super::half_return_loss::Mismatch;
use super::text::{plain, significant};
use super::velocity::{self, Known};
use super::{
    Method, Report, Unserved, eighth_wave, group_delay, half_return_loss, inductance_capacitance,
    low_resistance, open_short, quarter_wave, resistance_extremes, resonance, swr_peak,
};
use crate::mistake::slips;

/// Difference of an impedance from the marked one that types and batches explain, relative.
const MARKED_Z0_TOLERANCE: f64 = 0.05;

/// Difference of a velocity factor from the marked one that batches explain, relative.
const MARKED_VF_TOLERANCE: f64 = 0.04;

/// What was read off a screen or a meter. Every field may be absent; each value carries the
/// resolution of its reading as uncertainty.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    /// Resistance at the quarter wave with `load_ohm` at the far end, ohm.
    pub quarter_wave_resistance_ohm: Option<Uncertain>,
    /// Load at the far end, ohm; the calibration load if absent.
    pub load_ohm: Option<Uncertain>,
    /// Frequency of the quarter wave, Hz.
    pub quarter_wave_hz: Option<Uncertain>,
    /// Reactance at the eighth wave, far end open, ohm.
    pub eighth_wave_open_reactance_ohm: Option<Uncertain>,
    /// |Z| at the eighth wave, far end open, ohm.
    pub eighth_wave_open_impedance_ohm: Option<Uncertain>,
    /// Reactance at the eighth wave, far end shorted, ohm.
    pub eighth_wave_short_reactance_ohm: Option<Uncertain>,
    /// |Z| at the eighth wave, far end shorted, ohm.
    pub eighth_wave_short_impedance_ohm: Option<Uncertain>,
    /// Frequency of the eighth-wave readings, Hz.
    pub eighth_wave_hz: Option<Uncertain>,
    /// Inductance with the far end shorted, H.
    pub inductance_h: Option<Uncertain>,
    /// Capacitance with the far end open, F.
    pub capacitance_f: Option<Uncertain>,
    /// Frequency of the L and C meter, Hz.
    pub meter_hz: Option<f64>,
    /// Largest resistance with a resistor at the far end, ohm.
    pub resistance_max_ohm: Option<Uncertain>,
    /// Smallest resistance with the same resistor, ohm.
    pub resistance_min_ohm: Option<Uncertain>,
    /// Peak of the VSWR with the far end open or shorted.
    pub swr_peak: Option<Uncertain>,
    /// Frequency of that peak, Hz.
    pub swr_peak_hz: Option<f64>,
    /// Whether an antenna was on when the VSWR was read.
    pub antenna_on: bool,
    /// Resistance and reactance with the far end open, ohm.
    pub open_impedance_ohm: Option<[Uncertain; 2]>,
    /// Resistance and reactance with the far end shorted, ohm.
    pub short_impedance_ohm: Option<[Uncertain; 2]>,
    /// Frequency of the open and short impedances, Hz.
    pub pair_hz: Option<f64>,
    /// Low-impedance frequencies, rising, Hz.
    pub resonances_hz: Vec<Uncertain>,
    /// Far end of the resonances; open if absent.
    pub resonance_far_end: Option<FarEnd>,
    /// Low resistance at a resonance, ohm.
    pub low_resistance_ohm: Option<Uncertain>,
    /// Frequency of that resonance, Hz.
    pub low_resistance_hz: Option<f64>,
    /// Return loss with the far end open, dB.
    pub open_return_loss_db: Option<Uncertain>,
    /// Return loss with the far end shorted, dB.
    pub short_return_loss_db: Option<Uncertain>,
    /// Frequency of the return losses, Hz.
    pub return_loss_hz: Option<f64>,
    /// Round-trip delay that a pulse shows, s.
    pub round_trip_delay_s: Option<Uncertain>,
    /// Length by tape, m.
    pub length_m: Option<Uncertain>,
    /// Whether that length was stated in feet or inches.
    pub length_in_feet: bool,
    /// Velocity factor, if known and no length.
    pub velocity_factor: Option<Uncertain>,
    /// One-way loss of the piece, dB, where it corrects other readings.
    pub loss_db: Option<Uncertain>,
    /// The load that the analyser was calibrated with.
    pub calibration_load: Option<Load>,
    /// What the jacket claims.
    pub marking: Marking,
}

/// What the readings give.
#[derive(Clone, Debug, Default)]
pub struct Answer {
    /// One report for each method that the readings serve.
    pub reports: Vec<Report>,
    /// Methods whose readings are impossible, with the reason.
    pub unserved: Vec<Unserved>,
    /// What the readings say together and against the marking.
    pub remarks: Vec<String>,
    /// Why the readings can't all be right; empty if they can.
    pub impossible: Vec<String>,
}

/// Serves every method that has its readings, then compares them with each other and the marking.
pub fn answer(readings: &Readings) -> Answer {
    let mut answer = Answer::default();
    for served in impedance_methods(readings) {
        answer.add(served);
    }
    for served in delay_methods(readings) {
        answer.add(served);
    }
    let z0 = answer.best_impedance().or(claimed_impedance(readings));
    for served in loss_methods(readings, z0) {
        answer.add(served);
    }
    answer.widen_by_calibration(readings);
    answer.withdraw_impossible();
    answer.remarks = remarks(&answer, readings);
    answer
}

impl Answer {
    /// The impedance with the smallest interval, ohm.
    pub fn best_impedance(&self) -> Option<Uncertain> {
        let found = self.reports.iter().filter_map(|r| r.impedance_ohm);
        found.min_by(|a, b| a.u.total_cmp(&b.u))
    }

    /// The velocity factor with the smallest interval.
    pub fn best_velocity_factor(&self) -> Option<Uncertain> {
        let found = self.reports.iter().filter_map(|r| r.velocity_factor);
        found.min_by(|a, b| a.u.total_cmp(&b.u))
    }

    /// A delay by an order that makes the velocity impossible is not stated: the order, the length or
    /// the reading is wrong, and nobody knows which. A pulse's delay needs no order.
    fn withdraw_impossible(&mut self) {
        for report in &mut self.reports {
            if report.impossible.is_empty() {
                continue;
            }
            self.impossible.append(&mut report.impossible);
            if report.method != Method::PulseDelay {
                report.one_way_delay_s = None;
            }
        }
        self.impossible.dedup();
    }

    fn add(&mut self, served: Result<Report, Unserved>) {
        match served {
            Ok(report) => self.reports.push(report),
            Err(unserved) => self.unserved.push(unserved),
        }
    }

    /// Every impedance off an analyser is in units of its calibration load; an L and C meter has
    /// none. A quarter-wave reading has the load in its interval already.
    fn widen_by_calibration(&mut self, readings: &Readings) {
        let load = calibration_load(readings);
        for report in &mut self.reports {
            let by_meter = report.method == Method::InductanceCapacitance;
            let has_it = report.method == Method::QuarterWave && readings.load_ohm.is_none();
            if let Some(z0) = report.impedance_ohm.filter(|_| !by_meter) {
                // √(Zin·ZL) with ZL the calibration load itself: half of its error stands in the interval, the other
                // half comes with Zin
                let rest = if has_it { 0.5 } else { 1.0 };
                report.impedance_ohm = Some(z0.widened(rest * z0.value * load.ohm.relative()));
            }
        }
    }
}

fn calibration_load(readings: &Readings) -> Load {
    readings.calibration_load.unwrap_or(Load::nominal(50.0))
}

fn known(readings: &Readings) -> Known {
    let marked = readings.marking.velocity_factor;
    Known {
        length_m: readings.length_m,
        velocity_factor: readings
            .velocity_factor
            .or(marked.map(|vf| Uncertain::within(vf, 0.03))),
        length_in_feet: readings.length_in_feet,
    }
}

fn impedance_methods(r: &Readings) -> Vec<Result<Report, Unserved>> {
    let mut served = Vec::new();
    let known = known(r);
    if let Some(resistance_ohm) = r.quarter_wave_resistance_ohm {
        let typed = quarter_wave::Typed {
            resistance_ohm,
            load_ohm: r.load_ohm.unwrap_or(calibration_load(r).ohm),
            quarter_wave_hz: r.quarter_wave_hz,
            loss_db: r.loss_db,
        };
        served.push(quarter_wave::from_readings(&typed, known));
    }
    let eighths = [
        (FarEnd::Open, r.eighth_wave_open_reactance_ohm, false),
        (FarEnd::Open, r.eighth_wave_open_impedance_ohm, true),
        (FarEnd::Short, r.eighth_wave_short_reactance_ohm, false),
        (FarEnd::Short, r.eighth_wave_short_impedance_ohm, true),
    ];
    for (far_end, reading, is_magnitude) in eighths {
        if let Some(reading_ohm) = reading {
            let typed = eighth_wave::Typed {
                far_end,
                reading_ohm,
                is_magnitude,
                eighth_wave_hz: r.eighth_wave_hz,
                quarter_wave_hz: r.quarter_wave_hz,
                loss_db: r.loss_db,
            };
            served.push(eighth_wave::from_readings(&typed, known));
        }
    }
    if let (Some(l), Some(c)) = (r.inductance_h, r.capacitance_f) {
        served.push(inductance_capacitance::from_readings(
            l, c, r.meter_hz, known,
        ));
    }
    if let (Some(max), Some(min)) = (r.resistance_max_ohm, r.resistance_min_ohm) {
        served.push(resistance_extremes::from_readings(max, min, None));
    }
    if let (Some(open_ohm), Some(short_ohm), Some(freq_hz)) =
        (r.open_impedance_ohm, r.short_impedance_ohm, r.pair_hz)
    {
        let typed = open_short::Typed {
            open_ohm,
            short_ohm,
            freq_hz,
        };
        served.push(open_short::from_readings(&typed, known));
    }
    served
}

fn delay_methods(r: &Readings) -> Vec<Result<Report, Unserved>> {
    let mut served = Vec::new();
    let known = known(r);
    let far_end = r.resonance_far_end.unwrap_or(FarEnd::Open);
    if !r.resonances_hz.is_empty() {
        served.push(resonance::from_readings(&r.resonances_hz, far_end, known));
    }
    // A quarter wave alone is a resonance; with an impedance reading its report has the delay.
    let used = r.quarter_wave_resistance_ohm.is_some()
        || r.eighth_wave_open_reactance_ohm.is_some()
        || r.eighth_wave_open_impedance_ohm.is_some()
        || r.eighth_wave_short_reactance_ohm.is_some()
        || r.eighth_wave_short_impedance_ohm.is_some();
    if let Some(quarter_hz) = r.quarter_wave_hz.filter(|_| !used) {
        served.push(resonance::from_readings(&[quarter_hz], FarEnd::Open, known));
    }
    if let Some(delay) = r.round_trip_delay_s {
        served.push(group_delay::from_readings(delay, known));
    }
    served
}

/// Impedance that the marking claims, with what pieces of one type differ by.
fn claimed_impedance(r: &Readings) -> Option<Uncertain> {
    let claims = Claim::all(&r.marking, Catalogue::built_in());
    let claimed: Option<Vec<_>> = claims.iter().map(Claim::impedance_ohm).collect();
    let claimed = claimed?;
    let (low, high) = claimed.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), c| {
        (a.min(c.figure.value), b.max(c.figure.value))
    });
    let middle = low.midpoint(high);
    Some(Uncertain::within(
        middle,
        MARKED_Z0_TOLERANCE * middle + 0.5 * (high - low),
    ))
}

fn loss_methods(r: &Readings, z0: Option<Uncertain>) -> Vec<Result<Report, Unserved>> {
    let mut served = Vec::new();
    let reference_ohm = calibration_load(r).ohm.value;
    let mismatch = z0.map_or(Mismatch::UNKNOWN, |z0| Mismatch::of(z0, reference_ohm));
    if let Some(swr) = r.swr_peak {
        served.push(swr_peak::from_readings(
            swr,
            r.swr_peak_hz,
            r.antenna_on,
            mismatch,
        ));
    }
    if let Some(low) = r.low_resistance_ohm {
        // Without any other word a cable in a 50-ohm system is taken as 50 ohm, loosely.
        let z0 = z0.unwrap_or(Uncertain::new(50.0, 5.0));
        served.push(low_resistance::from_readings(low, z0, r.low_resistance_hz));
    }
    if r.open_return_loss_db.is_some() || r.short_return_loss_db.is_some() {
        served.push(half_return_loss::from_readings(
            r.open_return_loss_db,
            r.short_return_loss_db,
            r.return_loss_hz,
            mismatch,
        ));
    }
    served
}

fn remarks(answer: &Answer, readings: &Readings) -> Vec<String> {
    let mut remarks = Vec::new();
    remarks.extend(eighth_waves_differ(answer));
    remarks.extend(antenna_sum(readings));
    remarks.extend(agreement(answer));
    let z0 = answer.best_impedance();
    let vf = answer.best_velocity_factor();
    if let (Some(z0), Some(marked)) = (z0, readings.marking.impedance_ohm) {
        remarks.push(against_marking(answer, z0, vf, marked, readings));
    }
    if let (Some(vf), Some(marked)) = (vf, readings.marking.velocity_factor) {
        remarks.extend(velocity_against_marking(vf, marked));
    }
    remarks.extend(loss_against_claim(answer, readings));
    let by_analyser =
        |r: &Report| r.impedance_ohm.is_some() && r.method != Method::InductanceCapacitance;
    let load = calibration_load(readings);
    if answer.reports.iter().any(by_analyser) && !load.measured {
        remarks.push(format!(
            "the analyser reads in units of its calibration load: {} ohm is only its nominal value, measure it to narrow the intervals",
            plain(load.ohm.value, 4)
        ));
    }
    remarks
}

/// A length that was made from the frequency with an antenna's constant.
fn antenna_sum(readings: &Readings) -> Option<String> {
    let length_m = readings.length_m?.value;
    let quarter = readings.quarter_wave_hz.map(|f| f.value);
    let resonances = readings.resonances_hz.iter().map(|f| f.value);
    let constant = quarter
        .into_iter()
        .chain(resonances)
        .find_map(|freq_hz| slips::antenna_constant(length_m, freq_hz))?;
    // 246/f ft is a quarter wave in free space; 234/f is that of a wire shortened by its ends (handbook practice)
    let free = constant * 246.0 / 234.0;
    Some(format!(
        "the length is {constant:.0}/f in feet and MHz, which is a sum for antenna wire: cable takes {free:.0}/f \
         times its velocity factor, so do not trust a velocity factor that was made this way",
    ))
}

/// Open and short readings at one frequency: their product holds off the eighth wave too.
fn eighth_waves_differ(answer: &Answer) -> Option<String> {
    let of = |method| {
        let mut reports = answer
            .reports
            .iter()
            .filter(|r: &&Report| r.method == method);
        reports.next()?.impedance_ohm
    };
    let open = of(Method::EighthWaveOpen)?;
    let short = of(Method::EighthWaveShort)?;
    if open.agrees_with(short) {
        return None;
    }
    Some(format!(
        "open and short readings differ ({} and {} ohm), so the frequency is not that of the eighth wave; their geometric mean {} ohm holds nevertheless",
        plain(open.value, 4),
        plain(short.value, 4),
        plain((open.value * short.value).sqrt(), 4)
    ))
}

fn agreement(answer: &Answer) -> Option<String> {
    let found: Vec<_> = answer
        .reports
        .iter()
        .filter_map(|r| Some((r.method, r.impedance_ohm?)))
        .collect();
    if found.len() < 2 {
        return None;
    }
    let odd = (0..found.len())
        .flat_map(|i| (i + 1..found.len()).map(move |j| (i, j)))
        // the first pair that disagrees is enough to go and read again
        .find(|&(i, j)| !found[i].1.agrees_with(found[j].1));
    Some(match odd {
        None => format!(
            "{} readings of the impedance agree with each other within their intervals",
            found.len()
        ),
        Some((i, j)) => format!(
            "{} ({} ohm) and {} ({} ohm) disagree beyond their intervals: read them again, check the far end and the frequency",
            found[i].0,
            plain(found[i].1.value, 4),
            found[j].0,
            plain(found[j].1.value, 4)
        ),
    })
}

fn against_marking(
    answer: &Answer,
    z0: Uncertain,
    vf: Option<Uncertain>,
    marked_ohm: f64,
    readings: &Readings,
) -> String {
    let difference = z0.value / marked_ohm - 1.0;
    // no reading is blamed for what batches or its own interval explain
    let allowed = (MARKED_Z0_TOLERANCE).max(1.96 * z0.relative());
    if difference.abs() <= allowed {
        return format!(
            "agrees with the marked {} ohm ({} % off)",
            plain(marked_ohm, 4),
            plain(100.0 * difference, 2)
        );
    }
    let count = answer
        .reports
        .iter()
        .filter(|r| r.impedance_ohm.is_some())
        .count();
    let opening = if count > 1 && agreement(answer).is_some_and(|a| a.contains("agree with")) {
        format!(
            "{count} readings agree with each other and not with the marked {} ohm",
            plain(marked_ohm, 4)
        )
    } else {
        format!("not the marked {} ohm", plain(marked_ohm, 4))
    };
    format!(
        "{opening}: the cable really is {} ± {} ohm. {}",
        plain(z0.value, 4),
        plain(z0.u95(), 2),
        cause(z0, vf, marked_ohm, readings.marking.velocity_factor)
    )
}

/// Zc/VF is geometry, VF is dielectric: which of the two differs from the marking?
fn cause(z0: Uncertain, vf: Option<Uncertain>, marked_ohm: f64, marked_vf: Option<f64>) -> String {
    let (Some(vf), Some(marked_vf)) = (vf, marked_vf) else {
        return "With a length and a velocity factor one could tell whether geometry or dielectric differs".to_owned();
    };
    let geometry = z0.value / vf.value;
    let marked_geometry = marked_ohm / marked_vf;
    let ratios = format!(
        "Zc/VF = 59.96·ln(D/d) is {} ohm (D/d = {}) against {} ohm (D/d = {}) as marked",
        plain(geometry, 4),
        plain((geometry / ETA_0_OVER_2PI_OHM).exp(), 3),
        plain(marked_geometry, 4),
        plain((marked_geometry / ETA_0_OVER_2PI_OHM).exp(), 3)
    );
    // VF depends on the dielectric alone, Zc/VF on the diameters alone
    let same_dielectric = (vf.value / marked_vf - 1.0).abs() < MARKED_VF_TOLERANCE;
    let same_geometry = (geometry / marked_geometry - 1.0).abs() < MARKED_Z0_TOLERANCE;
    let verdict = match (same_dielectric, same_geometry) {
        (true, _) => {
            "the velocity factor is as marked, so it is the geometry: another cable or another conductor, not damage along its whole length"
        }
        (false, true) => {
            "the geometry is as marked, so it is the dielectric: another foam, or water"
        }
        (false, false) => "both differ: another type of cable",
    };
    format!("{ratios}; {verdict}")
}

fn velocity_against_marking(vf: Uncertain, marked: f64) -> Option<String> {
    let difference = vf.value / marked - 1.0;
    let allowed = MARKED_VF_TOLERANCE.max(1.96 * vf.relative());
    if difference.abs() <= allowed {
        return None;
    }
    let likely = if difference < 0.0 {
        "length measured short, connectors and adapters counted, a denser dielectric, or water"
    } else {
        "length measured long, or a lighter foam"
    };
    let doubt =
        velocity::why_impossible(vf.value, None, false).map_or(String::new(), |w| format!("; {w}"));
    Some(format!(
        "velocity factor {} against {} as marked: {likely}{doubt}",
        plain(vf.value, 3),
        plain(marked, 3)
    ))
}

/// Excess of loss over a claim that gets a remark, and the one that fails: relative, and dB, whichever is
/// larger. Common practice without a single source.
const LOSS_REMARK: f64 = 0.10;
const LOSS_LIMIT: f64 = 0.20;
const LOSS_LIMIT_DB: f64 = 0.3;

/// The loss of the piece beside what jacket or sheet make it: the reading known best.
fn loss_against_claim(answer: &Answer, readings: &Readings) -> Option<String> {
    let found = answer
        .reports
        .iter()
        .flat_map(|r| r.loss_db.iter().copied());
    let (at_hz, found) = found.min_by(|a, b| a.1.u.total_cmp(&b.1.u))?;
    let claims = Claim::all(&readings.marking, Catalogue::built_in());
    let claims_loss = readings.marking.loss.is_some() || claims.iter().any(|c| c.sheet.is_some());
    if !claims_loss {
        return None;
    }
    let Some(freq_hz) = at_hz else {
        return Some(
            "the loss that is claimed was not compared: at which frequency was it read?".to_owned(),
        );
    };
    let Some(length) = readings.length_m else {
        return Some("the loss that is claimed was not compared: it needs the length".to_owned());
    };
    let claimed = claims
        .iter()
        .filter_map(|c| Some((c, c.loss_db_m(freq_hz)?)));
    let (claim, claimed) = claimed.min_by(|a, b| {
        // where a marking fits several sheets, the one that speaks for the cable
        let off = |c: &Claimed| (c.figure.value * length.value - found.value).abs();
        off(&a.1).total_cmp(&off(&b.1))
    })?;
    let source = match claim.sheet.filter(|_| claimed.by_sheet) {
        Some(sheet) => format!("by the sheet of {}", sheet.designation),
        None => "as marked".to_owned(),
    };
    Some(loss_remark(
        found,
        claimed.figure.scaled(length.value),
        &source,
        readings.antenna_on,
    ))
}

fn loss_remark(found: Uncertain, claimed: Uncertain, source: &str, antenna_on: bool) -> String {
    let excess = found.value - claimed.value;
    // to fail a cable the whole interval must lie beyond the limit
    let unsure = found.u.hypot(claimed.u) * COVERAGE_FACTOR_95;
    let limit = (LOSS_LIMIT * claimed.value).max(LOSS_LIMIT_DB);
    let grade = if excess - unsure > limit {
        "more than its type explains: look for water, corrosion, a bad plug, or another type than claimed"
    } else if excess > limit {
        "more than a good cable has, though the interval does not decide: read it again with the far end open"
    } else if excess > LOSS_REMARK * claimed.value {
        "usable; note it and repeat it next year"
    } else {
        "as it should be"
    };
    let limit_text = if antenna_on {
        ", an upper limit with the antenna on,"
    } else {
        ""
    };
    format!(
        "loss {} ± {} dB{limit_text} against {} dB {source} ({:+.2} dB, {:+.0} %): {grade}",
        significant(found.value, 3),
        significant(found.u95(), 2),
        significant(claimed.value, 3),
        excess,
        100.0 * excess / claimed.value
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The claim `--marked-impedance 50` left the mismatch of 75 ohm in the interval, ± 58 %.
    #[test]
    fn a_marked_impedance_takes_the_assumed_mismatch_out() {
        let read = |marked: Option<f64>| {
            let found = answer(&Readings {
                swr_peak: Some(Uncertain::within(9.0, 0.05)),
                swr_peak_hz: Some(16e6),
                marking: Marking {
                    impedance_ohm: marked,
                    ..Marking::default()
                },
                ..Readings::default()
            });
            found.reports[0].loss_db[0].1
        };
        assert!(read(None).relative() > 0.25);
        assert!(read(Some(50.0)).relative() < 0.04, "{}", read(Some(50.0)));
    }

    /// Peaks of |Z| of an open line, a half wave apart from zero, were called low points.
    #[test]
    fn peaks_of_the_impedance_are_not_taken_for_quarter_waves() {
        // 10 m of velocity factor 0.66: quarter wave at 4.9465 MHz, peaks at 2, 4 and 6 of them.
        let peaks = [9.893e6, 19.786e6, 29.679e6].map(|f| Uncertain::within(f, 5e2));
        let found = answer(&Readings {
            resonances_hz: peaks.to_vec(),
            length_m: Some(Uncertain::within(10.0, 0.005)),
            ..Readings::default()
        });
        let vf = found.best_velocity_factor().unwrap();
        assert!((vf.value - 0.66).abs() < 0.001, "{vf}");
        assert!(
            found.reports[0]
                .remarks
                .iter()
                .any(|r| r.contains("peaks of |Z|"))
        );
    }

    /// A pulse's round trip was called "group delay".
    #[test]
    fn a_pulse_is_called_a_pulse() {
        let found = answer(&Readings {
            round_trip_delay_s: Some(Uncertain::within(39.9e-9, 5e-11)),
            ..Readings::default()
        });
        assert_eq!(
            found.reports[0].method.to_string(),
            "pulse round trip (TDR)"
        );
    }

    fn drawer_cable() -> Readings {
        Readings {
            quarter_wave_resistance_ohm: Some(Uncertain::within(76.0, 0.5)),
            load_ohm: Some(Uncertain::new(50.44, 0.04)),
            quarter_wave_hz: Some(Uncertain::within(43.8e6, 0.1e6)),
            eighth_wave_open_reactance_ohm: Some(Uncertain::within(-61.8, 0.5)),
            length_m: Some(Uncertain::within(1.13, 0.005)),
            calibration_load: Some(Load::by_ohmmeter(50.44)),
            marking: Marking {
                impedance_ohm: Some(50.0),
                velocity_factor: Some(0.66),
                ..Marking::default()
            },
            ..Readings::default()
        }
    }

    #[test]
    fn two_readings_against_the_marking_are_explained_by_geometry() {
        let found = answer(&drawer_cable());
        let text = found.remarks.join("\n");
        assert!(
            text.contains("2 readings agree with each other and not with the marked 50 ohm"),
            "{text}"
        );
        assert!(text.contains("so it is the geometry"), "{text}");
    }

    #[test]
    fn open_and_short_off_the_eighth_wave_keep_their_geometric_mean() {
        let found = answer(&Readings {
            eighth_wave_open_reactance_ohm: Some(Uncertain::within(-60.0, 0.1)),
            eighth_wave_short_reactance_ohm: Some(Uncertain::within(41.7, 0.1)),
            calibration_load: Some(Load::by_ohmmeter(50.0)),
            ..Readings::default()
        });
        let text = found.remarks.join("\n");
        assert!(text.contains("geometric mean 50.02 ohm"), "{text}");
    }

    #[test]
    fn nothing_read_gives_nothing() {
        let found = answer(&Readings::default());
        assert!(found.reports.is_empty() && found.remarks.is_empty());
    }
}
