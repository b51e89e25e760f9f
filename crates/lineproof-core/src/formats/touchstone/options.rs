//! The option line: `# <unit> <parameter> <format> R <n>`.
//!
//! Source: Touchstone File Format Specification 1.1 (EIA/IBIS, 2002), option line; several
//! references as of version 2.1 (2024).

use super::TouchstoneError;
use crate::formats::source::{Line, Notices, excerpt, position_of};
use crate::formats::{FrequencyUnit, NoticeCode, PairFormat};

/// What an option line says; the default is that of a bare `#`.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct OptionLine {
    pub(super) unit: FrequencyUnit,
    pub(super) parameter: Parameter,
    pub(super) format: PairFormat,
    /// One reference, or one for each port, ohm.
    pub(super) references_ohm: Vec<f64>,
    /// Line number.
    pub(super) line: usize,
}

/// Network parameters that a file may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Parameter {
    S,
    Y,
    Z,
    H,
    G,
}

impl Parameter {
    pub(super) fn letter(self) -> char {
        match self {
            Self::S => 'S',
            Self::Y => 'Y',
            Self::Z => 'Z',
            Self::H => 'H',
            Self::G => 'G',
        }
    }
}

impl Default for OptionLine {
    fn default() -> Self {
        Self {
            unit: FrequencyUnit::GHz,
            parameter: Parameter::S,
            format: PairFormat::MagnitudeAngle,
            references_ohm: vec![50.0],
            line: 0,
        }
    }
}

impl OptionLine {
    /// Whether both lines mean the same.
    pub(super) fn means_the_same(&self, other: &Self) -> bool {
        (self.unit, self.parameter, self.format) == (other.unit, other.parameter, other.format)
            && self.references_ohm == other.references_ohm
    }
}

/// Whether `word` can stand on an option line.
pub(super) fn is_option_word(word: &str) -> bool {
    kind_of(word).is_some() || word.eq_ignore_ascii_case("r")
}

enum Kind {
    Unit(FrequencyUnit),
    Parameter(Parameter),
    Format(PairFormat),
}

fn kind_of(word: &str) -> Option<Kind> {
    if let Some(unit) = FrequencyUnit::named(word) {
        return Some(Kind::Unit(unit));
    }
    Some(match word.to_ascii_lowercase().as_str() {
        "s" => Kind::Parameter(Parameter::S),
        "y" => Kind::Parameter(Parameter::Y),
        "z" => Kind::Parameter(Parameter::Z),
        "h" => Kind::Parameter(Parameter::H),
        "g" => Kind::Parameter(Parameter::G),
        "db" => Kind::Format(PairFormat::DecibelAngle),
        "ma" => Kind::Format(PairFormat::MagnitudeAngle),
        "ri" => Kind::Format(PairFormat::RealImaginary),
        _ => return None,
    })
}

/// Reads an option line; `body` is the part between `#` and a comment.
pub(super) fn parse(
    text: &str,
    line: Line<'_>,
    body: &str,
    notices: &mut Notices,
) -> Result<OptionLine, TouchstoneError> {
    let mut reader = Reader {
        text,
        line,
        body,
        seen: Seen::default(),
        references_ohm: Vec::new(),
    };
    if body.starts_with(|c: char| !c.is_whitespace()) {
        reader.note(notices, "no blank after `#` on the option line");
    }
    let mut words = body.split_whitespace().peekable();
    while let Some(word) = words.next() {
        if word.eq_ignore_ascii_case("r") {
            reader.reference_after(word, words.next_if(|w| !is_option_word(w)))?;
            while let Some(next) = words.next_if(|w| !is_option_word(w)) {
                reader.further_reference(next)?;
            }
        } else if let Some(number) = glued_reference(word) {
            reader.reference_after(word, Some(number))?;
            let shown = format!("`{word}` on the option line is read as `R {number}`");
            reader.note(notices, &shown);
        } else {
            reader.word(word)?;
        }
    }
    Ok(reader.finish())
}

/// The number in `R50`.
fn glued_reference(word: &str) -> Option<&str> {
    let number = word.strip_prefix(['r', 'R'])?;
    number.parse::<f64>().is_ok().then_some(number)
}

