//! What a person says besides the sweeps, as typed, and the request that it makes.
//!
//! Texts are kept as they were typed, so that a form comes back as it was left. They are read by the
//! readers of the command line, so both understand the same.

use std::fmt::Display;
use std::path::PathBuf;

use lineproof_core::bench::{FarEnd, MarkedLoss, Marking};
use lineproof_core::formats::{FrequencyUnit, ReadOptions};
use lineproof_core::identify::Observed;
use lineproof_core::quantity;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::cli::{look, values};
use crate::server::refusal::FieldRefused;
use crate::workflow::adapter::TakeAway;
use crate::workflow::assay::{AssayRequest, Role};
use crate::workflow::attached::Attached;
use crate::workflow::criteria::Criteria;
use crate::workflow::find::Asked;
use crate::workflow::kit::{self, KitError};
use crate::workflow::knowledge::Knowledge;
use crate::workflow::plane::PlaneSaid;
use crate::workflow::verdict::Purpose;

/// What ended the cable in one sweep, as said.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Ended {
    /// To be judged by the data and the name.
    #[default]
    Judge,
    /// Nothing.
    Open,
    /// A short.
    Short,
    /// A load.
    Load,
    /// Port 2 of the analyser.
    Through,
    /// The sweep is not to be used.
    LeaveOut,
    /// No cable: the kit's open at the plane, swept again after the calibration.
    CheckOpen,
    /// The same with the kit's short.
    CheckShort,
    /// The same with the kit's load.
    CheckLoad,
}

/// What is said besides the sweeps, as typed. An empty text says nothing. Quantities carry their
/// unit; a decimal comma is understood.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq, Serialize, ToSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Facts {
    /// What ended the cable, for each file in its order.
    pub far_ends: Vec<Ended>,
    /// Length between the plugs by tape: `1.5m`, `4ft11in`.
    pub length: String,
    /// Resistance of the calibration load by ohmmeter: `49.97`.
    pub load_ohms: String,
    /// Resistance at the far end of load sweeps, if it is another part.
    pub far_load_ohms: String,
    /// Temperature of the cable: `21C`.
    pub temperature: String,
    /// Type printed on the jacket.
    pub marked: String,
    /// Impedance that the jacket or the seller claims, ohm.
    pub marked_impedance: String,
    /// Velocity factor that they claim.
    pub marked_velocity_factor: String,
    /// Loss that they claim: `8.2dB/100m@100MHz`.
    pub marked_loss: String,
    /// Frequency of use: `145MHz`.
    pub use_at: String,
    /// Impedance of the system, ohm.
    pub system_impedance: String,
    /// Frequencies wanted besides the usual: `145MHz; 430MHz`.
    pub frequencies: String,
    /// Outside diameter by caliper: `4.95mm`.
    pub seen_diameter: String,
    /// Diameter over the dielectric by caliper.
    pub seen_dielectric_diameter: String,
    /// Diameter of the inner conductor by caliper.
    pub seen_inner_diameter: String,
    /// Adapter between the plane and the near plug: `sma-bnc`, `120ps`.
    pub near_adapter: String,
    /// Adapter between the far plug and what ends the cable.
    pub far_adapter: String,
    /// Unit of frequencies where a file does not say: `Hz`, `kHz`, `MHz`, `GHz`.
    pub frequency_unit: String,
    /// Text of a kit file: the kit that the analyser was calibrated with.
    pub kit: String,
    /// Anything: the sweeps were corrected for what that kit is.
    pub corrected: String,
    /// Text of a criteria file: what the cable must keep to.
    pub criteria: String,
}

impl Ended {
    /// What ends a cable, in the order of a form.
    pub const ALL: [Self; 5] = [
        Self::Open,
        Self::Short,
        Self::Load,
        Self::Through,
        Self::LeaveOut,
    ];

    /// Sweeps of standards in place of a cable.
    pub const CHECKS: [Self; 3] = [Self::CheckOpen, Self::CheckShort, Self::CheckLoad];

