//! Set-ups as version 0.1 stored them: values by the names of that program's fields. Nothing writes them any more.
//!
//! A value goes over as a text that reads as the same number; where what it was off by counts too, as a number
//! with that.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::fact::Row;
use super::said::Said;
use super::stored::StoredFile;
use super::table as fact;
use super::word::Word;
use lineproof_core::finding::judge::criteria::Criteria;

/// What version 0.1 stored besides the analyser and the kit in words.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct Older {
    load_ohm: Option<Typed>,
    far_load_ohm: Option<Typed>,
    length_m: Option<Typed>,
    tape_error_m: Option<f64>,
    shorter_length_m: Option<Typed>,
    calibration_age_s: Option<f64>,
    marked: Marked,
    frequencies_hz: Vec<f64>,
    temperature_c: Option<f64>,
    pub(super) plane: Plane,
    criteria: BTreeMap<String, Option<f64>>,
    purpose: Purpose,
    look: Look,
    own_types: Option<String>,
    reading: Reading,
}

/// A number with half of its last digit.
#[derive(Deserialize)]
struct Typed {
    value: f64,
    half_digit: f64,
}

#[derive(Default, Deserialize)]
#[serde(default)]
struct Marked {
    designation: Option<String>,
    impedance_ohm: Option<f64>,
    velocity_factor: Option<f64>,
    loss_db_per_100m: Option<f64>,
    loss_at_hz: Option<f64>,
}

/// What was said of the calibrated plane.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct Plane {
    near: Option<Adapter>,
    far: Option<Adapter>,
    kit: Option<StoredFile>,
    corrected: bool,
    pub(super) parts: Vec<String>,
    #[serde(rename = "take_away")]
    pub(super) de_embed: Vec<StoredFile>,
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum Adapter {
    Described(String),
    File(StoredFile),
}

#[derive(Default, Deserialize)]
#[serde(default)]
struct Purpose {
    system_ohm: Option<f64>,
    use_hz: Option<f64>,
}

#[derive(Default, Deserialize)]
#[serde(default)]
struct Look {
    jacket_diameter_m: Option<Measured>,
    dielectric_diameter_m: Option<Measured>,
    inner_diameter_m: Option<Measured>,
    capacitance_f_m: Option<Measured>,
    filling: Option<String>,
    stranded: Option<bool>,
    magnetic: Option<bool>,
}

/// A value with its standard uncertainty.
#[derive(Deserialize)]
struct Measured {
    value: f64,
    u: f64,
}

#[derive(Default, Deserialize)]
#[serde(default)]
struct Reading {
    strict: bool,
    frequency_unit: Option<String>,
    pair_format: Option<String>,
    reference_ohm: Option<f64>,
}

impl Older {
    /// The same by facts.
    pub(super) fn said(&self) -> Said {
        let mut said = Said::default();
        let pairs = self
            .known()
            .into_iter()
            .chain(self.marked.words())
            .chain(self.plane.words())
            .chain(self.asked())
            .chain(self.look.words())
            .chain(self.reading.words());
        for (fact, word) in pairs {
            if let Some(word) = word {
                said.say(fact, word);
            }
        }
        said
    }

    fn known(&self) -> Vec<Pair> {
        let typed = |typed: &Option<Typed>| {
            let typed = typed.as_ref()?;
            Some(Word::Number {
                value: typed.value,
                spread: typed.half_digit,
            })
        };
        let age = |value| Word::Number { value, spread: 0.0 };
        vec![
            (&fact::LOAD_OHMS, typed(&self.load_ohm)),
            (&fact::FAR_LOAD_OHMS, typed(&self.far_load_ohm)),
            (&fact::LENGTH, typed(&self.length_m)),
            (&fact::TAPE_ERROR, unit(self.tape_error_m, "m")),
            (&fact::SHORTER_LENGTH, typed(&self.shorter_length_m)),
            (&fact::CALIBRATION_AGE, self.calibration_age_s.map(age)),
            (&fact::TEMPERATURE, unit(self.temperature_c, "C")),
        ]
    }

