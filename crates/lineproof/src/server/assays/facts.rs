//! What a person says besides the sweeps, as typed, and the request that it makes.
//!
//! Texts are kept as they were typed, so that a form comes back as it was left. They are read by the
//! readers of the command line, so both understand the same.

use std::fmt::Display;
use std::path::PathBuf;

use lineproof_core::bench::{FarEnd, MarkedLoss, Marking};
use lineproof_core::formats::{FrequencyUnit, ReadOptions};
use lineproof_core::identify::Observed;
use lineproof_core::quantity::{self, Reading};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::cli::plane::{self, Checked};
use crate::cli::{look, values};
use crate::server::refusal::FieldRefused;
use crate::workflow::adapter::TakeAway;
use crate::workflow::assay::{AssayRequest, Role};
use crate::workflow::attached::Attached;
use crate::workflow::kit::{self, KitError};
use crate::workflow::knowledge::Knowledge;
use crate::workflow::plane::{PlaneSaid, part};
use lineproof_core::finding::judge::Asked;
use lineproof_core::finding::judge::Purpose;
use lineproof_core::finding::judge::criteria::Criteria;
use lineproof_core::finding::judge::types::OwnTypes;

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
    /// No cable: another known part at the plane, the one of `parts`.
    CheckPart,
    /// No cable: a long line at the plane, whose ripple shows what the calibration left.
    Ripple,
    /// No cable: a two-port that was between the plane and the near plug, such as a pad or a transformer,
    /// to be taken out of the sweeps. Several stand from the analyser outwards.
    TakeAway,
    /// A shorter piece of the same cable with the same plugs, from port to port; `shorter_length` is its
    /// length.
    Shorter,
}

/// What is done with a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// It is a sweep.
    Sweep(Role),
    /// It is a two-port that is taken out of the sweeps.
    TakeAway,
    /// Nothing.
    LeftOut,
}

/// What is said besides the sweeps, as typed. An empty text says nothing. Quantities carry their
/// unit; a decimal comma is understood.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq, Serialize, ToSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Facts {
    /// What ended the cable, for each file in its order.
    pub far_ends: Vec<Ended>,
    /// Name of the part at the plane, for each file in its order; read where `far_ends` has `check-part`: a
    /// resistor such as `75ohm` or `25ohm+-0.05ohm`, or a standard of the kit. What is wrong with that of
    /// the first file is said of the field `part_0`.
    pub parts: Vec<String>,
    /// Length between the plugs by tape: `1.5m`, `4ft11in`.
    pub length: String,
    /// How far the tape may be off (95 %): `3mm`; 6 mm and 0.04 % if empty.
    pub tape_error: String,
    /// Length of the shorter piece by tape; read where `far_ends` has `shorter`.
    pub shorter_length: String,
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
    /// Dielectric by eye: `solid-pe`, `foam-pe`, `ptfe` or `air`.
    pub seen_dielectric: String,
    /// Inner conductor by eye: `solid` or `stranded`.
    pub seen_inner: String,
    /// Whether a magnet holds to the inner conductor: `holds` or `does-not`.
    pub seen_magnet: String,
    /// Text of a file of types (TOML), to be among those that it may be.
    pub own_types: String,
    /// Time from the calibration to the sweeps: `40min`, `3h`.
    pub calibration_age: String,
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
            Self::CheckPart => "check-part",
            Self::Ripple => "ripple",
            Self::TakeAway => "take-away",
            Self::Shorter => "shorter",
        }
    }
}

impl Facts {
    /// What is said of the file with this number.
    pub fn ended(&self, number: usize) -> Ended {
        self.far_ends.get(number).copied().unwrap_or_default()
    }

    /// Name of the part in the file with this number.
    pub fn part(&self, number: usize) -> &str {
        self.parts.get(number).map_or("", |name| name.trim())
    }

    /// What is done with the file with this number.
    pub fn use_of(&self, number: usize) -> Use {
        Use::Sweep(match self.ended(number) {
            Ended::Judge => Role::Judge,
            Ended::Open => Role::Open,
            Ended::Short => Role::Short,
            Ended::Load => Role::Load,
            Ended::Through => Role::Through,
            Ended::CheckOpen => Role::Check(FarEnd::Open),
            Ended::CheckShort => Role::Check(FarEnd::Short),
            Ended::CheckLoad => Role::Check(FarEnd::Load),
            Ended::CheckPart => match plane::checked(self.part(number)) {
                Checked::Own(standard) => Role::Check(standard),
                Checked::Part(_) => Role::Part(self.parts_before(number).count()),
            },
            Ended::Ripple => Role::Line,
            Ended::Shorter => Role::Shorter,
            Ended::TakeAway => return Use::TakeAway,
            Ended::LeaveOut => return Use::LeftOut,
        })
    }

