//! What a cable is fit for: the core's pure functions put to one use and a table of bands.

use lineproof_core::catalogue::CableType;
use lineproof_core::fitness::{
    ConductorHeat, HeatPath, Line, Load, PowerBasis, Ratings, Span, Stress, Transfer,
    WrongImpedance, core_resistance_k_m_w, loss_at_temperature_db, stress, transfer,
    wrong_impedance,
};
use lineproof_core::quantity::{format_frequency, format_power};
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;
use serde::Serialize;
use thiserror::Error;
use utoipa::ToSchema;

use crate::finding::OhmFound;
use crate::workflow::cable::{CableError, KnownCable};

/// Bands of the table, Hz: amateur and service bands, a frequency of each.
pub(super) const BANDS_HZ: [f64; 12] = [
    1.85e6, 3.65e6, 7.1e6, 14.2e6, 28.5e6, 50.2e6, 88e6, 145e6, 162e6, 435e6, 868e6, 1296e6,
];
/// Difference between a cable's impedance and the system's from which it is priced, relative.
const WRONG: f64 = 0.05;
/// Run from which a line needs the cautions of an installed one, m.
const INSTALLED_M: f64 = 10.0;
/// Power from which exposure to fields is worth a word, W. Local rules decide.
const EXPOSURE_W: f64 = 10.0;
/// Part of an allowed value from which a use is close to its limit.
const CLOSE: f64 = 0.8;

/// The load as it was asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum LoadAsked {
    /// SWR against the system.
    Swr(f64),
    /// Impedance, ohm.
    Impedance(Complex64),
}

/// One use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Asked {
    /// Frequency, Hz.
    pub(super) freq_hz: f64,
    /// Length of the run, m; the assayed piece if absent.
    pub(super) run_m: Option<f64>,
    /// Peak envelope power into the line, W.
    pub(super) peak_w: Option<f64>,
    /// Average over peak power.
    pub(super) duty: f64,
    /// What ends the run.
    pub(super) load: LoadAsked,
    /// Impedance of source and load, ohm.
    pub(super) system_ohm: Option<f64>,
    /// Temperature around the cable, °C.
    pub(super) ambient_c: f64,
    /// Most loss allowed, dB.
    pub(super) most_loss_db: Option<f64>,
}

/// Something that a use asks of a cable, and whether it gives it.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
#[schema(as = UseCheck)]
pub(crate) struct Check {
    /// What: `loss`, `heat` or `voltage`.
    pub(super) what: &'static str,
    /// Whether it does; null if the interval does not decide.
    #[schema(required)]
    pub(super) passes: Option<bool>,
    /// The same with figures.
    pub(super) text: String,
}

/// The run on one band with a matched load.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
#[schema(as = BandOfRun)]
pub(crate) struct Band {
    /// Frequency, Hz.
    pub(super) at_hz: f64,
    /// Loss, one way, dB.
    pub(super) loss_db: f64,
    /// 95 % half-width, dB.
    pub(super) u95_db: f64,
    /// Part of the power that reaches the load, 0 to 1.
    pub(super) efficiency: f64,
    /// Average power that the rating allows, W; null without a rating.
    #[schema(required)]
    pub(super) allowed_average_w: Option<f64>,
}

/// One-way delay of a run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub(crate) struct RunDelay {
    /// Value, s.
    pub(super) one_way_s: f64,
    /// 95 % half-width, s.
    pub(super) u95_s: f64,
}

/// Loss of a run with a matched load, one way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub(crate) struct MatchedLoss {
    /// Value, dB.
    pub(super) db: f64,
    /// 95 % half-width, dB.
    pub(super) u95_db: f64,
}

/// What a use does to a cable: estimates.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub(crate) struct UseStress {
    /// Peak voltage along the run, V.
    pub(super) peak_v: f64,
    /// Peak current along the run, A.
    pub(super) peak_a: f64,
    /// Average power into the run, W.
    pub(super) average_w: f64,
    /// Average power that rating or heat allow here, W; null if neither is known.
    #[schema(required)]
    pub(super) allowed_average_w: Option<f64>,
    /// Peak power that the voltage rating allows here, W; null without a rating.
    #[schema(required)]
    pub(super) allowed_peak_w: Option<f64>,
    /// Temperature of the inner conductor at its hottest spot, °C; null if it is not known or beyond what
    /// the dielectric stands.
    #[schema(required)]
    pub(super) conductor_c: Option<f64>,
    /// Temperature that the dielectric stands, °C, if the inner conductor gets hotter than that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) conductor_above_c: Option<f64>,
    /// What the allowed average rests on.
    #[serde(skip)]
    pub(super) basis: Option<PowerBasis>,
}

