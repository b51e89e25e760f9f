//! A finding read back from JSON: from the shelf, where an older or newer program may have written
//! it, or from this one. So every key is optional, and unknown keys are passed over.

use lineproof_core::finding::EventKind;
use lineproof_core::finding::judge::repair::FaultAt;
use lineproof_core::quantity::format_frequency;
use serde::Deserialize;
use serde_json::Value;

use crate::report::number::{short, significant};
use crate::report::units::Units;

/// What a list, a history, a label or a report needs of a finding.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Kept {
    /// Version of the program that made it.
    pub program_version: Option<String>,
    /// The sweeps that went in.
    pub sweeps: Vec<Swept>,
    /// `sound`, `suspect`, `faulty` or `undetermined`.
    pub condition: Option<String>,
    /// Why it is not sound.
    pub condition_reasons: Vec<String>,
    /// Characteristic impedance.
    pub impedance: Option<Impedance>,
    /// One-way delay.
    pub delay: Option<Delay>,
    /// Velocity factor.
    pub velocity_factor: Option<Ratio>,
    /// Length.
    pub length: Option<Length>,
    /// Loss by rising frequency.
    pub loss: Vec<Loss>,
    /// Temperature of the cable, °C.
    pub temperature_c: Option<f64>,
    /// Each method of the trade by itself.
    pub methods: Vec<Method>,
    /// Events along the cable.
    pub events: Vec<Event>,
    /// The piece in a system whose impedance was named.
    pub system: Option<InSystem>,
    /// What the calibration left, by the ripple of long lines.
    pub calibration: Vec<Left>,
    /// Comparison with the jacket.
    pub marking: Option<Marking>,
    /// Types that it may be.
    pub types: Vec<Type>,
    /// What to do.
    pub verdict: Option<Verdict>,
    /// Impedance along the cable.
    pub profile: Option<Value>,
    /// What must be known before a number is trusted.
    pub warnings: Vec<Warned>,
    /// What to measure next.
    pub advice: Vec<String>,
    /// Care to take.
    pub cautions: Vec<String>,
}

/// A sweep that went in.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Swept {
    /// Name of the file.
    pub file: String,
    /// What ended the cable.
    pub far_end: String,
    /// Whether that was judged.
    pub guessed: bool,
    /// Number of points.
    pub points: usize,
    /// Lowest frequency, Hz.
    pub start_hz: f64,
    /// Highest frequency, Hz.
    pub stop_hz: f64,
}

/// Characteristic impedance.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Impedance {
    /// Value, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Largest part of the interval.
    pub limited_by: String,
}

/// One-way delay.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Delay {
    /// Value, s.
    pub one_way_s: f64,
    /// 95 % half-width, s.
    pub u95_s: f64,
}

/// A ratio.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Ratio {
    /// Value.
    pub ratio: f64,
    /// 95 % half-width.
    pub u95: f64,
}

/// Length.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Length {
    /// Value, m.
    pub m: f64,
    /// 95 % half-width, m.
    pub u95_m: f64,
    /// Where it comes from.
    pub basis: String,
}

/// Loss at one frequency.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Loss {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Loss of the piece, dB.
    pub db: f64,
    /// 95 % half-width, dB.
    pub u95_db: f64,
    /// The same for 100 m, dB.
    pub db_per_100m: Option<f64>,
    /// At 20 °C, dB.
    pub db_at_20c: Option<f64>,
    /// 95 % half-width of that, dB.
    pub u95_db_at_20c: Option<f64>,
}

/// What one method found.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Method {
    /// Name.
    pub name: String,
    /// Impedance, ohm.
    pub ohm: Option<f64>,
    /// Its 95 % half-width, ohm.
    pub u95_ohm: Option<f64>,
    /// Frequency, Hz.
    pub at_hz: Option<f64>,
    /// Arithmetic, a step each.
    pub steps: Vec<String>,
    /// Biases and assumptions.
    pub remarks: Vec<String>,
    /// Why it can't answer.
    pub reason: Option<String>,
}