    fn asked(&self) -> Vec<Pair> {
        let frequencies: Vec<String> = self
            .frequencies_hz
            .iter()
            .map(|f| format!("{f}Hz"))
            .collect();
        vec![
            (&fact::FREQUENCIES, Some(Word::text(frequencies.join("; ")))),
            (&fact::CRITERIA, self.criteria().map(Word::text)),
            (
                &fact::SYSTEM_IMPEDANCE,
                unit(self.purpose.system_ohm, "ohm"),
            ),
            (&fact::USE_AT, unit(self.purpose.use_hz, "Hz")),
            (&fact::OWN_TYPES, self.own_types.clone().map(Word::Text)),
        ]
    }

    /// Version 0.1 stored every limit; those that are the usual ones were not said.
    fn criteria(&self) -> Option<String> {
        let stored = self.criteria.iter();
        let line =
            |(name, limit): (&String, &Option<f64>)| Some(format!("{name} = {:?}\n", (*limit)?));
        let text: String = stored.filter_map(line).collect();
        (Criteria::from_toml(&text) != Ok(Criteria::default())).then_some(text)
    }
}

/// A fact and what was said of it.
type Pair = (&'static dyn Row, Option<Word>);

impl Marked {
    fn words(&self) -> Vec<Pair> {
        let loss = self.loss_db_per_100m.zip(self.loss_at_hz);
        let loss = loss.map(|(db, at)| Word::text(format!("{db}dB/100m@{at}Hz")));
        vec![
            (&fact::MARKED, self.designation.clone().map(Word::Text)),
            (&fact::MARKED_IMPEDANCE, unit(self.impedance_ohm, "ohm")),
            (
                &fact::MARKED_VELOCITY_FACTOR,
                unit(self.velocity_factor, ""),
            ),
            (&fact::MARKED_LOSS, loss),
        ]
    }
}

impl Plane {
    fn words(&self) -> Vec<Pair> {
        let adapter = |adapter: &Option<Adapter>| {
            Some(match adapter.as_ref()? {
                Adapter::Described(text) => Word::text(text),
                Adapter::File(file) => Word::File(file.attached()),
            })
        };
        let kit = self.kit.as_ref().map(|file| Word::File(file.attached()));
        vec![
            (&fact::NEAR_ADAPTER, adapter(&self.near)),
            (&fact::FAR_ADAPTER, adapter(&self.far)),
            (&fact::KIT, kit),
            (&fact::CORRECTED, flag(self.corrected)),
        ]
    }
}

impl Look {
    fn words(&self) -> Vec<Pair> {
        let measured = |measured: &Option<Measured>| {
            let measured = measured.as_ref()?;
            Some(Word::Number {
                value: measured.value,
                spread: measured.u,
            })
        };
        let either = |is: Option<bool>, yes, no| Some(Word::text(if is? { yes } else { no }));
        vec![
            (&fact::SEEN_DIAMETER, measured(&self.jacket_diameter_m)),
            (
                &fact::SEEN_DIELECTRIC_DIAMETER,
                measured(&self.dielectric_diameter_m),
            ),
            (&fact::SEEN_INNER_DIAMETER, measured(&self.inner_diameter_m)),
            (
                &fact::SEEN_CAPACITANCE_PER_METRE,
                measured(&self.capacitance_f_m),
            ),
            (&fact::SEEN_DIELECTRIC, self.filling.clone().map(Word::Text)),
            (
                &fact::SEEN_INNER,
                either(self.stranded, "stranded", "solid"),
            ),
            (
                &fact::SEEN_MAGNET,
                either(self.magnetic, "holds", "does-not"),
            ),
        ]
    }
}

impl Reading {
    fn words(&self) -> Vec<Pair> {
        vec![
            (&fact::STRICT, flag(self.strict)),
            (
                &fact::FREQUENCY_UNIT,
                self.frequency_unit.clone().map(Word::Text),
            ),
            (&fact::PAIR_FORMAT, self.pair_format.clone().map(Word::Text)),
            (&fact::REFERENCE_OHMS, unit(self.reference_ohm, "ohm")),
        ]
    }
}

/// The number with its unit, in digits that read as the same number.
fn unit(value: Option<f64>, unit: &str) -> Option<Word> {
    Some(Word::text(format!("{}{unit}", value?)))
}

fn flag(is: bool) -> Option<Word> {
    is.then(|| Word::text("yes"))
}