/// What a cable does at a frequency, over a run, with a power and a load.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct Fitness {
    /// How a sentence calls the cable.
    pub(super) cable: String,
    /// Length of the run, m; null for an assayed piece whose length is not known.
    #[schema(required)]
    pub(super) run_m: Option<f64>,
    /// Frequency, Hz.
    pub(super) at_hz: f64,
    /// Impedance of source and load, ohm.
    pub(super) system_ohm: f64,
    /// Characteristic impedance of the cable, real part.
    pub(super) impedance: OhmFound,
    /// Delay of the run.
    pub(super) delay: RunDelay,
    /// Loss with a matched load.
    pub(super) matched_loss: MatchedLoss,
    /// Loss with this load, dB, by the balance of power.
    pub(super) total_loss_db: Span,
    /// The same by the handbook formula, dB; null for a load that takes nothing.
    #[schema(required)]
    pub(super) handbook_loss_db: Option<f64>,
    /// SWR on the line at the load, against the line's own impedance.
    pub(super) line_swr: Span,
    /// SWR at the input against the system's impedance.
    pub(super) input_swr: Span,
    /// What a transmitter without a tuner keeps back for the mismatch at the input, dB.
    pub(super) input_mismatch_db: Span,
    /// Part of the power into the line that the load gets, 0 to 1.
    pub(super) efficiency: Span,
    /// Power that the load gets, W; null if no power was given.
    #[schema(required)]
    pub(super) load_w: Option<Span>,
    /// Voltage, current and heat; null if no power was given.
    #[schema(required)]
    pub(super) stress: Option<UseStress>,
    /// Type whose ratings were used; null if none is known.
    #[schema(required)]
    pub(super) rated_as: Option<String>,
    /// Price of an impedance that is not the system's; null if it is, within 5 %.
    #[schema(required)]
    pub(super) wrong_impedance: Option<WrongImpedance>,
    /// What the use asks of the cable.
    pub(super) checks: Vec<Check>,
    /// The same run, matched, on other bands, by rising frequency.
    pub(super) bands: Vec<Band>,
    /// What must be known besides, a sentence each.
    pub(super) remarks: Vec<String>,
    /// Care to take, a sentence each.
    pub(super) cautions: Vec<String>,
    /// The use.
    #[serde(skip)]
    pub(super) asked: Asked,
}

/// Why there is no answer.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub(super) enum FitnessError {
    /// The cable is not known well enough.
    #[error(transparent)]
    Cable(#[from] CableError),
    /// A load that takes no power.
    #[error("a load of {0} takes no power")]
    Load(String),
}

/// What the cable does for the use.
pub(super) fn fitness(cable: &KnownCable, asked: Asked) -> Result<Fitness, FitnessError> {
    let freq_hz = asked.freq_hz;
    let line = warm(cable.line(freq_hz, asked.run_m)?, asked.ambient_c);
    let system_ohm = asked.system_ohm.unwrap_or(cable.nominal_ohm);
    let load = match asked.load {
        LoadAsked::Swr(swr) => Load::Swr {
            swr,
            against_ohm: system_ohm,
        },
        LoadAsked::Impedance(z) => Load::Impedance(z),
    };
    let transfer = transfer(&line, freq_hz, load, system_ohm)
        .ok_or_else(|| FitnessError::Load(load_text(asked.load)))?;
    let ratings = ratings(cable, freq_hz);
    let stress = asked.peak_w.map(|w| {
        let swr = transfer.line_swr.high;
        stress(
            line.z0_ohm.value,
            w,
            asked.duty,
            swr,
            asked.ambient_c,
            ratings,
        )
    });
    let run_m = asked.run_m.or(cable.piece_m.map(|m| m.value));
    let off = (line.z0_ohm.value / system_ohm - 1.0).abs() > WRONG;
    Ok(Fitness {
        cable: cable.name.clone(),
        run_m,
        at_hz: freq_hz,
        system_ohm,
        impedance: line.z0_ohm.into(),
        delay: RunDelay::of(line.one_way_delay_s),
        matched_loss: MatchedLoss::of(transfer.matched_loss_db),
        total_loss_db: transfer.total_loss_db,
        handbook_loss_db: transfer.handbook_loss_db,
        line_swr: transfer.line_swr,
        input_swr: transfer.input_swr,
        input_mismatch_db: transfer.input_mismatch_db,
        efficiency: transfer.efficiency,
        load_w: asked.peak_w.map(|w| Span {
            low: w * transfer.efficiency.low,
            high: w * transfer.efficiency.high,
        }),
        rated_as: cable.rated_as.as_ref().map(|t| t.designation.clone()),
        wrong_impedance: off
            .then(|| wrong_impedance(&line, freq_hz, system_ohm))
            .flatten(),
        checks: checks(&asked, &transfer, stress.as_ref()),
        bands: bands(cable, &asked),
        remarks: remarks(cable, &asked, &transfer, stress.as_ref()),
        cautions: cautions(&asked, run_m),
        stress: stress.map(UseStress::of),
        asked,
    })
}

