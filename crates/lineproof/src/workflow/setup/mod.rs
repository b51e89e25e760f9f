//! Everything besides the sweeps that an assay was told, as the shelf keeps it: what is needed to
//! find the same again, and what is good to know next year.
//!
//! A key that an older program did not write is absent and means that nothing was said.

mod look;
mod plane;
mod purpose;

use lineproof_core::bench::{MarkedLoss, Marking};
use lineproof_core::formats::{FrequencyUnit, PairFormat, ReadOptions};
use lineproof_core::quantity::{Reading, format_frequency};
use serde::{Deserialize, Serialize};

use self::look::Looked;
use self::plane::SaidOfPlane;
use self::purpose::{Limits, MeantFor};
use super::assay::AssayRequest;
use super::knowledge::Knowledge;
use super::plane::Resolved;
use lineproof_core::finding::judge::Asked;
use lineproof_core::finding::judge::types::OwnTypes;

/// The set-up of an assay.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Serialize)]
#[serde(default)]
pub struct Setup {
    /// The analyser, in the user's words.
    pub instrument: Option<String>,
    /// The calibration kit, in the user's words.
    pub kit_note: Option<String>,
    load_ohm: Option<Typed>,
    far_load_ohm: Option<Typed>,
    length_m: Option<Typed>,
    tape_error_m: Option<f64>,
    shorter_length_m: Option<Typed>,
    calibration_age_s: Option<f64>,
    marked: Marked,
    frequencies_hz: Vec<f64>,
    /// Temperature of the cable, °C.
    pub temperature_c: Option<f64>,
    plane: SaidOfPlane,
    criteria: Limits,
    purpose: MeantFor,
    look: Looked,
    own_types: Option<String>,
    reading: HowRead,
}

/// A number with the resolution of its last digit.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Serialize)]
struct Typed {
    value: f64,
    half_digit: f64,
}

/// What the jacket claims.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Serialize)]
#[serde(default)]
struct Marked {
    designation: Option<String>,
    impedance_ohm: Option<f64>,
    velocity_factor: Option<f64>,
    loss_db_per_100m: Option<f64>,
    loss_at_hz: Option<f64>,
}

/// How files are read where they do not say themselves.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Serialize)]
#[serde(default)]
struct HowRead {
    strict: bool,
    frequency_unit: Option<String>,
    pair_format: Option<String>,
    reference_ohm: Option<f64>,
}

const UNITS: [(FrequencyUnit, &str); 4] = [
    (FrequencyUnit::Hz, "Hz"),
    (FrequencyUnit::KHz, "kHz"),
    (FrequencyUnit::MHz, "MHz"),
    (FrequencyUnit::GHz, "GHz"),
];
const PAIRS: [(PairFormat, &str); 3] = [
    (PairFormat::DecibelAngle, "db"),
    (PairFormat::MagnitudeAngle, "ma"),
    (PairFormat::RealImaginary, "ri"),
];

impl Setup {
    /// What a request says. Each field is named, so that a new one is not forgotten here. The files
    /// are kept elsewhere; views are made again when they are asked for.
    pub fn of(request: &AssayRequest) -> Self {
        let AssayRequest {
            inputs: _,
            read,
            knowledge,
            plane,
            asked,
        } = request;
        let Knowledge {
            load_ohm,
            far_load_ohm,
            length_m,
            tape_error_m,
            shorter_length_m,
            calibration_age_s,
            marking,
            plane: _resolved_anew,
        } = knowledge;
        let Asked {
            frequencies_hz,
            temperature_c,
            criteria,
            purpose,
            own_types,
            look,
            progress: _,
        } = asked;
        Self {
            instrument: None,
            kit_note: None,
            load_ohm: load_ohm.map(Typed::of),
            far_load_ohm: far_load_ohm.map(Typed::of),
            length_m: length_m.map(Typed::of),
            tape_error_m: *tape_error_m,
            shorter_length_m: shorter_length_m.map(Typed::of),
            calibration_age_s: *calibration_age_s,
            marked: Marked::of(marking),
            frequencies_hz: frequencies_hz.clone(),
            temperature_c: *temperature_c,
            plane: SaidOfPlane::of(plane),
            criteria: Limits::of(*criteria),
            purpose: MeantFor::of(*purpose),
            look: Looked::of(look),
            own_types: own_types.as_ref().map(|own| own.text().to_owned()),
            reading: HowRead::of(*read),
        }
    }