    /// Its name in forms and JSON.
    pub fn name(self) -> &'static str {
        match self {
            Self::Judge => "judge",
            Self::Open => "open",
            Self::Short => "short",
            Self::Load => "load",
            Self::Through => "through",
            Self::LeaveOut => "leave-out",
            Self::CheckOpen => "check-open",
            Self::CheckShort => "check-short",
            Self::CheckLoad => "check-load",
        }
    }

    /// The role of a file; none if it is left out.
    pub fn role(self) -> Option<Role> {
        match self {
            Self::Judge => Some(Role::Judge),
            Self::Open => Some(Role::Open),
            Self::Short => Some(Role::Short),
            Self::Load => Some(Role::Load),
            Self::Through => Some(Role::Through),
            Self::LeaveOut => None,
            Self::CheckOpen => Some(Role::Check(FarEnd::Open)),
            Self::CheckShort => Some(Role::Check(FarEnd::Short)),
            Self::CheckLoad => Some(Role::Check(FarEnd::Load)),
        }
    }
}

impl Facts {
    /// What is said of the file with this number.
    pub fn ended(&self, number: usize) -> Ended {
        self.far_ends.get(number).copied().unwrap_or_default()
    }

    /// The request that the facts make, without files.
    ///
    /// # Errors
    /// Every field that is not understood.
    pub fn request(&self) -> Result<AssayRequest, Vec<FieldRefused>> {
        let mut reader = Reader::default();
        let r = &mut reader;
        let request = AssayRequest {
            inputs: Vec::new(),
            read: ReadOptions {
                freq_unit: r.read("frequency_unit", &self.frequency_unit, frequency_unit),
                ..ReadOptions::default()
            },
            knowledge: Knowledge {
                load_ohm: r.read("load_ohms", &self.load_ohms, values::ohms),
                far_load_ohm: r.read("far_load_ohms", &self.far_load_ohms, values::ohms),
                length_m: r.read("length", &self.length, quantity::parse_length_m),
                marking: self.marking(r),
                ..Knowledge::default()
            },
            plane: PlaneSaid {
                near: adapter(&self.near_adapter),
                far: adapter(&self.far_adapter),
                kit: r.read("kit", &self.kit, kit),
                corrected: !self.corrected.trim().is_empty(),
                ..PlaneSaid::default()
            },
            asked: self.asked(r),
        };
        if reader.refused.is_empty() {
            Ok(request)
        } else {
            Err(reader.refused)
        }
    }

    fn marking(&self, reader: &mut Reader) -> Marking {
        let ohm = reader.read("marked_impedance", &self.marked_impedance, values::ohms);
        let vf = reader.read(
            "marked_velocity_factor",
            &self.marked_velocity_factor,
            values::velocity_factor,
        );
        let loss = reader.read("marked_loss", &self.marked_loss, values::attenuation_at);
        Marking {
            designation: reader.read("marked", &self.marked, plain),
            impedance_ohm: ohm.map(|r| r.value),
            velocity_factor: vf.map(|r| r.value),
            loss: loss.and_then(|loss| {
                Some(MarkedLoss {
                    db_per_100m: loss.db_per_100m.value,
                    at_hz: loss.at_hz?.value,
                })
            }),
        }
    }

    fn asked(&self, reader: &mut Reader) -> Asked {
        let hz = quantity::parse_frequency_hz;
        let system = reader.read("system_impedance", &self.system_impedance, values::ohms);
        Asked {
            frequencies_hz: several(&self.frequencies)
                .filter_map(|text| reader.read("frequencies", text, hz))
                .map(|r| r.value)
                .collect(),
            temperature_c: reader.read("temperature", &self.temperature, values::temperature_c),
            criteria: reader
                .read("criteria", &self.criteria, Criteria::from_toml)
                .unwrap_or_default(),
            purpose: Purpose {
                system_ohm: system.map(|r| r.value),
                use_hz: reader.read("use_at", &self.use_at, hz).map(|r| r.value),
            },
            look: self.look(reader),
            ..Asked::default()
        }
    }

    fn look(&self, reader: &mut Reader) -> Observed {
        let mut seen = |field, text: &str| {
            let read = reader.read(field, text, quantity::parse_length_m);
            read.map(look::typed)
        };
        Observed {
            jacket_diameter_m: seen("seen_diameter", &self.seen_diameter),
            dielectric_diameter_m: seen("seen_dielectric_diameter", &self.seen_dielectric_diameter),
            inner_diameter_m: seen("seen_inner_diameter", &self.seen_inner_diameter),
            ..Observed::default()
        }
    }
}

/// Reads texts and gathers what is not understood.
#[derive(Default)]
struct Reader {
    refused: Vec<FieldRefused>,
}

