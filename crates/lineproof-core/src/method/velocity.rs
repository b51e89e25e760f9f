//! Delay, length and velocity factor: any two give the third, and some answers are impossible.
//!
//! VF = l/(c τ). Solid polyethylene gives 0.66, PTFE 0.69 to 0.71, foam 0.75 to 0.88, air-spaced
//! cable up to 0.95; above 1 nothing can be, below 0.4 no coaxial cable is.

use crate::bench::Bench;
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::uncertain::{Uncertain, propagate};

use super::Report;
use super::text::{metres, number, quarter_waves, seconds, significant};

/// Velocity factors outside this range come from a mistake, not from a cable.
pub const POSSIBLE: std::ops::RangeInclusive<f64> = 0.4..=1.0;

/// Velocity factors that cables have; a likely cause of an impossible one leads in here.
const USUAL: std::ops::RangeInclusive<f64> = 0.60..=0.97;

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
}

impl From<&Bench> for Known {
    fn from(bench: &Bench) -> Self {
        Self {
            length_m: bench.length_m,
            velocity_factor: bench
                .marking
                .velocity_factor
                .map(|vf| Uncertain::within(vf, MARKED_VF_HALF_WIDTH)),
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
/// `order` is the number of quarter waves assumed, if a resonance was used.
pub fn why_impossible(velocity_factor: f64, order: Option<u32>) -> Option<String> {
    if POSSIBLE.contains(&velocity_factor) {
        return None;
    }
    let mut causes = Vec::new();
    let mut offer = |text: &str, would_be: f64| {
        if USUAL.contains(&would_be) {
            causes.push(format!("{text} (it would be {})", significant(would_be, 3)));
        }
    };
    offer("the ratio is upside down", 1.0 / velocity_factor);
    offer(
        "the length is in feet, not metres",
        velocity_factor * 0.3048,
    );
    offer(
        "the length is in metres, not feet",
        velocity_factor / 0.3048,
    );
    offer("a round trip was taken as one way", velocity_factor * 2.0);
    offer("one way was taken as a round trip", velocity_factor * 0.5);
    if let Some(order) = order {
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
        match why_impossible(vf.value, order) {
            Some(why) => report.remarks.push(why),
            None => report.velocity_factor = Some(vf),
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inverted_ratio_is_named() {
        let why = why_impossible(1.161, None).unwrap();
        assert!(why.contains("upside down (it would be 0.861)"), "{why}");
        assert_eq!(why_impossible(0.66, None), None);
    }

    #[test]
    fn another_order_is_offered() {
        let why = why_impossible(2.651, Some(1)).unwrap();
        assert!(
            why.contains("3 quarter waves, not 1 (it would be 0.884)"),
            "{why}"
        );
    }
}