    /// Names of the parts in the files before this one, besides the calibration's own.
    fn parts_before(&self, number: usize) -> impl Iterator<Item = String> {
        (0..number.min(self.far_ends.len()))
            .filter(|&n| self.ended(n) == Ended::CheckPart)
            .filter_map(|n| match plane::checked(self.part(n)) {
                Checked::Own(_) => None,
                Checked::Part(name) => Some(name),
            })
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
                tape_error_m: r
                    .read("tape_error", &self.tape_error, quantity::parse_length_m)
                    .map(|r| r.value),
                shorter_length_m: self.shorter_length(r),
                calibration_age_s: r.read("calibration_age", &self.calibration_age, values::time_s),
                marking: self.marking(r),
                ..Knowledge::default()
            },
            plane: self.plane(r),
            asked: self.asked(r),
        };
        if reader.refused.is_empty() {
            Ok(request)
        } else {
            Err(reader.refused)
        }
    }

    fn plane(&self, reader: &mut Reader) -> PlaneSaid {
        let kit = reader.read("kit", &self.kit, kit);
        // a part of a kit that is not understood is not to be refused as well
        if kit.is_some() || self.kit.trim().is_empty() {
            self.check_parts(kit.as_ref(), reader);
        }
        PlaneSaid {
            near: adapter(&self.near_adapter),
            far: adapter(&self.far_adapter),
            kit,
            corrected: !self.corrected.trim().is_empty(),
            parts: self.parts_before(usize::MAX).collect(),
            take_away: Vec::new(),
        }
    }

    fn check_parts(&self, kit: Option<&Attached>, reader: &mut Reader) {
        for number in (0..self.far_ends.len()).filter(|&n| self.ended(n) == Ended::CheckPart) {
            let (field, name) = (format!("part_{number}"), self.part(number));
            match plane::checked(name) {
                Checked::Own(_) => {}
                Checked::Part(_) if name.is_empty() => reader.refuse(
                    &field,
                    "say which part it is: a resistor such as `75ohm`, or a standard of the kit by its name",
                ),
                Checked::Part(name) => {
                    reader.read(&field, &name, |name| part(name, kit));
                }
            }
        }
    }

    /// One piece has one length.
    fn shorter_length(&self, reader: &mut Reader) -> Option<Reading> {
        const FIELD: &str = "shorter_length";
        let shorter = self.far_ends.iter().filter(|&&e| e == Ended::Shorter);
        match shorter.count() {
            0 => return None,
            1 if self.shorter_length.trim().is_empty() => {
                reader.refuse(FIELD, "say how long the shorter piece is, such as `0.50m`");
            }
            1 => {}
            found => reader.refuse(
                FIELD,
                &format!("expected one sweep of a shorter piece, found {found}"),
            ),
        }
        reader.read(FIELD, &self.shorter_length, quantity::parse_length_m)
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
            own_types: reader.read("own_types", &self.own_types, |text| {
                OwnTypes::new(text.to_owned())
            }),
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
            filling: reader.read("seen_dielectric", &self.seen_dielectric, look::filling),
            stranded: reader.read("seen_inner", &self.seen_inner, look::stranded),
            magnetic: reader.read("seen_magnet", &self.seen_magnet, look::magnetic),
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
        field: &str,
        text: &str,
        parse: impl Fn(&str) -> Result<T, E>,
    ) -> Option<T> {
        let text = text.trim();
        if text.is_empty() {
            return None;
        }
        parse(text)
            .map_err(|error| self.refuse(field, &error.to_string()))
            .ok()
    }

    fn refuse(&mut self, field: &str, error: &str) {
        self.refused.push(FieldRefused {
            field: field.to_owned(),
            error: error.to_owned(),
        });
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
    fn parts_are_numbered_in_the_order_of_their_files() {
        let facts = Facts {
            far_ends: vec![
                Ended::CheckPart,
                Ended::Open,
                Ended::CheckPart,
                Ended::TakeAway,
                Ended::CheckPart,
            ],
            parts: [
                "75ohm",
                "no part of a cable",
                " short ",
                "",
                "25ohm+-0.05ohm",
            ]
            .map(str::to_owned)
            .to_vec(),
            ..Facts::default()
        };
        let uses: Vec<Use> = (0..6).map(|n| facts.use_of(n)).collect();
        let wanted = [
            Use::Sweep(Role::Part(0)),
            Use::Sweep(Role::Open),
            Use::Sweep(Role::Check(FarEnd::Short)),
            Use::TakeAway,
            Use::Sweep(Role::Part(1)),
            Use::Sweep(Role::Judge),
        ];
        assert_eq!(uses, wanted);
        let request = facts.request().unwrap();
        assert_eq!(request.plane.parts, ["75ohm", "25ohm+-0.05ohm"]);
    }

    #[test]
    fn what_is_wrong_about_the_plane_is_said_at_its_field() {
        let facts = Facts {
            far_ends: vec![Ended::CheckPart, Ended::CheckPart, Ended::Shorter],
            parts: vec!["../../etc/passwd".to_owned()],
            calibration_age: "3 weeks".to_owned(),
            tape_error: "3".to_owned(),
            seen_magnet: "perhaps".to_owned(),
            own_types: "[[type]]\n".to_owned(),
            ..Facts::default()
        };
        let refused = facts.request().unwrap_err();
        let said = |field: &str| {
            let found = refused.iter().find(|r| r.field == field);
            found.map_or("", |r| r.error.as_str())
        };
        let cases = [
            ("part_0", "`../../etc/passwd` is no part"),
            ("part_1", "say which part it is"),
            ("shorter_length", "how long the shorter piece is"),
            ("calibration_age", "expected one of min, h, d"),
            ("tape_error", "write `3m` or `3ft`"),
            (
                "seen_magnet",
                "expected one of holds, does-not, found `perhaps`",
            ),
            ("own_types", "designation"),
        ];
        for (field, wanted) in cases {
            assert!(said(field).contains(wanted), "{field}: {}", said(field));
        }
        assert_eq!(refused.len(), cases.len(), "{refused:?}");
        let wrong_kit = Facts {
            far_ends: vec![Ended::CheckPart],
            parts: vec!["mismatch".to_owned()],
            kit: "[standards.mismatch]\nkind = \"lid\"\n".to_owned(),
            ..Facts::default()
        };
        let refused = wrong_kit.request().unwrap_err();
        assert!(
            refused.len() == 1 && refused[0].field == "kit",
            "{refused:?}"
        );
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
