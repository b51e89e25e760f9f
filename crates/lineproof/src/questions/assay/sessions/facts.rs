//! What a person says besides the sweeps, as typed, and the request that it makes.
//!
//! Texts are kept as they were typed, so that a form comes back as it was left. They are read by the
//! readers of the command line, so both understand the same.

use std::fmt;

use lineproof_core::bench::FarEnd;
use serde::de::{Error as _, MapAccess, Visitor};
use serde::ser::SerializeMap;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use utoipa::openapi::schema::{AdditionalProperties, ArrayBuilder, ObjectBuilder, Schema, Type};
use utoipa::openapi::{Ref, RefOr};
use utoipa::{PartialSchema, ToSchema};

use crate::cli::plane::{self, Checked};
use crate::facts::{self, About, Ended, Question, Refused, Row, Said, Shape, Word, table};
use crate::server::refusal::FieldRefused;
use crate::workflow::assay::{AssayRequest, Role};
use crate::workflow::attached::Attached;
use crate::workflow::plane::part;

/// What is done with a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// It is a sweep.
    Sweep(Role),
    /// It is a two-port that is taken out of the sweeps.
    DeEmbed,
    /// Nothing.
    LeftOut,
}

/// What is said of the files, and besides. The JSON has every fact of an assay by its name, as typed: an empty
/// text says nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facts {
    /// What ended the cable, for each file in order.
    pub far_ends: Vec<Ended>,
    /// Name of the part at the plane, for each file in its order.
    pub parts: Vec<String>,
    /// What is said besides.
    pub said: Said,
}

const FAR_ENDS: &str = "far_ends";
const PARTS: &str = "parts";

/// The facts that an assay takes.
fn taken() -> impl Iterator<Item = &'static dyn Row> {
    table::taken_by(Question::Assay)
}

/// The fact of this name, if an assay takes it.
fn taken_as(name: &str) -> Option<&'static dyn Row> {
    taken().find(|fact| fact.about().name == name)
}

impl Serialize for Facts {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry(FAR_ENDS, &self.far_ends)?;
        map.serialize_entry(PARTS, &self.parts)?;
        for fact in taken() {
            map.serialize_entry(fact.about().name, self.said.text(fact))?;
        }
        map.end()
    }
}

impl<'de> Deserialize<'de> for Facts {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(ByName)
    }
}

/// Takes facts by their names.
struct ByName;

impl<'de> Visitor<'de> for ByName {
    type Value = Facts;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("facts by their names")
    }

    fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Facts, M::Error> {
        let mut facts = Facts::default();
        while let Some(name) = map.next_key::<String>()? {
            match name.as_str() {
                FAR_ENDS => facts.far_ends = map.next_value()?,
                PARTS => facts.parts = map.next_value()?,
                name => {
                    let fact = taken_as(name).ok_or_else(|| M::Error::custom(unknown(name)))?;
                    facts.said.say(fact, Word::Text(map.next_value()?));
                }
            }
        }
        Ok(facts)
    }
}

/// Puts what is said of one file where those of the others stand.
fn place<T: Clone + Default>(all: &mut Vec<T>, number: usize, most: usize, said: T) {
    if number < most {
        all.resize((number + 1).max(all.len()), T::default());
        all[number] = said;
    }
}

/// What is said of a name that is no fact.
fn unknown(name: &str) -> String {
    format!("there is no fact `{name}`")
}

impl ToSchema for Facts {
    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        schemas.push((<Ended as ToSchema>::name().into_owned(), Ended::schema()));
    }
}

impl PartialSchema for Facts {
    fn schema() -> RefOr<Schema> {
        let text = || ObjectBuilder::new().schema_type(Type::String);
        let far_ends = ArrayBuilder::new()
            .items(Ref::from_schema_name(<Ended as ToSchema>::name()))
            .description(Some("What ended the cable, for each file in order."));
        let parts = ArrayBuilder::new().items(text()).description(Some(
            "Name of the part at the plane, for each file in its order; read where `far_ends` has \
             `check-part`: a resistor such as `75ohm` or `25ohm+-0.05ohm`, or a standard of the kit. What is \
             wrong with that of the first file is said of the field `part_0`.",
        ));
        let object = ObjectBuilder::new()
            .description(Some(
                "What is known besides the sweeps, as typed. An empty text states nothing. Write \
                 quantities with their unit; a decimal comma is accepted.",
            ))
            .property(FAR_ENDS, far_ends)
            .property(PARTS, parts)
            .additional_properties(Some(AdditionalProperties::FreeForm(false)));
        let object = taken().fold(object, |object, fact| {
            let described = text().description(Some(description(fact)));
            object.property(fact.about().name, described)
        });
        object.into()
    }
}