impl RunDelay {
    fn of(delay_s: Uncertain) -> Self {
        Self {
            one_way_s: delay_s.value,
            u95_s: delay_s.u95(),
        }
    }
}

impl MatchedLoss {
    fn of(loss_db: Uncertain) -> Self {
        Self {
            db: loss_db.value,
            u95_db: loss_db.u95(),
        }
    }
}

impl UseStress {
    fn of(stress: Stress) -> Self {
        Self {
            peak_v: stress.peak_v,
            peak_a: stress.peak_a,
            average_w: stress.average_w,
            allowed_average_w: stress.allowed_average_w,
            allowed_peak_w: stress.allowed_peak_w,
            conductor_c: stress.conductor.and_then(ConductorHeat::celsius),
            conductor_above_c: match stress.conductor {
                Some(ConductorHeat::Beyond(limit_c)) => Some(limit_c),
                _ => None,
            },
            basis: stress.power_basis,
        }
    }
}

fn warm(line: Line, ambient_c: f64) -> Line {
    Line {
        loss_db: loss_at_temperature_db(line.loss_db, line.dielectric_share, ambient_c),
        ..line
    }
}

/// The load in words.
pub(super) fn load_text(load: LoadAsked) -> String {
    match load {
        LoadAsked::Swr(swr) => format!("SWR {swr}"),
        LoadAsked::Impedance(z) => {
            let sign = if z.im < 0.0 { '-' } else { '+' };
            format!("{}{sign}j{} ohm", z.re, z.im.abs())
        }
    }
}

fn ratings(cable: &KnownCable, freq_hz: f64) -> Ratings {
    let Some(t) = &cable.rated_as else {
        return Ratings::default();
    };
    let ambient_c = t.power.as_ref().map_or(40.0, |p| p.ambient_c().0);
    // A piece without a length has no loss of a metre: then its type's.
    let loss_db_per_m = cable
        .loss_db_per_m(freq_hz)
        .ok()
        .or_else(|| t.loss.typical_db_m(freq_hz).ok());
    Ratings {
        heat: heat_path(t),
        loss_db_per_m: loss_db_per_m.map(|l| (l.value, cable.dielectric_share(freq_hz))),
        average_w: t.power.as_ref().and_then(|p| p.average_w(freq_hz)),
        ambient_c,
        highest_c: t.filling.highest_c(),
        peak_v: t
            .voltage_v
            .as_ref()
            .map(|v| v.value * std::f64::consts::SQRT_2),
    }
}

/// The way of heat through a type whose jacket is known.
fn heat_path(t: &CableType) -> Option<HeatPath> {
    let core = t
        .inner_diameter_m
        .as_ref()
        .zip(t.dielectric_diameter_m.as_ref());
    Some(HeatPath {
        jacket_diameter_m: t.jacket_diameter_m.as_ref()?.value,
        core_k_m_w: core.map_or(0.0, |(inner, outer)| {
            core_resistance_k_m_w(inner.value, outer.value, t.filling.conductivity_w_m_k())
        }),
    })
}

fn checks(asked: &Asked, transfer: &Transfer, stress: Option<&Stress>) -> Vec<Check> {
    let mut checks = Vec::new();
    if let Some(most) = asked.most_loss_db {
        let Span { low, high } = transfer.total_loss_db;
        checks.push(Check {
            what: "loss",
            passes: if high <= most {
                Some(true)
            } else if low > most {
                Some(false)
            } else {
                None
            },
            text: format!("loss {low:.2} to {high:.2} dB against {most} dB allowed"),
        });
    }
    let Some(stress) = stress else { return checks };
    if let Some(allowed) = stress.allowed_average_w {
        checks.push(Check {
            what: "heat",
            passes: Some(stress.average_w <= allowed),
            text: format!(
                "{} average against {} that {} here",
                format_power(stress.average_w),
                format_power(allowed),
                allowed_by(stress.power_basis)
            ),
        });
    }
    if let (Some(allowed), Some(peak)) = (stress.allowed_peak_w, asked.peak_w) {
        checks.push(Check {
            what: "voltage",
            passes: Some(peak <= allowed),
            text: format!(
                "{} peak against {} allowed by the voltage",
                format_power(peak),
                format_power(allowed)
            ),
        });
    }
    checks
}

