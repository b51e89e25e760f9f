//! Delay, length and velocity factor: any two give the third, and some answers are impossible.
//!
//! VF = l/(c τ). Solid polyethylene gives 0.66, PTFE 0.69 to 0.71, foam 0.75 to 0.88, air-spaced
//! cable up to 0.95; above 1 nothing can be, below 0.4 no coaxial cable is.

use crate::bench::Bench;
use crate::constants::{METRES_PER_FOOT, SPEED_OF_LIGHT_M_S};
use crate::uncertain::{Uncertain, propagate};

use super::Report;
use super::text::{metres, number, quarter_waves, seconds, significant};

/// Velocity factors outside this range come from a mistake, not from a cable.
pub const POSSIBLE: std::ops::RangeInclusive<f64> = 0.4..=1.0;

/// Velocity factors that cables have; a likely cause of an impossible one leads in here.
pub const USUAL: std::ops::RangeInclusive<f64> = 0.60..=0.97;

/// Half-width of a velocity factor that is only printed on the jacket or in a data sheet: units
/// of one type differ by up to 5 % (common practice; foam by more).
const MARKED_VF_HALF_WIDTH: f64 = 0.03;

/// What is known of a cable's length and velocity.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Known {
    /// Length by tape, m.
    pub length_m: Option<Uncertain>,
    /// Velocity factor, for example from the marking.
    pub velocity_factor: Option<Uncertain>,
    /// Whether the length was stated in feet or inches: then it is not feet taken for metres.
    pub length_in_feet: bool,
}

impl From<&Bench> for Known {
    fn from(bench: &Bench) -> Self {
        Self {
            length_m: bench.length_m,
            velocity_factor: bench
                .marking
                .velocity_factor
                .map(|vf| Uncertain::within(vf, MARKED_VF_HALF_WIDTH)),
            length_in_feet: false,
        }
    }
}

/// Velocity factor l/(c τ).
pub fn velocity_factor(length_m: Uncertain, one_way_delay_s: Uncertain) -> Uncertain {
    propagate([length_m, one_way_delay_s], |[l, t]| {
        l / (SPEED_OF_LIGHT_M_S * t)
    })
}

/// Length VF·c·τ, m.
pub fn length_m(velocity_factor: Uncertain, one_way_delay_s: Uncertain) -> Uncertain {
    propagate([velocity_factor, one_way_delay_s], |[vf, t]| {
        vf * SPEED_OF_LIGHT_M_S * t
    })
}

/// Why a velocity factor can't be, with the mistakes that would explain it; nothing if it can.
/// `order` is the number of quarter waves assumed, if a resonance was used; a length that was stated
/// `in_feet` is not one of feet taken for metres.
pub fn why_impossible(velocity_factor: f64, order: Option<u32>, in_feet: bool) -> Option<String> {
    if POSSIBLE.contains(&velocity_factor) {
        return None;
    }
    let mut causes = Vec::new();
    let mut offer = |text: &str, would_be: f64| {
        // only a slip that leads to an ordinary cable explains anything
        if USUAL.contains(&would_be) {
            causes.push(format!("{text} (it would be {})", significant(would_be, 3)));
        }
    };
    offer("the ratio is upside down", 1.0 / velocity_factor);
    if !in_feet {
        let text = "the length is in feet, not metres";
        offer(text, velocity_factor * METRES_PER_FOOT);
    }
    offer(
        "the length is in metres, not feet",
        velocity_factor / METRES_PER_FOOT,
    );
    offer("a round trip was taken as one way", velocity_factor * 2.0);
    offer("one way was taken as a round trip", velocity_factor * 0.5);
    if let Some(order) = order {
        // A high |Z| stands a quarter wave beside each low one.
        let peak = order + 1;
        offer(
            &format!(
                "it is a peak of |Z|, {}, not a low point",
                quarter_waves(peak)
            ),
            velocity_factor * f64::from(order) / f64::from(peak),
        );
        // of the same kind, since the far end fixes odd or even; who misses more than four dips sees it
        for other in (order % 2..order + 9)
            .step_by(2)
            .filter(|&o| o > 0 && o != order)
        {
            let would_be = velocity_factor * f64::from(order) / f64::from(other);
            offer(
                &format!("the resonance is {}, not {order}", quarter_waves(other)),
                would_be,
            );
        }
    }
    if causes.is_empty() {
        causes.push("length, unit or order of the resonance is wrong".to_owned());
    }
    Some(format!(
        "velocity factor {} is impossible: {}",
        significant(velocity_factor, 3),
        causes.join("; or ")
    ))
}

/// Completes a report that has a delay with the velocity factor, or with the length.
pub(crate) fn complete(report: &mut Report, known: Known, order: Option<u32>) {
    let Some(delay) = report.one_way_delay_s else {
        return;
    };
    if let Some(length) = known.length_m {
        let vf = velocity_factor(length, delay);
        report.working.push(format!(
            "velocity factor = {} / (299792458 m/s × {}) = {}",
            metres(length.value),
            seconds(delay.value),
            number(vf.value)
        ));
        match why_impossible(vf.value, order, known.length_in_feet) {
            Some(why) => {
                report.impossible.extend(too_high(vf.value, length, order));
                report.impossible.push(why.clone());
                report.remarks.push(why);
            }
            None => report.velocity_factor = Some(vf),
        }
    // a length by tape comes first: a velocity factor off the jacket is of the type, not of this piece
    } else if let Some(vf) = known.velocity_factor {
        let length = length_m(vf, delay);
        report.working.push(format!(
            "length = {} × 299792458 m/s × {} = {}",
            number(vf.value),
            seconds(delay.value),
            metres(length.value)
        ));
        report.length_m = Some(length);
        report
            .remarks
            .push("the length rests on the stated velocity factor".to_owned());
    }
}

/// What no cable of this length reaches: the frequency of `order` quarter waves in free space.
fn too_high(velocity_factor: f64, length_m: Uncertain, order: Option<u32>) -> Option<String> {
    let order = order.filter(|_| velocity_factor > 1.0)?;
    let free_hz = 0.25 * f64::from(order) * SPEED_OF_LIGHT_M_S / length_m.value;
    Some(format!(
        "the first low impedance of {} of any cable, {}, lies below {}",
        metres(length_m.value),
        quarter_waves(order),
        short_hertz(free_hz)
    ))
}

/// Four digits.
fn short_hertz(freq_hz: f64) -> String {
    format!("{} MHz", significant(freq_hz / 1e6, 4))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inverted_ratio_is_named() {
        let why = why_impossible(1.161, None, false).unwrap();
        assert!(why.contains("upside down (it would be 0.861)"), "{why}");
        assert_eq!(why_impossible(0.66, None, false), None);
    }

    #[test]
    fn another_order_is_offered() {
        let why = why_impossible(2.651, Some(1), false).unwrap();
        assert!(
            why.contains("3 quarter waves, not 1 (it would be 0.884)"),
            "{why}"
        );
    }

    /// A peak of |Z| that was taken for a quarter wave makes the velocity factor double.
    #[test]
    fn a_peak_taken_for_a_dip_is_offered() {
        let why = why_impossible(2.0 * 0.66, Some(1), true).unwrap();
        assert!(why.contains("a peak of |Z|, 2 quarter waves"), "{why}");
    }
}
