//! Names of columns to what they hold.

use super::DelimitedError;
use crate::formats::source::{Line, excerpt, position_of};
use crate::formats::{FrequencyUnit, Position};

/// What the columns of a table are.
pub(super) struct Header {
    pub(super) names: Vec<String>,
    pub(super) line: usize,
    pub(super) frequency: Column,
    pub(super) frequency_unit: Option<FrequencyUnit>,
    /// Place of the frequency column's name.
    pub(super) frequency_at: Position,
    columns: Vec<(usize, Column)>,
    text: String,
    at: Position,
}

/// A column: where it is, what it holds, and the factor to SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Column {
    pub(super) index: usize,
    pub(super) role: Role,
    pub(super) factor: f64,
}

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    Frequency,
    Real,
    Imaginary,
    Resistance,
    Reactance,
    /// A reactance without its sign.
    ReactanceMagnitude,
    Magnitude,
    Decibels,
    ReturnLoss,
    ImpedanceMagnitude,
    Angle(Angle),
    Swr,
    Unknown,
}

/// Unit of an angle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Angle {
    Degrees,
    Radians,
    Unstated,
}

impl Role {
    pub(super) fn is_angle(self) -> bool {
        matches!(self, Self::Angle(_))
    }

    /// Whether the column means something only with a reference impedance.
    pub(super) fn is_reflection(self) -> bool {
        matches!(
            self,
            Self::Real | Self::Magnitude | Self::Decibels | Self::ReturnLoss
        )
    }
}

/// Scattering parameters by which names may start; columns without one belong to the first.
const PARAMETERS: [&str; 4] = ["s11", "s21", "s12", "s22"];

impl Header {
    /// Finds out what each name stands for.
    pub(super) fn of(text: &str, line: Line<'_>, names: &[&str]) -> Result<Self, DelimitedError> {
        let columns: Vec<(usize, Column)> = names
            .iter()
            .enumerate()
            .map(|(index, name)| {
                let Name {
                    parameter,
                    role,
                    factor,
                } = Name::of(name);
                let column = Column {
                    index,
                    role,
                    factor,
                };
                (parameter, column)
            })
            .collect();
        let at = position_of(text, line.text.trim());
        let mut frequencies = columns.iter().filter(|(_, c)| c.role == Role::Frequency);
        let (first, second) = (frequencies.next(), frequencies.next());
        let frequency = match (first, second) {
            (Some((_, only)), None) => *only,
            (Some((_, a)), Some((_, b))) => {
                return Err(DelimitedError::TwoColumns {
                    first: excerpt(names[a.index]),
                    second: excerpt(names[b.index]),
                    role: "frequency",
                    at,
                });
            }
            (None, _) => {
                return Err(DelimitedError::NoFrequency {
                    found: excerpt(line.text.trim()),
                    at,
                });
            }
        };
        let name = names[frequency.index];
        Ok(Self {
            frequency,
            frequency_unit: words_of(name).iter().find_map(|w| FrequencyUnit::named(w)),
            frequency_at: position_of(text, name),
            names: names.iter().map(|n| excerpt(n)).collect(),
            line: line.number,
            columns,
            text: excerpt(line.text.trim()),
            at,
        })
    }

    /// The preferred pair of columns that determines a scattering parameter.
    pub(super) fn pair(&self, parameter: usize) -> Option<(Column, Column)> {
        let find = |wanted: fn(Role) -> bool| {
            let mut columns = self.columns.iter();
            columns
                .find(|(p, c)| *p == parameter && wanted(c.role))
                .map(|(_, c)| *c)
        };
        let is_angle = Role::is_angle;
        find(|r| r == Role::Real)
            .zip(find(|r| r == Role::Imaginary))
            .or_else(|| find(|r| r == Role::Resistance).zip(find(|r| r == Role::Reactance)))
            .or_else(|| find(|r| r == Role::Magnitude).zip(find(is_angle)))
            .or_else(|| find(|r| r == Role::Decibels).zip(find(is_angle)))
            .or_else(|| find(|r| r == Role::ReturnLoss).zip(find(is_angle)))
            .or_else(|| find(|r| r == Role::ImpedanceMagnitude).zip(find(is_angle)))
    }