/// Something at a place along the cable.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Event {
    /// Kind.
    pub kind: String,
    /// Distance from the near end, m.
    pub at_m: Option<f64>,
    /// 95 % half-width, m.
    pub u95_m: Option<f64>,
    /// One-way delay of sound cable to it, s.
    pub one_way_s: Option<f64>,
    /// Extent, m.
    pub length_m: Option<f64>,
    /// Impedance there, ohm.
    pub impedance_ohm: Option<f64>,
    /// 95 % half-width of that, ohm.
    pub u95_impedance_ohm: Option<f64>,
    /// Resistance in series, ohm.
    pub series_ohm: Option<f64>,
    /// 95 % half-width of that, ohm.
    pub u95_series_ohm: Option<f64>,
    /// What else would explain it nearly as well.
    pub or: Vec<String>,
    /// Whether only the tape speaks for it.
    pub by_tape_alone: bool,
}

/// Comparison with the jacket.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Marking {
    /// Designation as given.
    pub designation: Option<String>,
    /// Whether nothing speaks against the claim.
    pub agrees: Option<bool>,
    /// What does not agree.
    pub differences: Vec<Said>,
    /// What agrees with a remark.
    pub remarks: Vec<String>,
    /// Why the cable may differ.
    pub explanation: Vec<String>,
}

/// A sentence for people, among other keys.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Said {
    /// The sentence.
    pub text: String,
}

/// A type that the cable may be.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Type {
    /// Designation.
    pub designation: String,
    /// Probability.
    pub probability: f64,
}

/// What to do.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Verdict {
    /// Action, as JSON has it.
    pub action: String,
    /// Why.
    pub reasons: Vec<String>,
    /// Criteria that could be checked.
    pub criteria: Vec<Criterion>,
}

/// A criterion with what was found.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Criterion {
    /// Its name in a criteria file.
    pub name: String,
    /// What was found and what was wanted.
    pub text: String,
    /// Whether it is kept.
    pub passed: bool,
    /// Whether somebody set the limit.
    pub set: bool,
    /// Where the limit comes from unless somebody set it.
    pub source: String,
}

/// The piece between ends of a system's impedance.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct InSystem {
    /// The impedance, ohm.
    pub ohm: f64,
    /// By rising frequency.
    pub rows: Vec<InSystemAt>,
}

/// The same at one frequency, at most.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct InSystemAt {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// SWR at the input.
    pub highest_swr: f64,
    /// Return loss with it, dB.
    pub least_return_loss_db: f64,
    /// SWR at the worst length near this one.
    pub swr_at_worst_length: f64,
    /// Return loss with that, dB.
    pub return_loss_db_at_worst_length: f64,
    /// Loss beyond that of the matched cable, dB.
    pub most_extra_loss_db: f64,
}

/// What a long line shows of the calibration.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Left {
    /// For people.
    pub text: String,
}

/// A warning.
#[derive(Clone, Debug, Default, Deserialize, PartialEq)]
#[serde(default)]
pub struct Warned {
    /// Fixed word for programs.
    pub code: String,
    /// Sentence for people.
    pub text: String,
}

impl Kept {
    /// Reads a finding; what can't be read of it stays absent.
    pub fn read(json: &str) -> Self {
        let value: Value = serde_json::from_str(json).unwrap_or_default();
        Self::of(&value)
    }

    /// The same from a value.
    pub fn of(value: &Value) -> Self {
        if let Ok(kept) = serde_json::from_value(value.clone()) {
            return kept;
        }
        // One key of another shape must not hide the others.
        let mut readable = serde_json::Map::new();
        for (key, part) in value.as_object().into_iter().flatten() {
            let alone = Value::Object([(key.clone(), part.clone())].into_iter().collect());
            if serde_json::from_value::<Self>(alone).is_ok() {
                readable.insert(key.clone(), part.clone());
            }
        }
        serde_json::from_value(Value::Object(readable)).unwrap_or_default()
    }

