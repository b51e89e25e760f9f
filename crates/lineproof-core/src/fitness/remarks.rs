//! What must be known of a use besides its figures, and the care to take.

use super::answer::Use;
use super::{PowerBasis, Span, Stress, Transfer};
use crate::catalogue::CableType;
use crate::finding::judge::advice::line_cautions;
use crate::known::KnownCable;
use crate::quantity::format_frequency;

/// Run from which a line needs the cautions of an installed one, m.
const INSTALLED_M: f64 = 10.0;
/// Power from which exposure to fields is worth a word, W. Local rules decide.
const EXPOSURE_W: f64 = 10.0;
/// Part of an allowed value from which a use is close to its limit.
const CLOSE: f64 = 0.8;

/// What must be known besides, a sentence each.
pub(super) fn remarks(
    cable: &KnownCable,
    asked: &Use,
    transfer: &Transfer,
    stress: Option<&Stress>,
) -> Vec<String> {
    let mut remarks = Vec::new();
    if let Some(faults) = &cable.faults {
        let what = &faults.text;
        remarks.push(match asked.run_m {
            None => format!("the piece has a fault, whose cost is in the loss: {what}"),
            Some(_) => format!(
                "the piece that was assayed has a fault, which a run of another length leaves out: {what}"
            ),
        });
    }
    if let Some(handbook) = transfer.handbook_loss_db {
        let Span { low, high } = transfer.total_loss_db;
        if (high - low) > 0.1 && !(low..=high).contains(&handbook) || high > 1.3 * handbook + 0.05 {
            remarks.push(format!(
                "the handbook formula gives {handbook:.2} dB, but it averages over the standing \
                 wave, and this run is too short for that"
            ));
        }
    }
    let Some(stress) = stress else { return remarks };
    match &cable.rated_as {
        None => remarks.push(
            "no ratings are known for this cable: name the type that it is rated as".to_owned(),
        ),
        Some(t) => {
            let at = format_frequency(asked.freq_hz);
            remarks.extend(rating_remark(t, &at, stress.power_basis));
            if stress.allowed_peak_w.is_none() {
                remarks.push(format!(
                    "{} has no voltage rating in the catalogue",
                    t.designation
                ));
            }
            if t.power.as_ref().is_some_and(|p| !p.ambient_c().1)
                && stress.power_basis == Some(PowerBasis::Rating)
            {
                remarks.push(
                    "the maker does not state the ambient temperature of the power rating: 40 °C is assumed"
                        .to_owned(),
                );
            }
        }
    }
    if stress
        .allowed_average_w
        .is_some_and(|w| stress.average_w > CLOSE * w && stress.average_w <= w)
    {
        remarks.push(
            "this is close to the limit: sun on a black jacket, or a bundle of cables, uses up the margin"
                .to_owned(),
        );
    }
    remarks
        .push("plugs, switches and tuners have limits of their own, often lower ones".to_owned());
    remarks
}

/// What is to be known of the power that a type is rated for.
fn rating_remark(t: &CableType, at: &str, basis: Option<PowerBasis>) -> Option<String> {
    let limit = t.filling.highest_c();
    match basis {
        Some(PowerBasis::Rating) => None,
        None => Some(format!(
            "{} has no power rating at {at} in the catalogue",
            t.designation
        )),
        Some(PowerBasis::HeatBalance) => Some(format!(
            "{} has no power rating at {at} in the catalogue: the power is what its jacket carries off into still \
             air with the inner conductor at {limit} °C, good to a quarter",
            t.designation
        )),
        Some(PowerBasis::HeatBalanceBelowRating) => Some(format!(
            "the rating of {} at {at} asks for more heat than its jacket carries off into still air with the inner \
             conductor at {limit} °C: the heat balance is taken instead",
            t.designation
        )),
    }
}

/// Care to take, a sentence each.
pub(super) fn cautions(asked: &Use, run_m: Option<f64>) -> Vec<String> {
    let mut cautions = Vec::new();
    if let Some(w) = asked.peak_w {
        cautions.push(
            "power, voltage and temperature are estimates; local codes and licensed practice come first"
                .to_owned(),
        );
        if w >= EXPOSURE_W {
            cautions.push(
                "check the distance between people and the antenna against the local exposure limits"
                    .to_owned(),
            );
        }
    }
    if run_m.is_some_and(|m| m >= INSTALLED_M) {
        cautions.extend(line_cautions());
    }
    cautions
}