    /// What was said, for people: what and which.
    pub fn facts(&self) -> Vec<(&'static str, String)> {
        let typed = |typed: Option<Typed>| typed.map(|t| t.value);
        let known = [
            ("analyser", self.instrument.clone()),
            ("kit", self.kit_note.clone()),
            (
                "calibration load",
                typed(self.load_ohm).map(|ohm| format!("{ohm} ohm by ohmmeter")),
            ),
            (
                "load at the far end",
                typed(self.far_load_ohm).map(|ohm| format!("{ohm} ohm")),
            ),
            (
                "length by tape",
                typed(self.length_m).map(|m| format!("{m} m")),
            ),
            (
                "shorter piece by tape",
                typed(self.shorter_length_m).map(|m| format!("{m} m")),
            ),
            ("time since calibration", self.calibration_age_s.map(hours)),
            ("temperature", self.temperature_c.map(|t| format!("{t} °C"))),
            ("marked", self.marked.designation.clone()),
            (
                "system",
                self.purpose
                    .purpose()
                    .system_ohm
                    .map(|z| format!("{z} ohm")),
            ),
            (
                "frequency of use",
                self.purpose.purpose().use_hz.map(format_frequency),
            ),
        ];
        let known = known.into_iter().chain(self.plane.facts());
        known
            .filter_map(|(name, value)| Some((name, value?)))
            .collect()
    }

    /// The request that it came from, without its files.
    pub fn request(&self) -> AssayRequest {
        let reading = |typed: Option<Typed>| typed.map(Typed::reading);
        AssayRequest {
            inputs: Vec::new(),
            read: self.reading.options(),
            knowledge: Knowledge {
                load_ohm: reading(self.load_ohm),
                far_load_ohm: reading(self.far_load_ohm),
                length_m: reading(self.length_m),
                tape_error_m: self.tape_error_m,
                shorter_length_m: reading(self.shorter_length_m),
                calibration_age_s: self.calibration_age_s,
                marking: self.marked.marking(),
                plane: Resolved::default(),
            },
            plane: self.plane.said(),
            asked: Asked {
                frequencies_hz: self.frequencies_hz.clone(),
                temperature_c: self.temperature_c,
                criteria: self.criteria.criteria(),
                purpose: self.purpose.purpose(),
                own_types: self.own_types.clone().and_then(|t| OwnTypes::new(t).ok()),
                look: self.look.look(),
                ..Asked::default()
            },
        }
    }
}

/// A time for people.
pub fn hours(time_s: f64) -> String {
    format!("{:.1} hours", time_s / 3600.0)
}

impl Typed {
    fn of(reading: Reading) -> Self {
        Self {
            value: reading.value,
            half_digit: reading.half_digit,
        }
    }

    fn reading(self) -> Reading {
        Reading {
            value: self.value,
            half_digit: self.half_digit,
        }
    }
}

impl Marked {
    fn of(marking: &Marking) -> Self {
        let Marking {
            designation,
            impedance_ohm,
            velocity_factor,
            loss,
        } = marking;
        Self {
            designation: designation.clone(),
            impedance_ohm: *impedance_ohm,
            velocity_factor: *velocity_factor,
            loss_db_per_100m: loss.map(|l| l.db_per_100m),
            loss_at_hz: loss.map(|l| l.at_hz),
        }
    }

    fn marking(&self) -> Marking {
        let loss = self.loss_db_per_100m.zip(self.loss_at_hz);
        Marking {
            designation: self.designation.clone(),
            impedance_ohm: self.impedance_ohm,
            velocity_factor: self.velocity_factor,
            loss: loss.map(|(db_per_100m, at_hz)| MarkedLoss { db_per_100m, at_hz }),
        }
    }
}

impl HowRead {
    fn of(options: ReadOptions) -> Self {
        let ReadOptions {
            strict,
            freq_unit,
            pair_format,
            z_ref_ohm,
        } = options;
        Self {
            strict,
            frequency_unit: freq_unit.and_then(|u| name(&UNITS, u)),
            pair_format: pair_format.and_then(|p| name(&PAIRS, p)),
            reference_ohm: z_ref_ohm,
        }
    }