/// What the API says of a fact.
fn description(fact: &dyn Row) -> String {
    let About { help, hint, .. } = fact.about();
    match fact.shape() {
        Shape::Choice(_, choices) => {
            let words = choices.iter().map(|(word, _)| format!("`{word}`"));
            format!("{help}: {}.", words.collect::<Vec<_>>().join(", "))
        }
        Shape::Flag => format!("{help}: any text says yes."),
        Shape::File => format!("{help}; here its text."),
        _ => format!("{help}: `{hint}`."),
    }
}

impl Facts {
    /// Whether a field is the text of a file.
    pub fn is_file(name: &str) -> bool {
        taken_as(name).is_some_and(|fact| matches!(fact.shape(), Shape::File))
    }

    /// Says what stands in a field of a form. Of each file it is said by a list in the order of the files, or
    /// by a field of its own with its number, up to `most`: radio buttons need a name for each file.
    ///
    /// # Errors
    /// What is wrong with the name or the text.
    pub fn say(&mut self, name: &str, text: String, most: usize) -> Result<(), String> {
        let number = |before| {
            let number = name.strip_prefix(before)?.parse().unwrap_or(most);
            Some(number)
        };
        if let Some(number) = number("far_end_") {
            place(&mut self.far_ends, number, most, Ended::named(&text)?);
        } else if let Some(number) = number("part_") {
            place(&mut self.parts, number, most, text);
        } else if name == FAR_ENDS {
            self.far_ends.push(Ended::named(&text)?);
        } else if name == PARTS {
            self.parts.push(text);
        } else {
            let fact = taken_as(name).ok_or_else(|| unknown(name))?;
            self.said.say(fact, Word::Text(text));
        }
        Ok(())
    }

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
            Ended::Antenna => Role::Antenna,
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
            Ended::DeEmbed => return Use::DeEmbed,
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
        let (mut request, mut refused) = match facts::request(&self.said) {
            Ok(request) => (Some(request), Vec::new()),
            Err(refused) => (None, refused.into_iter().map(FieldRefused::from).collect()),
        };
        let kit = self.said.word(&table::KIT);
        // a part of a kit that is not understood is not to be refused as well
        if kit.is_none_or(|kit| table::KIT.check(kit).is_ok()) {
            let kit = kit.and_then(|kit| kit.file("kit.toml"));
            refused.extend(self.wrong_parts(kit.as_ref()));
        }
        refused.extend(self.wrong_shorter());
        match request.take() {
            Some(mut request) if refused.is_empty() => {
                request.plane.parts = self.parts_before(usize::MAX).collect();
                if !self.far_ends.contains(&Ended::Shorter) {
                    request.knowledge.shorter_length_m = None;
                }
                Ok(request)
            }
            _ => Err(refused),
        }
    }

    /// What is wrong with the parts that are said to be in the files.
    fn wrong_parts(&self, kit: Option<&Attached>) -> Vec<FieldRefused> {
        let numbers = 0..self.far_ends.len();
        let wrong = |number: usize| {
            let error = match plane::checked(self.part(number)) {
                Checked::Own(_) => return None,
                Checked::Part(name) if name.is_empty() => {
                    "name the part: a resistor such as `75ohm`, or a standard of the kit by its name"
                        .to_owned()
                }
                Checked::Part(name) => part(&name, kit).err()?.to_string(),
            };
            Some(FieldRefused {
                field: format!("part_{number}"),
                error,
            })
        };
        let checked = numbers.filter(|&n| self.ended(n) == Ended::CheckPart);
        checked.filter_map(wrong).collect()
    }

    /// One piece has one length.
    fn wrong_shorter(&self) -> Option<FieldRefused> {
        let shorter = self.far_ends.iter().filter(|&&e| e == Ended::Shorter);
        let error = match shorter.count() {
            0 => return None,
            1 if self.said.has(&table::SHORTER_LENGTH) => return None,
            1 => "give the length of the shorter piece, such as `0.50m`".to_owned(),
            found => format!("expected one sweep of a shorter piece, found {found}"),
        };
        Some(FieldRefused {
            field: table::SHORTER_LENGTH.about.name.to_owned(),
            error,
        })
    }
}

