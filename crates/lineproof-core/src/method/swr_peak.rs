//! Loss from a peak of the VSWR S with the far end open or shorted: 10 log((S + 1)/(S − 1)).
//!
//! The same as half the return loss, so it shares its bias where S is not referred to the cable's
//! own impedance. With an antenna left on, the highest peak gives an upper limit of the loss.
//! Practice: CQ-Contest list 1998, "Checking coax"; ARRL Antenna Book (from memory).

use crate::bench::Bench;
use crate::constants::DB_PER_NEPER;
use crate::uncertain::Uncertain;

use super::budget::{open_or_short, reflection_u};
use super::half_return_loss::{Mismatch, bias_db};
use super::phase::{Reading, Trace};
use super::text::{decibel, hertz, number, plain, round_up_hertz};
use super::{Method, Report, Unserved, UsedPoint};

const METHOD: Method = Method::SwrPeak;

/// Reflection of an impedance that is unknown: between 33 and 75 ohm for a 50-ohm reference.
const UNKNOWN_MISMATCH: f64 = 0.2;

/// One-way loss, dB, of a VSWR peak.
pub fn one_way_loss_db(swr: f64) -> f64 {
    10.0 * ((swr + 1.0) / (swr - 1.0)).log10()
}

/// Loss from a VSWR peak read off a screen; `antenna_on` if the far end was not open or shorted.
///
/// # Errors
/// [`Unserved`] if the VSWR is not above 1.
pub fn from_readings(
    swr: Uncertain,
    freq_hz: Option<f64>,
    antenna_on: bool,
    mismatch: Mismatch,
) -> Result<Report, Unserved> {
    // Below this the interval of the reading would reach a VSWR of 1 and the loss infinity.
    let usable = swr.value > 1.0 && swr.value - swr.u > 1.0;
    if !usable {
        let reason = format!(
            "a VSWR of {} shows no reflecting far end",
            number(swr.value)
        );
        return Err(Unserved::new(METHOD, reason));
    }
    let loss = swr.map(one_way_loss_db);
    let bias = mismatch.bias_db(loss.value);
    let mut report = Report::new(METHOD);
    write_working(&mut report, swr.value);
    report
        .loss_db
        // the bias may be anything up to its bound: rectangular, so its standard uncertainty is a √3rd (JCGM 100:2008,
        // 4.3.7)
        .push((freq_hz, loss.widened(bias / 3f64.sqrt())));
    report.remarks.push(mismatch.remark(bias));
    if antenna_on {
        report
            .remarks
            .push("with an antenna on, the far end may absorb: an upper limit".to_owned());
    }
    report.finished()
}

/// Loss from the highest VSWR peak of the first two resonances of the open or the short sweep.
///
/// # Errors
/// [`Unserved`] if there is no such sweep, its phase can't be followed, or it passes no resonance:
/// then which stop would do.
pub fn from_bench(bench: &Bench) -> Result<Report, Unserved> {
    let trace = open_or_short(bench, METHOD)?;
    let (freq_hz, reading) = find_peak(&trace)?;
    let z_ref_ohm = trace.ended.sweep.z_ref_ohm();
    let size = reading.reflection.norm();
    if size >= 1.0 {
        let reason = format!(
            "the reflection at {} reads {}, not below 1: the loss is smaller than the analyser's errors",
            hertz(freq_hz),
            number(size)
        );
        return Err(
            Unserved::new(METHOD, reason).would_do("a longer piece or a higher frequency would do")
        );
    }
    let mut report = Report::new(METHOD);
    let swr = (1.0 + size) / (1.0 - size);
    report.working.push(format!(
        "at {}: |Γ| = {}, S = (1 + |Γ|)/(1 − |Γ|) = {}",
        hertz(freq_hz),
        number(size),
        number(swr)
    ));
    write_working(&mut report, swr);
    // there and back, so half of what comes back counts
    let loss_np = -0.5 * size.ln();
    // the spiral's own centre is the cable's impedance where the sweep turns far enough to show it
    let mismatch = if trace.centre_found {
        (trace.centre_ohm - z_ref_ohm) / (trace.centre_ohm + z_ref_ohm)
    } else {
        UNKNOWN_MISMATCH
    };
    let bias = bias_db(loss_np, 1.1 * mismatch.abs() + 0.01);
    let u = reflection_u(
        &bench.analyser,
        freq_hz,
        trace.centre_ohm,
        reading.noise_gain,
    );
    // d(ln |Γ|) = d|Γ|/|Γ|: a lossy line's small reflection is known worse
    let u_db = 0.5 * DB_PER_NEPER * u / size;
    report.loss_db.push((
        Some(freq_hz),
        Uncertain::new(loss_np * DB_PER_NEPER, u_db.hypot(bias)),
    ));
    report.remarks.push(format!(
        "a plain reading against {} ohm: off by up to {} on this cable, which the interval covers",
        plain(z_ref_ohm, 4),
        decibel(bias)
    ));
    report.used.push(UsedPoint {
        name: "VSWR peak".to_owned(),
        sweep: trace.ended.label.clone(),
        freq_hz,
        reflection: reading.reflection,
    });
    report.finished()
}

/// The larger reflection of the first two resonances.
fn find_peak(trace: &Trace) -> Result<(f64, Reading), Unserved> {
    let stop_hz = trace.ended.sweep.stop_hz();
    let Some((lowest, _)) = trace.lowest_quarter_waves(1, 1) else {
        let wanted_hz = 1.05 * trace.expected_quarter_wave_hz();
        let reason = format!("no resonance below {}", hertz(stop_hz));
        let stop = round_up_hertz(wanted_hz.max(stop_hz));
        return Err(Unserved::new(METHOD, reason).would_do(format!("a stop of {stop} would do")));
    };
    // two resonances: mismatch raises one of the two neighbours and lowers the other
    (lowest..=lowest + 1)
        .filter_map(|order| {
            let freq_hz = trace.quarter_waves_hz(order)?;
            Some((freq_hz, trace.read(freq_hz)?))
        })
        .max_by(|a, b| a.1.reflection.norm().total_cmp(&b.1.reflection.norm()))
        .ok_or_else(|| Unserved::new(METHOD, "the resonance can't be read"))
}

fn write_working(report: &mut Report, swr: f64) {
    report.working.push(format!(
        "10 log(({} + 1)/({} − 1)) = {}",
        number(swr),
        number(swr),
        decibel(one_way_loss_db(swr))
    ));
}