impl Reader {
    fn read<T, E: Display>(
        &mut self,
        field: &'static str,
        text: &str,
        parse: impl Fn(&str) -> Result<T, E>,
    ) -> Option<T> {
        let text = text.trim();
        if text.is_empty() {
            return None;
        }
        parse(text)
            .map_err(|error| {
                self.refused.push(FieldRefused {
                    field: field.to_owned(),
                    error: error.to_string(),
                });
            })
            .ok()
    }
}

#[expect(clippy::unnecessary_wraps, reason = "a reader like the others")]
fn plain(text: &str) -> Result<String, String> {
    Ok(text.to_owned())
}

/// A kit file's text. Standards that another file describes are passed over: no file is looked up.
fn kit(text: &str) -> Result<Attached, KitError> {
    let file = Attached::held(PathBuf::from("kit.toml"), text.as_bytes().to_vec());
    kit::described(&file)?;
    Ok(file)
}

/// An adapter in words. A text from a page is never the name of a file.
fn adapter(text: &str) -> Option<TakeAway> {
    let text = text.trim();
    (!text.is_empty()).then(|| TakeAway::Described(text.to_owned()))
}

fn frequency_unit(text: &str) -> Result<FrequencyUnit, String> {
    match text {
        "Hz" => Ok(FrequencyUnit::Hz),
        "kHz" => Ok(FrequencyUnit::KHz),
        "MHz" => Ok(FrequencyUnit::MHz),
        "GHz" => Ok(FrequencyUnit::GHz),
        _ => Err(format!("expected one of Hz, kHz, MHz, GHz, found `{text}`")),
    }
}

/// Several quantities, apart by semicolons, or by commas that stand behind a unit: `145MHz, 7,1MHz`.
fn several(text: &str) -> impl Iterator<Item = &str> {
    let mut after_unit = false;
    let parts = text.split(move |c: char| {
        let apart = c == ';' || (c == ',' && after_unit);
        if !c.is_whitespace() {
            after_unit = c.is_alphabetic();
        }
        apart
    });
    parts.filter(|part| !part.trim().is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_read_as_on_the_command_line() {
        let facts = Facts {
            length: " 2,4m ".to_owned(),
            load_ohms: "49,97".to_owned(),
            marked_loss: "8.2dB/100m@100MHz".to_owned(),
            frequencies: "145MHz, 7,1MHz;430 MHz".to_owned(),
            near_adapter: "../../etc/passwd.s2p".to_owned(),
            ..Facts::default()
        };
        let request = facts.request().unwrap();
        assert_eq!(request.knowledge.length_m.unwrap().value, 2.4);
        assert_eq!(request.knowledge.load_ohm.unwrap().value, 49.97);
        assert_eq!(request.knowledge.marking.loss.unwrap().at_hz, 1e8);
        assert_eq!(request.asked.frequencies_hz, [145e6, 7.1e6, 430e6]);
        assert!(matches!(request.plane.near, Some(TakeAway::Described(_))));
    }

    #[test]
    fn kit_and_criteria_are_texts_and_name_no_file_of_this_machine() {
        let facts = Facts {
            kit: "[standards.open]\nkind = \"open\"\n[standards.far]\nkind = \"table\"\nfile = \"/etc/passwd\"\n"
                .to_owned(),
            criteria: "loss_excess = 0.1".to_owned(),
            corrected: "yes".to_owned(),
            ..Facts::default()
        };
        let request = facts.request().unwrap();
        assert!(request.plane.corrected && request.plane.kit.is_some());
        assert_eq!(request.asked.criteria.loss_excess, 0.1);
        let wrong = Facts {
            kit: "[standards.open]\nkind = \"lid\"\n".to_owned(),
            criteria: "loss_exces = 0.1".to_owned(),
            ..Facts::default()
        };
        let refused = wrong.request().unwrap_err();
        let fields: Vec<&str> = refused.iter().map(|r| r.field.as_str()).collect();
        assert_eq!(fields, ["kit", "criteria"]);
        assert!(refused[0].error.contains("lid"), "{}", refused[0].error);
    }

    #[test]
    fn every_field_that_is_not_understood_is_named() {
        let facts = Facts {
            length: "2.4".to_owned(),
            temperature: "warm".to_owned(),
            frequencies: "145MHz; many".to_owned(),
            ..Facts::default()
        };
        let refused = facts.request().unwrap_err();
        let fields: Vec<&str> = refused.iter().map(|r| r.field.as_str()).collect();
        assert_eq!(fields, ["length", "frequencies", "temperature"]);
        assert!(refused[0].error.contains("2.4ft"), "{}", refused[0].error);
    }
}