/// What allows an average power.
fn allowed_by(basis: Option<PowerBasis>) -> &'static str {
    match basis {
        Some(PowerBasis::HeatBalance | PowerBasis::HeatBalanceBelowRating) => {
            "the jacket carries off into still air"
        }
        _ => "the rating allows",
    }
}

fn bands(cable: &KnownCable, asked: &Asked) -> Vec<Band> {
    BANDS_HZ
        .iter()
        .filter_map(|&freq_hz| {
            let line = warm(cable.line(freq_hz, asked.run_m).ok()?, asked.ambient_c);
            let ratings = ratings(cable, freq_hz);
            let matched = stress(line.z0_ohm.value, 1.0, 1.0, 1.0, asked.ambient_c, ratings);
            Some(Band {
                at_hz: freq_hz,
                loss_db: line.loss_db.value,
                u95_db: line.loss_db.u95(),
                efficiency: 10f64.powf(-line.loss_db.value / 10.0),
                allowed_average_w: matched.allowed_average_w,
            })
        })
        .collect()
}

fn remarks(
    cable: &KnownCable,
    asked: &Asked,
    transfer: &Transfer,
    stress: Option<&Stress>,
) -> Vec<String> {
    let mut remarks = Vec::new();
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

fn cautions(asked: &Asked, run_m: Option<f64>) -> Vec<String> {
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
        cautions.extend(lineproof_core::finding::judge::advice::line_cautions());
    }
    cautions
}

#[cfg(test)]
mod tests {
    use super::*;
    use lineproof_core::catalogue::Catalogue;

    fn asked() -> Asked {
        Asked {
            freq_hz: 150e6,
            run_m: Some(28.0),
            peak_w: Some(25.0),
            duty: 1.0,
            load: LoadAsked::Swr(1.0),
            system_ohm: None,
            ambient_c: 20.0,
            most_loss_db: Some(2.22),
        }
    }

    /// Practice case PC54: 28 m of 10 mm solid cable (2.53 dB/100 ft at 150 MHz) against a limit of
    /// 40 % of the power, 2.22 dB: listed as meeting it, at the limit within the catalogue's rounding.
    #[test]
    fn pc54_a_run_at_its_limit_is_not_decided() {
        let t = Catalogue::built_in().find("RG-213").unwrap();
        let got = fitness(&KnownCable::of_type(t), asked()).unwrap();
        let loss = got.matched_loss;
        assert!((loss.db - 2.32).abs() < 0.2, "{loss:?}");
        let check = got.checks.iter().find(|c| c.what == "loss").unwrap();
        assert_eq!(check.passes, None, "{}", check.text);
    }

    /// Issue 18 §11: this was "fit, 59 °C" by a rating of 119 W, with a jacket above 110 °C by the heat.
    #[test]
    fn a_rating_beyond_what_the_jacket_carries_off_is_not_believed() {
        let t = Catalogue::built_in().find("RG-174").unwrap();
        let mut asked = asked();
        (asked.freq_hz, asked.run_m) = (435e6, Some(5.0));
        (asked.peak_w, asked.ambient_c) = (Some(100.0), 40.0);
        asked.most_loss_db = None;
        let got = fitness(&KnownCable::of_type(t), asked).unwrap();
        let stress = got.stress.unwrap();
        assert_eq!(
            (stress.conductor_c, stress.conductor_above_c),
            (None, Some(80.0))
        );
        assert_eq!(got.checks[0].passes, Some(false), "{:?}", got.checks);
        assert!(
            got.remarks
                .iter()
                .any(|r| r.contains("heat balance is taken"))
        );
    }

    #[test]
    fn a_power_too_much_for_a_thin_cable_is_named() {
        let t = Catalogue::built_in().find("RG-174").unwrap();
        let mut asked = asked();
        asked.peak_w = Some(400.0);
        let got = fitness(&KnownCable::of_type(t), asked).unwrap();
        let heat = got.checks.iter().find(|c| c.what == "heat").unwrap();
        assert_eq!(heat.passes, Some(false));
        assert!(got.cautions.iter().any(|c| c.contains("exposure")));
        asked.load = LoadAsked::Impedance(Complex64::new(0.0, 50.0));
        let error = fitness(&KnownCable::of_type(t), asked).unwrap_err();
        assert_eq!(error.to_string(), "a load of 0+j50 ohm takes no power");
    }
}
