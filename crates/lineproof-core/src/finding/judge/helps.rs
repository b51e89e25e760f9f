//! Which further measurement would narrow which number, from the estimate's own posterior.

use crate::bench::FarEnd;
use crate::estimate::{Estimate, Further, Measure, Quantity, QuantityFrequencies};
use crate::uncertain::COVERAGE_FACTOR_95;

use crate::finding::marking::Quantity as Stated;
use crate::finding::remarks::{Advice, Gives, Help, Measurement};
use crate::quantity::digits::significant;

/// Part of an interval that must go for a measurement to be worth mentioning.
const WORTH: f64 = 0.2;

/// Measurements that narrow an interval by more than a fifth; for each quantity the most useful
/// first.
pub fn helps(estimate: &Estimate, wanted: QuantityFrequencies) -> Vec<Help> {
    let further = estimate.further(wanted);
    let worth = further
        .iter()
        .filter(|f| f.u_then < (1.0 - WORTH) * f.u_now && f.u_now.is_finite());
    worth.map(help).collect()
}

/// Advice for each quantity: the most useful measurement, and the most useful one of this very
/// piece if that is another.
pub fn advice(helps: &[Help]) -> Vec<Advice> {
    let mut advice = Vec::new();
    for quantity in [Stated::Impedance, Stated::Delay, Stated::Loss] {
        let of = || helps.iter().filter(move |h| h.quantity == quantity);
        let best = of().next();
        let here = of().find(|h| h.measure != Measurement::LongerPiece);
        let mut said = Vec::new();
        for help in [here, best].into_iter().flatten() {
            if !said.contains(&help.measure) {
                said.push(help.measure);
                advice.push(Advice {
                    text: help.text.clone(),
                    gives: (help.measure == Measurement::LoadByOhmmeter)
                        .then_some(Gives::LoadByOhmmeter),
                });
            }
        }
    }
    advice
}

fn help(further: &Further) -> Help {
    let (quantity, unit, scale) = match further.quantity {
        Quantity::Impedance => (Stated::Impedance, "ohm", 1.0),
        Quantity::Delay => (Stated::Delay, "ns", 1e9),
        Quantity::Loss => (Stated::Loss, "dB", 1.0),
    };
    let (measure, words) = words(further.measure);
    let (now, then) = (further.u_now, further.u_then);
    let shown = |u: f64| significant(COVERAGE_FACTOR_95 * u * scale, 2);
    let in_proportion = if further.measure == Measure::LongerPiece {
        ", in proportion,"
    } else {
        ""
    };
    Help {
        quantity,
        measure,
        u95_now: COVERAGE_FACTOR_95 * now,
        u95_then: COVERAGE_FACTOR_95 * then,
        text: format!(
            "{words} would narrow the {quantity}{in_proportion} from ± {} to ± {} {unit}",
            shown(now),
            shown(then)
        ),
    }
}

/// The measurement as it is reported, and in words.
fn words(measure: Measure) -> (Measurement, &'static str) {
    match measure {
        Measure::Sweep(FarEnd::Open) => (Measurement::Open, "a sweep with the far end open"),
        Measure::Sweep(FarEnd::Short) => (Measurement::Short, "a sweep with the far end shorted"),
        Measure::Sweep(FarEnd::Load) => (Measurement::Load, "a sweep with the load at the far end"),
        Measure::Repeat(FarEnd::Open) => (
            Measurement::RepeatOpen,
            "a second open sweep after reconnecting, besides the first,",
        ),
        Measure::Repeat(FarEnd::Short) => (
            Measurement::RepeatShort,
            "a second shorted sweep after reconnecting, besides the first,",
        ),
        Measure::Repeat(FarEnd::Load) => (
            Measurement::RepeatLoad,
            "a second loaded sweep after reconnecting, besides the first,",
        ),
        Measure::Check(FarEnd::Open) => (
            Measurement::CheckOpen,
            "the calibration's open measured again at the plane",
        ),
        Measure::Check(FarEnd::Short) => (
            Measurement::CheckShort,
            "the calibration's short measured again at the plane",
        ),
        Measure::Check(FarEnd::Load) => (
            Measurement::CheckLoad,
            "the calibration's load measured again at the plane",
        ),
        Measure::LoadByOhmmeter => (
            Measurement::LoadByOhmmeter,
            "the calibration load by ohmmeter, its leads subtracted,",
        ),
        Measure::HigherStop => (
            Measurement::HigherStop,
            "the same sweeps to twice the frequency",
        ),
        Measure::MorePoints => (
            Measurement::MorePoints,
            "the same sweeps with four times the points",
        ),
        Measure::LongerPiece => (
            Measurement::LongerPiece,
            "the same sweeps of a piece twice as long",
        ),
    }
}
