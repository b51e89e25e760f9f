//! Everything besides the sweeps that an assay was told, as the shelf keeps it: what is needed to find the same
//! again, and what is good to know next year.
//!
//! It holds what was said, as typed, by the names of the facts; the files that were named with their content.
//! Set-ups of version 0.1 and before held values without their texts ([`super::older`]) and are read too.

use lineproof_core::quantity::{format_frequency, format_length};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::fact::{Row, Shape};
use super::older::Older;
use super::request::request;
use super::said::{Refused, Said};
use super::stored::StoredFile;
use super::table;
use super::word::Word;
use crate::workflow::assay::AssayRequest;
use crate::workflow::plane::PlaneSaid;

/// The set-up of an assay.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Serialize)]
#[serde(from = "Stored")]
pub struct Setup {
    /// The analyser, in the user's words.
    pub instrument: Option<String>,
    /// The calibration kit, in the user's words.
    pub kit_note: Option<String>,
    /// What was said besides the sweeps.
    pub said: Said,
    /// Parts at the plane besides the calibration's own, in the order of their sweeps.
    parts: Vec<String>,
    /// Two-ports that were taken out of the sweeps, from the analyser outwards.
    de_embed: Vec<StoredFile>,
}

/// The same as it may be found on a shelf.
#[derive(Deserialize)]
#[serde(default)]
#[derive(Default)]
struct Stored {
    instrument: Option<String>,
    kit_note: Option<String>,
    said: Option<Said>,
    parts: Vec<String>,
    #[serde(alias = "take_away")]
    de_embed: Vec<StoredFile>,
    #[serde(flatten)]
    older: Older,
}

/// A stored fact that this program does not understand any more.
#[derive(Debug, Error)]
#[error("`{}`: {}", refused.fact.name, refused.error)]
pub struct NotUnderstood {
    refused: Refused,
}

impl From<Stored> for Setup {
    fn from(stored: Stored) -> Self {
        let Stored {
            instrument,
            kit_note,
            said,
            parts,
            de_embed,
            older,
        } = stored;
        match said {
            Some(said) => Self {
                instrument,
                kit_note,
                said,
                parts,
                de_embed,
            },
            None => Self {
                instrument,
                kit_note,
                said: older.said(),
                parts: older.plane.parts,
                de_embed: older.plane.de_embed,
            },
        }
    }
}

impl Setup {
    /// What was said, with the files before the cable and the parts at the plane.
    pub fn of(said: &Said, plane: &PlaneSaid) -> Self {
        Self {
            said: said.clone(),
            parts: plane.parts.clone(),
            de_embed: plane.de_embed.iter().map(StoredFile::of).collect(),
            ..Self::default()
        }
    }

    /// The request that it came from, without its sweeps.
    ///
    /// # Errors
    /// The first fact that is not understood.
    pub fn request(&self) -> Result<AssayRequest, NotUnderstood> {
        let mut request = request(&self.said).map_err(|refused| NotUnderstood {
            refused: refused.into_iter().next().expect("something is refused"),
        })?;
        request.plane.parts.clone_from(&self.parts);
        request.plane.de_embed = self.de_embed.iter().map(StoredFile::attached).collect();
        Ok(request)
    }

    /// What was said, for people: what and which.
    pub fn facts(&self) -> Vec<(&'static str, String)> {
        let own = [("Analyser", &self.instrument), ("Kit", &self.kit_note)];
        let own = own
            .into_iter()
            .filter_map(|(name, text)| Some((name, text.clone()?)));
        let said = table::all().filter_map(|fact| {
            let word = self.said.word(fact)?;
            Some((fact.about().label, shown(fact, word)))
        });
        let files: Vec<&str> = self.de_embed.iter().map(StoredFile::name).collect();
        let files = (!files.is_empty()).then(|| ("De-embedded", files.join(", ")));
        own.chain(said).chain(files).collect()
    }
}

/// What was said of a fact, for people.
fn shown(fact: &dyn Row, word: &Word) -> String {
    match (word, fact.shape()) {
        (Word::Text(_), Shape::File) => "given as text".to_owned(),
        // the option's name says ohm, and so does the label of the field
        (Word::Text(text), Shape::Quantity("OHM"))
            if text.ends_with(|c: char| c.is_ascii_digit()) =>
        {
            format!("{} ohm", text.trim())
        }
        (Word::Text(text), _) => text.trim().to_owned(),
        (Word::File(file), _) => StoredFile::of(file).name().to_owned(),
        (Word::Number { value, .. }, Shape::Quantity(unit)) => number(*value, unit),
        (Word::Number { value, .. }, _) => value.to_string(),
    }
}