    /// What the cable is and what to do with it, in a sentence or two.
    pub fn sentence(&self) -> String {
        self.sentence_in(Units::Metres)
    }

    /// The same with lengths in these units.
    pub fn sentence_in(&self, units: Units) -> String {
        let mut parts = Vec::new();
        if let Some(z) = &self.impedance {
            parts.push(format!("{} ohm", short(z.ohm, z.u95_ohm)));
        }
        if let Some(length) = &self.length {
            let value = short(units.of_m(length.m), units.of_m(length.u95_m));
            parts.push(format!("{value} {}", units.length()));
        }
        if let Some(vf) = self.velocity_factor {
            parts.push(format!("velocity factor {:.2}", vf.ratio));
        }
        if let Some(row) = self.loss_at(100e6).filter(|row| row.db > row.u95_db) {
            let at = format_frequency(row.at_hz);
            parts.push(format!("{} dB at {at}", significant(row.db, 2)));
        }
        let parts_are_missing = parts.is_empty();
        let mut text = if parts_are_missing {
            "Not determined".to_owned()
        } else {
            parts.join(", ")
        };
        let told = parts_are_missing && self.condition.as_deref() == Some("undetermined");
        if let Some(condition) = self.condition.as_ref().filter(|_| !told) {
            text = format!("{text}; {condition}");
        }
        match &self.verdict {
            Some(verdict) => format!("{text}: {}.", verdict.words()),
            None => format!("{text}."),
        }
    }

    /// The loss at a frequency, if the table has it.
    pub fn loss_at(&self, freq_hz: f64) -> Option<&Loss> {
        let near = |row: &&Loss| (row.at_hz - freq_hz).abs() <= 1e-6 * freq_hz;
        self.loss.iter().find(near)
    }
}

impl Event {
    /// Its kind; what this program does not know is unknown to it.
    pub fn known_kind(&self) -> EventKind {
        let kinds = [
            EventKind::Dent,
            EventKind::Wet,
            EventKind::Splice,
            EventKind::Joint,
            EventKind::Open,
            EventKind::Short,
        ];
        let named = kinds.into_iter().find(|kind| kind.name() == self.kind);
        named.unwrap_or(EventKind::Unknown)
    }

    /// The fault with its place; `None` if it has none.
    pub fn fault(&self) -> Option<FaultAt> {
        Some(FaultAt {
            kind: self.known_kind(),
            at_m: self.at_m?,
            u95_m: self.u95_m?,
            length_m: self.length_m.unwrap_or(0.0),
        })
    }
}

impl Verdict {
    /// The action for people.
    pub fn words(&self) -> String {
        self.action.replace('-', " ")
    }
}

impl Loss {
    /// Loss and half-width at 20 °C if known, else as swept, dB; and whether it is the former.
    pub fn comparable(&self) -> (f64, f64, bool) {
        match (self.db_at_20c, self.u95_db_at_20c) {
            (Some(db), Some(u95)) => (db, u95, true),
            _ => (self.db, self.u95_db, false),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odd_keys_do_not_hide_the_others() {
        let kept = Kept::read(
            r#"{"impedance":{"ohm":50.1,"u95_ohm":0.2,"at_hz":1e8},"events":"none","new":[1],
                "condition":"sound","verdict":{"action":"keep","reasons":["good"]}}"#,
        );
        assert_eq!(kept.impedance.as_ref().unwrap().ohm, 50.1);
        assert!(kept.events.is_empty());
        assert_eq!(kept.sentence(), "50.1 ohm; sound: keep.");
        assert_eq!(Kept::read("nonsense").sentence(), "Not determined.");
        let nothing = r#"{"condition":"undetermined","verdict":{"action":"measure-again"}}"#;
        assert_eq!(
            Kept::read(nothing).sentence(),
            "Not determined: measure again."
        );
    }
}
