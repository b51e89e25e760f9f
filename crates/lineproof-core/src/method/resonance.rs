//! Resonances: order, spacing, delay, and length or velocity factor.
//!
//! A line of n quarter waves at f has the delay n/(4f). With the far end open the impedance is
//! low at odd n, with a short at even n; like resonances are 1/(2τ) apart, so the spacing shows
//! the order without any other knowledge. Standard practice; for example the ARRL Antenna Book,
//! transmission line chapter (from memory).
//!
//! Assumes one uniform line: spacings that differ by more than 2 % show two. Adapters and the
//! fringing of an open end count as length; the latter is taken off.

use std::f64::consts::PI;

use crate::bench::{Bench, FarEnd};
use crate::uncertain::{Uncertain, propagate};

use super::budget::{FRINGING_F, open_or_short, plug_delay_u_s, reflection_u};
use super::phase::{Trace, refer, refer_gain};
use super::text::{hertz, number, quarter_waves, round_up_hertz, seconds, significant};
use super::velocity::{self, Known};
use super::{Method, Report, Unserved, UsedPoint};

const METHOD: Method = Method::Resonance;

/// Spread of n quarter-wave frequencies above which the line is not one line.
const UNIFORM_SPREAD: f64 = 0.02;

/// Resonances listed in the working and marked in pictures.
const SHOWN: usize = 6;

/// Distance of a resonance from a whole order, in orders, above which the order is doubtful.
const DOUBTFUL_ORDER: f64 = 0.5;

/// One-way delay of `order` quarter waves at `freq_hz`, s.
pub fn one_way_delay_s(freq_hz: f64, order: u32) -> f64 {
    0.25 * f64::from(order) / freq_hz
}

/// Numbers of quarter waves of rising low-impedance frequencies, by their spacing; a single one
/// is taken as the lowest. Odd for an open end, even for a short.
pub fn orders(frequencies_hz: &[f64], far_end: FarEnd) -> Vec<u32> {
    let lowest = if far_end == FarEnd::Short { 2 } else { 1 };
    let gaps = frequencies_hz.windows(2).map(|w| w[1] - w[0]);
    // a missed dip doubles a gap, nothing halves one, so the smallest is a single spacing
    let mut spacing_hz = gaps.fold(f64::INFINITY, f64::min);
    if !spacing_hz.is_finite() || spacing_hz <= 0.0 {
        return vec![lowest; frequencies_hz.len()];
    }
    let offset = 0.5 * f64::from(lowest % 2);
    let whole = |f: f64, spacing: f64| {
        (f / spacing - offset)
            .round()
            // order 0 is no resonance of a short
            .max(f64::from(1 - lowest % 2))
    };
    // The smallest gap names the orders near the bottom, the whole list then corrects the gap.
    for _ in 0..3 {
        let count = |f: &f64| whole(*f, spacing_hz) + offset;
        let total: f64 = frequencies_hz.iter().map(count).sum();
        spacing_hz = frequencies_hz.iter().sum::<f64>() / total;
    }
    let order = |f: &f64| (2.0 * (whole(*f, spacing_hz) + offset)).round() as u32;
    frequencies_hz.iter().map(order).collect()
}

/// Delay and length or velocity factor from low-impedance frequencies read off a screen, rising.
///
/// # Errors
/// [`Unserved`] if there is no frequency or they do not rise from above 0 Hz.
pub fn from_readings(
    frequencies_hz: &[Uncertain],
    far_end: FarEnd,
    known: Known,
) -> Result<Report, Unserved> {
    let values: Vec<_> = frequencies_hz.iter().map(|f| f.value).collect();
    let rising = values.windows(2).all(|w| w[0] < w[1]);
    let Some(&first) = values.first().filter(|&&f| f > 0.0 && rising) else {
        let reason = "resonances must be frequencies above 0 Hz in rising order";
        return Err(Unserved::new(METHOD, reason));
    };
    let mut report = Report::new(METHOD);
    let orders = orders_or_those_of_peaks(&mut report, &values, far_end);
    if values.len() == 1 {
        report.remarks.push(format!(
            "one resonance shows no spacing: taken as the lowest, {}",
            quarter_waves(orders[0])
        ));
    }
    let delays: Vec<_> = frequencies_hz
        .iter()
        .zip(&orders)
        .map(|(f, &order)| f.map(|f| one_way_delay_s(f, order)))
        .collect();
    for ((f, order), delay) in values.iter().zip(&orders).zip(&delays).take(SHOWN) {
        report.working.push(delay_text(*order, *f, delay.value));
    }
    let count = delays.len() as f64;
    let mean = delays.iter().map(|d| d.value).sum::<f64>() / count;
    let spread = spread_of(&delays.iter().map(|d| d.value).collect::<Vec<_>>());
    let u = delays.iter().map(|d| d.u).sum::<f64>() / count;
    // readings' resolution counted in full, since one person reads them all alike; the scatter averages out
    report.one_way_delay_s = Some(Uncertain::new(mean, u.hypot(spread / count.sqrt())));
    report.delay_at_hz = Some(values.iter().sum::<f64>() / count);
    remark_on_orders(&mut report, &values, &orders, first, far_end);
    remark_on_spread(&mut report, spread / mean);
    velocity::complete(&mut report, known, orders.first().copied());
    report.finished()
}