#[derive(Default)]
struct Seen<'a> {
    unit: Option<(FrequencyUnit, &'a str)>,
    parameter: Option<(Parameter, &'a str)>,
    format: Option<(PairFormat, &'a str)>,
    reference: Option<&'a str>,
}

struct Reader<'a> {
    text: &'a str,
    line: Line<'a>,
    body: &'a str,
    seen: Seen<'a>,
    references_ohm: Vec<f64>,
}

impl<'a> Reader<'a> {
    fn note(&self, notices: &mut Notices, text: &str) {
        notices.deviation(
            NoticeCode::OptionLine,
            Some(self.line.number),
            text.to_owned(),
        );
    }

    fn word(&mut self, word: &'a str) -> Result<(), TouchstoneError> {
        let contradiction = match kind_of(word) {
            Some(Kind::Unit(unit)) => set(&mut self.seen.unit, unit, word),
            Some(Kind::Parameter(parameter)) => set(&mut self.seen.parameter, parameter, word),
            Some(Kind::Format(format)) => set(&mut self.seen.format, format, word),
            None => return Err(self.unknown(word)),
        };
        match contradiction {
            Some(first) => Err(self.contradiction(first, word)),
            None => Ok(()),
        }
    }

    fn unknown(&self, word: &str) -> TouchstoneError {
        let unknown = self
            .body
            .split_whitespace()
            .filter(|w| !is_option_word(w) && w.starts_with(|c: char| c.is_alphabetic()));
        TouchstoneError::OptionWord {
            word: excerpt(word),
            looks_like_header: unknown.count() > 1 || word.len() > 4,
            at: position_of(self.text, word),
        }
    }

    fn contradiction(&self, first: &str, second: &str) -> TouchstoneError {
        TouchstoneError::OptionContradiction {
            first: first.to_owned(),
            second: excerpt(second),
            at: position_of(self.text, second),
        }
    }

    fn reference_after(
        &mut self,
        r: &'a str,
        number: Option<&'a str>,
    ) -> Result<(), TouchstoneError> {
        if let Some(first) = self.seen.reference {
            return Err(self.contradiction(first, r));
        }
        self.seen.reference = Some(r);
        match number {
            Some(number) => self.further_reference(number),
            None => Err(TouchstoneError::Reference {
                found: self.line.text.trim().to_owned(),
                at: position_of(self.text, r),
            }),
        }
    }

    fn further_reference(&mut self, number: &'a str) -> Result<(), TouchstoneError> {
        let starts_like_number =
            number.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c));
        if !starts_like_number && !self.references_ohm.is_empty() {
            return Err(self.unknown(number));
        }
        self.references_ohm.push(reference_ohm(self.text, number)?);
        Ok(())
    }

    fn finish(self) -> OptionLine {
        let default = OptionLine::default();
        OptionLine {
            unit: self.seen.unit.map_or(default.unit, |(unit, _)| unit),
            parameter: self.seen.parameter.map_or(default.parameter, |(p, _)| p),
            format: self
                .seen
                .format
                .map_or(default.format, |(format, _)| format),
            references_ohm: if self.references_ohm.is_empty() {
                default.references_ohm
            } else {
                self.references_ohm
            },
            line: self.line.number,
        }
    }
}

/// Keeps the first value; gives the first word if the second contradicts it.
fn set<'a, T: PartialEq + Copy>(
    slot: &mut Option<(T, &'a str)>,
    value: T,
    word: &'a str,
) -> Option<&'a str> {
    let (first, first_word) = *slot.get_or_insert((value, word));
    (first != value).then_some(first_word)
}

/// A reference impedance: a positive real number of ohm.
pub(super) fn reference_ohm(text: &str, word: &str) -> Result<f64, TouchstoneError> {
    let at = || position_of(text, word);
    match word.parse::<f64>() {
        Ok(ohm) if ohm > 0.0 && ohm.is_finite() => Ok(ohm),
        Err(_) if is_complex(word) => Err(TouchstoneError::ComplexReference {
            found: excerpt(word),
            at: at(),
        }),
        _ => Err(TouchstoneError::Reference {
            found: excerpt(word),
            at: at(),
        }),
    }
}

/// Numbers with an imaginary unit: `50+j10`, `50-10i`.
fn is_complex(word: &str) -> bool {
    let lower = word.to_ascii_lowercase();
    let has_unit = lower.contains(['i', 'j']);
    has_unit
        && lower
            .chars()
            .all(|c| c.is_ascii_digit() || "+-.eij*()".contains(c))
}
