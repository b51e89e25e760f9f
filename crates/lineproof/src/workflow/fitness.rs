//! What a cable is fit for: the core's pure functions put to one use and a table of bands.

use lineproof_core::catalogue::CableType;
use lineproof_core::fitness::{
    HeatPath, Line, Load, PowerBasis, Ratings, Span, Stress, Transfer, WrongImpedance,
    core_resistance_k_m_w, loss_at_temperature_db, stress, transfer, wrong_impedance,
};
use lineproof_core::quantity::{format_frequency, format_power};
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;
use serde::Serialize;
use thiserror::Error;
use utoipa::ToSchema;

use super::cable::{CableError, KnownCable};

/// Bands of the table, Hz: amateur and service bands, a frequency of each.
pub const BANDS_HZ: [f64; 12] = [
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
pub enum LoadAsked {
    /// SWR against the system.
    Swr(f64),
    /// Impedance, ohm.
    Impedance(Complex64),
}

/// One use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Length of the run, m; the assayed piece if absent.
    pub run_m: Option<f64>,
    /// Peak envelope power into the line, W.
    pub peak_w: Option<f64>,
    /// Average over peak power.
    pub duty: f64,
    /// What ends the run.
    pub load: LoadAsked,
    /// Impedance of source and load, ohm.
    pub system_ohm: Option<f64>,
    /// Temperature around the cable, °C.
    pub ambient_c: f64,
    /// Most loss allowed, dB.
    pub most_loss_db: Option<f64>,
}

/// Something that a use asks of a cable, and whether it gives it.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
#[schema(as = UseCheck)]
pub struct Check {
    /// What: `loss`, `heat` or `voltage`.
    pub what: &'static str,
    /// Whether it does; null if the interval does not decide.
    #[schema(required)]
    pub passes: Option<bool>,
    /// The same with figures.
    pub text: String,
}

/// One row of the band table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Matched loss of the run, dB.
    pub loss_db: Uncertain,
    /// Part of the power that reaches a matched load.
    pub efficiency: f64,
    /// Average power that the rating allows with a matched load, W.
    pub allowed_w: Option<f64>,
}

/// What a cable does for a use.
#[derive(Clone, Debug)]
pub struct Fitness {
    /// How a sentence calls the cable.
    pub name: String,
    /// Run, m, if it is known.
    pub run_m: Option<f64>,
    /// The run at the frequency.
    pub line: Line,
    /// Impedance of source and load, ohm.
    pub system_ohm: f64,
    /// Power from end to end.
    pub transfer: Transfer,
    /// Power that reaches the load, W.
    pub load_w: Option<Span>,
    /// Voltage, current, heat.
    pub stress: Option<Stress>,
    /// Type whose ratings were used.
    pub rated_as: Option<String>,
    /// Price of the wrong impedance, if it is wrong.
    pub wrong: Option<WrongImpedance>,
    /// What the use asks.
    pub checks: Vec<Check>,
    /// The run at other frequencies.
    pub bands: Vec<Band>,
    /// What must be known besides.
    pub remarks: Vec<String>,
    /// Care to take.
    pub cautions: Vec<String>,
}

/// Why there is no answer.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum FitnessError {
    /// The cable is not known well enough.
    #[error(transparent)]
    Cable(#[from] CableError),
    /// A load that takes no power.
    #[error("a load of {0} takes no power")]
    Load(String),
}

/// Answers the question.
///
/// # Errors
/// [`FitnessError`].
pub fn fitness(cable: &KnownCable, asked: &Asked) -> Result<Fitness, FitnessError> {
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
        name: cable.name.clone(),
        run_m,
        load_w: asked.peak_w.map(|w| Span {
            low: w * transfer.efficiency.low,
            high: w * transfer.efficiency.high,
        }),
        wrong: off
            .then(|| wrong_impedance(&line, freq_hz, system_ohm))
            .flatten(),
        checks: checks(asked, &transfer, stress.as_ref()),
        bands: bands(cable, asked),
        remarks: remarks(cable, asked, &transfer, stress.as_ref()),
        cautions: cautions(asked, run_m),
        rated_as: cable.rated_as.as_ref().map(|t| t.designation.clone()),
        line,
        system_ohm,
        transfer,
        stress,
    })
}

fn warm(line: Line, ambient_c: f64) -> Line {
    Line {
        loss_db: loss_at_temperature_db(line.loss_db, line.dielectric_share, ambient_c),
        ..line
    }
}

/// The load in words.
pub fn load_text(load: LoadAsked) -> String {
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
                "{} peak against {} that the voltage allows here",
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
                freq_hz,
                loss_db: line.loss_db,
                efficiency: 10f64.powf(-line.loss_db.value / 10.0),
                allowed_w: matched.allowed_average_w,
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
                "the handbook formula gives {handbook:.2} dB; it averages over the standing wave, \
                 and this run is too short for that"
            ));
        }
    }
    let Some(stress) = stress else { return remarks };
    match &cable.rated_as {
        None => remarks.push(
            "no ratings are known for this cable: name the type that it is with --rated-as"
                .to_owned(),
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
                    "the maker does not say at which ambient the power holds: 40 °C is taken"
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
            "that is close to the limit: sun on a black jacket or a bundle takes the rest"
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
                "check the distance that people keep from the antenna against the local limits for exposure"
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
        let got = fitness(&KnownCable::of_type(t), &asked()).unwrap();
        let loss = got.transfer.matched_loss_db;
        assert!((loss.value - 2.32).abs() < 0.2, "{loss}");
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
        let got = fitness(&KnownCable::of_type(t), &asked).unwrap();
        let stress = got.stress.unwrap();
        let wanted = lineproof_core::fitness::ConductorHeat::Beyond(80.0);
        assert_eq!(stress.conductor, Some(wanted));
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
        let got = fitness(&KnownCable::of_type(t), &asked).unwrap();
        let heat = got.checks.iter().find(|c| c.what == "heat").unwrap();
        assert_eq!(heat.passes, Some(false));
        assert!(got.cautions.iter().any(|c| c.contains("exposure")));
        asked.load = LoadAsked::Impedance(Complex64::new(0.0, 50.0));
        let error = fitness(&KnownCable::of_type(t), &asked).unwrap_err();
        assert_eq!(error.to_string(), "a load of 0+j50 ohm takes no power");
    }
}