    /// Why no pair was found.
    pub(super) fn no_pair(&self) -> DelimitedError {
        let has = |role: Role| self.columns.iter().any(|(_, c)| c.role == role);
        let reason = if has(Role::ReactanceMagnitude) {
            "the reactance has no sign, so inductive and capacitive cannot be distinguished"
        } else if has(Role::Resistance) {
            "a resistance needs its reactance"
        } else if has(Role::Real) || has(Role::Imaginary) {
            "real and imaginary part belong together, and one is missing"
        } else if has(Role::Decibels) || has(Role::ReturnLoss) || has(Role::Magnitude) {
            "a magnitude needs its angle"
        } else if has(Role::ImpedanceMagnitude) {
            "the magnitude of an impedance needs its angle"
        } else if has(Role::Swr) {
            "VSWR is a magnitude alone; without the angle it can't tell impedance, length or velocity factor"
        } else {
            "expected R and X, real and imaginary part, or magnitude and angle"
        };
        DelimitedError::NoPair {
            found: self.text.clone(),
            reason,
            at: self.at.clone(),
        }
    }
}

/// A name taken apart.
struct Name {
    parameter: usize,
    role: Role,
    factor: f64,
}

impl Name {
    fn of(name: &str) -> Self {
        let words = words_of(name);
        let lower = name.to_lowercase();
        let mut parameter = 0;
        let mut rest: Vec<&str> = Vec::new();
        for word in &words {
            match PARAMETERS.iter().position(|p| p == word) {
                Some(found) => parameter = found,
                None => rest.push(word),
            }
        }
        let names_parameter = rest.len() < words.len();
        let role = role_of(&lower, &rest, names_parameter);
        let factor = if rest.contains(&"kohm") || rest.contains(&"kω") {
            1e3
        } else {
            1.0
        };
        Self {
            parameter,
            role,
            factor,
        }
    }
}

/// Words of a name in lower case: runs of letters and digits, so that brackets, strokes and
/// underscores separate.
fn words_of(name: &str) -> Vec<String> {
    name.to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect()
}

fn role_of(name: &str, words: &[&str], names_parameter: bool) -> Role {
    let any = |list: &[&str]| words.iter().any(|w| list.contains(w));
    let is_impedance = any(&[
        "z",
        "zin",
        "z11",
        "impedance",
        "ohm",
        "ohms",
        "kohm",
        "ω",
        "kω",
    ]);
    let is_unsigned = name.contains('|') || name.starts_with("abs") || any(&["abs"]);
    let is_unit_alone = words.len() == 1 && FrequencyUnit::named(words[0]).is_some();
    if is_unit_alone || words.iter().any(|w| w.starts_with("freq")) || words.first() == Some(&"f") {
        Role::Frequency
    } else if any(&["swr", "vswr"]) {
        Role::Swr
    } else if any(&[
        "phase", "angle", "ang", "arg", "phi", "theta", "deg", "degrees", "rad", "φ", "θ",
    ]) {
        Role::Angle(angle_unit(name, &any))
    } else if (any(&["return"]) && any(&["loss"])) || any(&["rl"]) {
        Role::ReturnLoss
    } else if any(&["db", "logmag"]) {
        Role::Decibels
    } else if any(&["x", "xs", "reactance"]) && !any(&["xp"]) {
        if is_unsigned {
            Role::ReactanceMagnitude
        } else {
            Role::Reactance
        }
    } else if any(&["re", "real"]) {
        if is_impedance {
            Role::Resistance
        } else {
            Role::Real
        }
    } else if any(&["im", "imag", "imaginary"]) {
        if is_impedance {
            Role::Reactance
        } else {
            Role::Imaginary
        }
    } else if any(&["r", "rs", "resistance"]) {
        Role::Resistance
    } else if any(&["rho", "gamma", "reflection", "ρ", "γ"])
        || (names_parameter && (is_unsigned || any(&["mag", "magnitude", "lin", "linmag"])))
    {
        Role::Magnitude
    } else if is_impedance {
        Role::ImpedanceMagnitude
    } else if any(&["mag", "magnitude", "linmag"]) {
        Role::Magnitude
    } else {
        Role::Unknown
    }
}

fn angle_unit(name: &str, any: &impl Fn(&[&str]) -> bool) -> Angle {
    if any(&["rad", "radian", "radians"]) {
        Angle::Radians
    } else if any(&["deg", "degree", "degrees"]) || name.contains('°') {
        Angle::Degrees
    } else {
        Angle::Unstated
    }
}
