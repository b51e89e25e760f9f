//! Which further measurement would narrow which number, from the estimate's own posterior.

use lineproof_core::bench::FarEnd;
use lineproof_core::estimate::{Estimate, Further, Measure, Quantity, Wanted};
use lineproof_core::uncertain::COVERAGE_FACTOR_95;

use crate::finding::{Advice, Gives, Help};
use crate::report::number::significant;

/// Part of an interval that must go for a measurement to be worth mentioning.
const WORTH: f64 = 0.2;

/// Measurements that narrow an interval by more than a fifth; for each quantity the most useful
/// first.
pub fn helps(estimate: &Estimate, wanted: Wanted) -> Vec<Help> {
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
    for quantity in ["impedance", "delay", "loss"] {
        let of = || helps.iter().filter(move |h| h.quantity == quantity);
        let best = of().next();
        let here = of().find(|h| h.measure != LONGER_PIECE);
        let mut said = Vec::new();
        for help in [here, best].into_iter().flatten() {
            if !said.contains(&help.measure) {
                said.push(help.measure);
                advice.push(Advice {
                    text: help.text.clone(),
                    gives: (help.measure == LOAD_BY_OHMMETER).then_some(Gives::LoadByOhmmeter),
                });
            }
        }
    }
    advice
}

const LONGER_PIECE: &str = "longer-piece";
/// Word of the load measured by ohmmeter.
pub const LOAD_BY_OHMMETER: &str = "load-by-ohmmeter";

fn help(further: &Further) -> Help {
    let (quantity, unit, scale) = match further.quantity {
        Quantity::Impedance => ("impedance", "ohm", 1.0),
        Quantity::Delay => ("delay", "ns", 1e9),
        Quantity::Loss => ("loss", "dB", 1.0),
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

/// The word for programs and the one for people.
fn words(measure: Measure) -> (&'static str, &'static str) {
    match measure {
        Measure::Sweep(FarEnd::Open) => ("open", "a sweep with the far end open"),
        Measure::Sweep(FarEnd::Short) => ("short", "a sweep with the far end shorted"),
        Measure::Sweep(FarEnd::Load) => ("load", "a sweep with the load at the far end"),
        Measure::Repeat(FarEnd::Open) => (
            "repeat-open",
            "the open sweep again, plugged in anew and kept beside the first,",
        ),
        Measure::Repeat(FarEnd::Short) => (
            "repeat-short",
            "the shorted sweep again, plugged in anew and kept beside the first,",
        ),
        Measure::Repeat(FarEnd::Load) => (
            "repeat-load",
            "the loaded sweep again, plugged in anew and kept beside the first,",
        ),
        Measure::Check(FarEnd::Open) => (
            "check-open",
            "the calibration's open swept again at the plane",
        ),
        Measure::Check(FarEnd::Short) => (
            "check-short",
            "the calibration's short swept again at the plane",
        ),
        Measure::Check(FarEnd::Load) => (
            "check-load",
            "the calibration's load swept again at the plane",
        ),
        Measure::LoadByOhmmeter => (
            LOAD_BY_OHMMETER,
            "the calibration load by ohmmeter, its leads subtracted,",
        ),
        Measure::HigherStop => ("higher-stop", "the same sweeps to twice the frequency"),
        Measure::MorePoints => ("more-points", "the same sweeps with four times the points"),
        Measure::LongerPiece => (LONGER_PIECE, "the same sweeps of a piece twice as long"),
    }
}