/// Delay and length or velocity factor from the crossings of the open or the short sweep.
///
/// # Errors
/// [`Unserved`] if there is no such sweep, its phase can't be followed, or it passes no resonance:
/// then which stop would do.
pub fn from_bench(bench: &Bench) -> Result<Report, Unserved> {
    let trace = open_or_short(bench, METHOD)?;
    let highest = trace.highest_order();
    // Plugs of another impedance nearly cancel at odd quarter waves and add up at even ones.
    let crossings: Vec<_> = (1..=highest)
        .filter_map(|order| Some((order, trace.quarter_waves_hz(order)?)))
        .collect();
    let best = crossings
        .iter()
        .copied()
        .filter(|(order, _)| order % 2 == 1)
        .map(|(order, f)| (order, f, delay_at(bench, &trace, order, f)))
        // of all crossings the one whose delay is surest: high ones divide the turn's error, low ones are stronger
        .min_by(|a, b| a.2.u.total_cmp(&b.2.u));
    let Some((order, freq_hz, delay)) = best else {
        let stop_hz = trace.ended.sweep.stop_hz();
        let wanted_hz = 1.05 * trace.expected_quarter_wave_hz();
        let reason = format!("no resonance below {}", hertz(stop_hz));
        let stop = format!(
            "a stop of {} would do",
            round_up_hertz(wanted_hz.max(stop_hz))
        );
        return Err(Unserved::new(METHOD, reason).would_do(stop));
    };
    let mut report = Report::new(METHOD);
    list_crossings(&mut report, &trace, &crossings);
    report
        .working
        .push(delay_text(order, freq_hz, one_way_delay_s(freq_hz, order)));
    if trace.ended.far_end == FarEnd::Open {
        report.working.push(format!(
            "less fringing of 40 fF × {} ohm = {}: {}",
            number(trace.centre_ohm),
            seconds(FRINGING_F.value * trace.centre_ohm),
            seconds(delay.value)
        ));
    }
    report.one_way_delay_s = Some(delay);
    report.delay_at_hz = Some(freq_hz);
    // Dispersion bends the row of delays; neighbours differ little, two lines in one a lot.
    remark_on_spread(&mut report, neighbour_spread(&crossings));
    velocity::complete(&mut report, Known::from(bench), Some(order));
    report.finished()
}

fn delay_at(bench: &Bench, trace: &Trace, order: u32, freq_hz: f64) -> Uncertain {
    let z0_ohm = trace.centre_ohm;
    let plain = Uncertain::new(
        one_way_delay_s(freq_hz, order),
        turn_u(bench, trace, freq_hz) / (4.0 * PI * freq_hz),
    );
    let fringing = match trace.ended.far_end {
        FarEnd::Open => FRINGING_F.scaled(z0_ohm),
        _ => Uncertain::exact(0.0),
    };
    propagate([plain, fringing], |[t, c]| t - c).widened(plug_delay_u_s(z0_ohm))
}

/// Uncertainty of the spiral's turn at `freq_hz`, rad.
fn turn_u(bench: &Bench, trace: &Trace, freq_hz: f64) -> f64 {
    let Some(reading) = trace.read(freq_hz) else {
        return f64::INFINITY;
    };
    let z_ref_ohm = trace.ended.sweep.z_ref_ohm();
    let size = refer(reading.reflection, z_ref_ohm, trace.centre_ohm).norm();
    let u = reflection_u(
        &bench.analyser,
        freq_hz,
        trace.centre_ohm,
        reading.noise_gain,
    );
    u * refer_gain(reading.reflection, z_ref_ohm, trace.centre_ohm) / size
}

fn list_crossings(report: &mut Report, trace: &Trace, crossings: &[(u32, f64)]) {
    let shown: Vec<_> = crossings.iter().take(SHOWN).collect();
    let list: Vec<_> = shown
        .iter()
        .map(|(order, f)| format!("{order}: {}", hertz(*f)))
        .collect();
    let more = crossings.len().saturating_sub(SHOWN);
    let rest = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    let plural = if crossings.len() == 1 { "" } else { "s" };
    report
        .working
        .push(format!("quarter wave{plural} {}{rest}", list.join(", ")));
    for &&(order, freq_hz) in &shown {
        if let Some(reading) = trace.read(freq_hz) {
            report.used.push(UsedPoint {
                name: quarter_waves(order),
                sweep: trace.ended.label.clone(),
                freq_hz,
                reflection: reading.reflection,
            });
        }
    }
}