/// A number in base units, by what help calls its value.
fn number(value: f64, quantity: &str) -> String {
    match quantity {
        "LENGTH" => format_length(value),
        "OHM" => format!("{value} ohm"),
        "TIME" => format!("{:.1} hours", value / 3600.0),
        "FREQUENCY" => format_frequency(value),
        "CAPACITANCE" => format!("{:.1} pF", value * 1e12),
        _ => value.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use lineproof_core::catalogue::Filling;
    use lineproof_core::formats::{FrequencyUnit, PairFormat};
    use lineproof_core::quantity::parse_length_m;

    use super::*;
    use crate::workflow::attached::Attached;
    use crate::workflow::fixture::Fixture;
    use lineproof_core::finding::judge::criteria::Criteria;

    fn stored(name: &str) -> Setup {
        let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../../testdata/setups/");
        let text = std::fs::read_to_string(format!("{root}{name}")).unwrap();
        serde_json::from_str(&text).unwrap()
    }

    /// Version 0.1 was given every fact that it knew; `testdata/setups/README.md` has the command.
    #[test]
    fn what_version_0_1_stored_is_read() {
        let setup = stored("full-0.1.json");
        assert_eq!(setup.instrument.as_deref(), Some("pocket analyser"));
        let AssayRequest {
            read,
            knowledge,
            plane,
            asked,
            ..
        } = setup.request().unwrap();
        assert!(read.strict);
        assert_eq!(read.freq_unit, Some(FrequencyUnit::MHz));
        assert_eq!(read.pair_format, Some(PairFormat::RealImaginary));
        assert_eq!(read.z_ref_ohm, Some(50.0));
        let load = knowledge.load_ohm.unwrap();
        assert_eq!((load.value, load.half_digit), (50.05, 0.005));
        assert_eq!(knowledge.far_load_ohm, knowledge.load_ohm);
        let typed = parse_length_m("7ft10.5in").unwrap();
        assert_eq!(knowledge.length_m, Some(typed));
        assert_eq!(knowledge.tape_error_m, Some(3e-3));
        assert_eq!(knowledge.calibration_age_s, Some(6000.0));
        let marking = knowledge.marking;
        assert_eq!(marking.designation.as_deref(), Some("RG-59"));
        assert_eq!(marking.impedance_ohm, Some(75.0));
        assert_eq!(marking.velocity_factor, Some(0.66));
        let loss = marking.loss.unwrap();
        assert_eq!((loss.db_per_100m, loss.at_hz), (8.202_099_737_532_809, 1e8));
        assert_eq!(plane.near, Some(Fixture::Described("120ps".to_owned())));
        assert_eq!(plane.far, Some(Fixture::Described("sma-bnc".to_owned())));
        let kit = plane.kit.unwrap().bytes().unwrap();
        assert!(kit.starts_with(b"name = \"invented kit\"") && plane.corrected);
        assert_eq!(asked.frequencies_hz, [7.1e6, 430e6]);
        assert_eq!(asked.temperature_c, Some(21.11111111111111));
        let criteria = Criteria {
            impedance_tolerance: 0.05,
            most_loss_db: Some(2.0),
            ..Criteria::default()
        };
        assert_eq!(asked.criteria, criteria);
        assert_eq!(asked.purpose.system_ohm, Some(75.0));
        assert_eq!(asked.purpose.use_hz, Some(145e6));
        assert!(asked.own_types.is_some());
        let look = asked.look;
        let capacitance = look.capacitance_f_m.unwrap();
        assert_eq!(
            (capacitance.value, capacitance.u),
            (6.7e-11, 7.295_432_360_959_379e-13)
        );
        assert!(look.jacket_diameter_m.is_some() && look.inner_diameter_m.is_some());
        assert_eq!(look.filling, Some(Filling::SolidPolyethylene));
        assert_eq!((look.stranded, look.magnetic), (Some(false), Some(false)));
    }

    #[test]
    fn what_was_not_said_stays_unsaid() {
        let few = stored("few-0.1.json");
        let said: Vec<&str> = few.said.all().map(|(name, _)| name).collect();
        assert_eq!(said, ["length", "load_ohms"]);
        let empty: Setup = serde_json::from_str("{}").unwrap();
        assert_eq!(empty, Setup::default());
    }

    #[test]
    fn parts_and_two_ports_of_version_0_1_come_back() {
        let parts = stored("parts-0.1.json").request().unwrap().plane;
        assert_eq!(parts.parts, ["25ohm"]);
        let behind = stored("behind-0.1.json").request().unwrap().plane;
        assert_eq!(behind.de_embed.len(), 1);
        assert!(behind.de_embed[0].bytes().unwrap().starts_with(b"!"));
    }

    #[test]
    fn what_is_stored_now_comes_back() {
        let held = |bytes: &[u8]| Attached::held(PathBuf::from("/bench/pad.s2p"), bytes.to_vec());
        for bytes in [b"! text".as_slice(), &[0xFF, 0xFE, b'#', 0]] {
            let mut said = Said::default().with(&table::LENGTH, "7ft10.5in");
            said.say(&table::FAR_ADAPTER, Word::File(held(bytes)));
            let plane = PlaneSaid {
                parts: vec!["75ohm".to_owned()],
                de_embed: vec![held(bytes)],
                ..PlaneSaid::default()
            };
            let json = serde_json::to_string(&Setup::of(&said, &plane)).unwrap();
            let back: Setup = serde_json::from_str(&json).unwrap();
            assert_eq!(back.said.text(&table::LENGTH), "7ft10.5in", "as typed");
            let request = back.request().unwrap();
            assert_eq!(request.plane.parts, plane.parts);
            let file = &request.plane.de_embed[0];
            assert_eq!(
                (file.path().to_str(), file.bytes().unwrap()),
                (Some("pad.s2p"), bytes.to_vec())
            );
            assert_eq!(request.plane.far, Some(Fixture::File(file.clone())));
        }
        let newer = serde_json::from_str::<Setup>(r#"{"said": {"moon": "full"}}"#);
        assert!(newer.unwrap_err().to_string().contains("no fact `moon`"));
    }
}