    fn options(&self) -> ReadOptions {
        ReadOptions {
            strict: self.strict,
            freq_unit: self
                .frequency_unit
                .as_deref()
                .and_then(|n| named(&UNITS, n)),
            pair_format: self.pair_format.as_deref().and_then(|n| named(&PAIRS, n)),
            z_ref_ohm: self.reference_ohm,
        }
    }
}

fn name<T: Copy + PartialEq>(table: &[(T, &str)], value: T) -> Option<String> {
    let row = table.iter().find(|(v, _)| *v == value)?;
    Some(row.1.to_owned())
}

fn named<T: Copy>(table: &[(T, &str)], name: &str) -> Option<T> {
    let row = table.iter().find(|(_, n)| *n == name)?;
    Some(row.0)
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use lineproof_core::catalogue::Filling;
    use lineproof_core::identify::Observed;
    use lineproof_core::uncertain::Uncertain;

    use super::super::adapter::TakeAway;
    use super::super::attached::Attached;
    use super::super::plane::PlaneSaid;
    use super::*;
    use lineproof_core::finding::judge::Purpose;
    use lineproof_core::finding::judge::criteria::Criteria;

    const OWN: &str = "[[type]]\ndesignation = \"Oil store reel\"\nimpedance = \"50ohm\"\nvelocity_factor = 0.83\n";

    #[test]
    fn a_request_comes_back_from_its_setup() {
        let typed = |value| {
            Some(Reading {
                value,
                half_digit: 0.005,
            })
        };
        let held = |name: &str| Attached::held(PathBuf::from(name), b"! bytes".to_vec());
        let request = AssayRequest {
            inputs: Vec::new(),
            read: ReadOptions {
                strict: true,
                freq_unit: Some(FrequencyUnit::MHz),
                pair_format: Some(PairFormat::DecibelAngle),
                z_ref_ohm: Some(75.0),
            },
            knowledge: Knowledge {
                load_ohm: typed(49.97),
                far_load_ohm: typed(100.1),
                length_m: typed(1.5),
                tape_error_m: Some(0.002),
                shorter_length_m: typed(0.5),
                calibration_age_s: Some(7200.0),
                marking: Marking {
                    designation: Some("RG-59".to_owned()),
                    impedance_ohm: Some(75.0),
                    velocity_factor: Some(0.66),
                    loss: Some(MarkedLoss {
                        db_per_100m: 8.2,
                        at_hz: 1e8,
                    }),
                },
                plane: Resolved::default(),
            },
            plane: PlaneSaid {
                near: Some(TakeAway::Described("120ps".to_owned())),
                far: Some(TakeAway::File(held("pad.s2p"))),
                kit: Some(held("kit.toml")),
                corrected: true,
                parts: vec!["25ohm".to_owned()],
                take_away: vec![held("transformer.s2p")],
            },
            asked: Asked {
                frequencies_hz: vec![145e6],
                temperature_c: Some(21.0),
                criteria: Criteria {
                    impedance_tolerance: 0.01,
                    velocity_tolerance: 0.02,
                    loss_excess: 0.03,
                    loss_excess_db: 0.04,
                    shortest_m: 0.05,
                    most_loss_db: Some(0.06),
                },
                purpose: Purpose {
                    system_ohm: Some(75.0),
                    use_hz: Some(430e6),
                },
                own_types: Some(OwnTypes::new(OWN.to_owned()).unwrap()),
                look: Observed {
                    jacket_diameter_m: Some(Uncertain::new(6.1e-3, 5e-5)),
                    dielectric_diameter_m: Some(Uncertain::new(3.7e-3, 5e-5)),
                    inner_diameter_m: Some(Uncertain::new(0.81e-3, 1e-5)),
                    capacitance_f_m: Some(Uncertain::new(67e-12, 1e-12)),
                    filling: Some(Filling::Ptfe),
                    stranded: Some(true),
                    magnetic: Some(false),
                    ..Observed::default()
                },
                ..Asked::default()
            },
        };
        let json = serde_json::to_string(&Setup::of(&request)).unwrap();
        let back: Setup = serde_json::from_str(&json).unwrap();
        assert_eq!(format!("{:?}", back.request()), format!("{request:?}"));
        let empty: Setup = serde_json::from_str("{}").unwrap();
        assert_eq!(empty, Setup::default());
    }
}