impl From<Refused> for FieldRefused {
    fn from(refused: Refused) -> Self {
        Self {
            field: refused.fact.name.to_owned(),
            error: refused.error,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workflow::fixture::Fixture;

    fn said(texts: &[(&str, &str)]) -> Said {
        let texts = texts.iter();
        texts.fold(Said::default(), |said, (name, text)| {
            said.with(taken_as(name).unwrap(), *text)
        })
    }

    #[test]
    fn texts_are_read_as_on_the_command_line() {
        let facts = Facts {
            said: said(&[
                ("length", " 2,4m "),
                ("load_ohms", "49,97"),
                ("marked_loss", "8.2dB/100m@100MHz"),
                ("frequencies", "145MHz, 7,1MHz;430 MHz"),
                ("near_adapter", "../../etc/passwd.s2p"),
            ]),
            ..Facts::default()
        };
        let request = facts.request().unwrap();
        assert_eq!(request.knowledge.length_m.unwrap().value, 2.4);
        assert_eq!(request.knowledge.load_ohm.unwrap().value, 49.97);
        assert_eq!(request.knowledge.marking.loss.unwrap().at_hz, 1e8);
        assert_eq!(request.asked.frequencies_hz, [145e6, 7.1e6, 430e6]);
        assert!(matches!(request.plane.near, Some(Fixture::Described(_))));
    }

    #[test]
    fn kit_and_criteria_are_texts_and_name_no_file_of_this_machine() {
        let facts = Facts {
            said: said(&[
                (
                    "kit",
                    "[standards.open]\nkind = \"open\"\n[standards.far]\nkind = \"table\"\nfile = \"/etc/passwd\"\n",
                ),
                ("criteria", "loss_excess = 0.1"),
                ("corrected", "yes"),
            ]),
            ..Facts::default()
        };
        let request = facts.request().unwrap();
        assert!(request.plane.corrected && request.plane.kit.is_some());
        assert_eq!(request.asked.criteria.loss_excess, 0.1);
        let wrong = Facts {
            said: said(&[
                ("kit", "[standards.open]\nkind = \"lid\"\n"),
                ("criteria", "loss_exces = 0.1"),
            ]),
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
                Ended::DeEmbed,
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
            Use::DeEmbed,
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
            said: said(&[
                ("calibration_age", "3 weeks"),
                ("tape_error", "3"),
                ("seen_magnet", "perhaps"),
                ("own_types", "[[type]]\n"),
            ]),
        };
        let refused = facts.request().unwrap_err();
        let error = |field: &str| {
            let found = refused.iter().find(|r| r.field == field);
            found.map_or("", |r| r.error.as_str())
        };
        let cases = [
            ("part_0", "`../../etc/passwd` is not a known part"),
            ("part_1", "name the part"),
            ("shorter_length", "length of the shorter piece"),
            ("calibration_age", "expected one of min, h, d"),
            ("tape_error", "write `3m` or `3ft`"),
            (
                "seen_magnet",
                "expected one of holds, does-not, found `perhaps`",
            ),
            ("own_types", "designation"),
        ];
        for (field, wanted) in cases {
            assert!(error(field).contains(wanted), "{field}: {}", error(field));
        }
        assert_eq!(refused.len(), cases.len(), "{refused:?}");
        let wrong_kit = Facts {
            far_ends: vec![Ended::CheckPart],
            parts: vec!["mismatch".to_owned()],
            said: said(&[("kit", "[standards.mismatch]\nkind = \"lid\"\n")]),
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
            said: said(&[
                ("length", "2.4"),
                ("temperature", "warm"),
                ("frequencies", "145MHz; many"),
            ]),
            ..Facts::default()
        };
        let refused = facts.request().unwrap_err();
        let fields: Vec<&str> = refused.iter().map(|r| r.field.as_str()).collect();
        assert_eq!(fields, ["length", "frequencies", "temperature"]);
        assert!(refused[0].error.contains("2.4ft"), "{}", refused[0].error);
    }
}