/// Largest relative change of f/n between crossings two orders apart.
fn neighbour_spread(crossings: &[(u32, f64)]) -> f64 {
    // neighbours two orders apart have the same sign of the plugs' effect
    let base = |&(order, f): &(u32, f64)| f / f64::from(order);
    crossings
        .windows(3)
        .map(|w| (base(&w[2]) / base(&w[0]) - 1.0).abs())
        .fold(0.0, f64::max)
}

fn remark_on_orders(
    report: &mut Report,
    values: &[f64],
    orders: &[u32],
    first_hz: f64,
    far_end: FarEnd,
) {
    if values.len() < 2 {
        return;
    }
    let quarter_hz = values.iter().sum::<f64>() / orders.iter().map(|&o| f64::from(o)).sum::<f64>();
    report.working.push(format!(
        "spacing {}; first at {} = {} half spacings",
        hertz(2.0 * quarter_hz),
        hertz(first_hz),
        significant(first_hz / quarter_hz, 3)
    ));
    let off = |(f, &order): (&f64, &u32)| (f / quarter_hz - f64::from(order)).abs();
    let worst = values.iter().zip(orders).map(off).fold(0.0, f64::max);
    if worst > DOUBTFUL_ORDER {
        let kind = if far_end == FarEnd::Short {
            "even"
        } else {
            "odd"
        };
        report.remarks.push(format!(
            "the resonances are not {kind} multiples of one quarter wave ({} off): a dip is missing, the far end is not {far_end}, or two cables are joined",
            significant(worst, 2)
        ));
    }
}

/// Orders of the frequencies as low points; as peaks of |Z| where only these stand at whole orders: people
/// read the peaks, which are as easy to see.
fn orders_or_those_of_peaks(report: &mut Report, values: &[f64], far_end: FarEnd) -> Vec<u32> {
    let low = orders(values, far_end);
    let other_end = if far_end == FarEnd::Short {
        FarEnd::Open
    } else {
        FarEnd::Short
    };
    let peaks = orders(values, other_end);
    let uneven = |orders: &[u32]| relative_spread(values, orders) > UNIFORM_SPREAD;
    if values.len() < 2 || !uneven(&low) || uneven(&peaks) {
        return low;
    }
    let list: Vec<_> = peaks.iter().take(SHOWN).map(u32::to_string).collect();
    report.remarks.push(format!(
        "the frequencies stand as {} quarter waves: with the far end {} those are peaks of |Z|, not its low points; taken so",
        list.join(" : "),
        if far_end == FarEnd::Short { "shorted" } else { "open" }
    ));
    peaks
}

fn relative_spread(values: &[f64], orders: &[u32]) -> f64 {
    let delays: Vec<_> = values
        .iter()
        .zip(orders)
        .map(|(&f, &order)| one_way_delay_s(f, order))
        .collect();
    spread_of(&delays) * delays.len() as f64 / delays.iter().sum::<f64>()
}

fn remark_on_spread(report: &mut Report, spread: f64) {
    if spread > UNIFORM_SPREAD {
        report.remarks.push(format!(
            "resonances are unequally spaced by {} %: two impedances in one run, or an adapter that counts",
            significant(100.0 * spread, 2)
        ));
    }
}

/// Standard deviation.
fn spread_of(values: &[f64]) -> f64 {
    if values.len() < 2 {
        return 0.0;
    }
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let sum: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    // n − 1: the mean is taken from the same values (JCGM 100:2008, 4.2.2)
    (sum / (count - 1.0)).sqrt()
}

fn delay_text(order: u32, freq_hz: f64, delay_s: f64) -> String {
    format!(
        "{order}/(4 × {}) = {} one way",
        hertz(freq_hz),
        seconds(delay_s)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn orders_come_from_the_spacing() {
        assert_eq!(orders(&[10e6, 30e6, 50e6], FarEnd::Open), [1, 3, 5]);
        assert_eq!(orders(&[70e6, 90e6, 130e6], FarEnd::Open), [7, 9, 13]);
        assert_eq!(orders(&[20e6], FarEnd::Short), [2]);
    }

    #[test]
    fn a_foot_taken_for_a_metre_is_flagged() {
        let known = Known {
            length_m: Some(Uncertain::within(27.0, 0.1)),
            velocity_factor: None,
            length_in_feet: false,
        };
        let report = from_readings(&[Uncertain::within(7.3e6, 5e4)], FarEnd::Open, known).unwrap();
        assert!(report.velocity_factor.is_none());
        assert!(
            report
                .remarks
                .iter()
                .any(|r| r.contains("feet, not metres")),
            "{:?}",
            report.remarks
        );
    }
}
