//! Why a text is not a Touchstone file that can be read.

use thiserror::Error;

use crate::formats::{PointError, Position};

/// Why a text is not a Touchstone file that can be read. Every variant with a place has it as
/// `at`.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum TouchstoneError {
    /// An option line, perhaps, but no data.
    #[error("no data: expected rows of numbers after the option line")]
    NoData,
    /// Data before any option line.
    #[error(
        "no option line before the data: `{found}` can be a frequency in {} or {}", readings[0], readings[1]
    )]
    MissingOptionLine {
        /// The first frequency.
        found: String,
        /// Two units that it may be in, the likely one first.
        readings: [&'static str; 2],
        /// The first row of numbers.
        at: Position,
    },
    /// Data without option line, whose pairs may be of two kinds.
    #[error("no option line, and the pairs of numbers can be {}", readings.join(" or "))]
    UnknownPairFormat {
        /// The kinds that they may be.
        readings: Vec<&'static str>,
        /// The first row of numbers.
        at: Position,
    },
    /// A word that an option line can't have.
    #[error(
        "`{word}` is not understood on the option line: expected a unit (Hz, kHz, MHz, GHz), a parameter (S, Y, Z, H, G), a format (DB, MA, RI), or R and a number"
    )]
    OptionWord {
        /// The word.
        word: String,
        /// Whether the words look like names of columns.
        looks_like_header: bool,
        /// The word's place.
        at: Position,
    },
    /// Two words on the option line that contradict one another.
    #[error("`{second}` contradicts `{first}` on the same option line")]
    OptionContradiction {
        /// The first word.
        first: String,
        /// The second word.
        second: String,
        /// The second word's place.
        at: Position,
    },
    /// A reference that is no positive number.
    #[error("expected a positive number of ohm as reference, found `{found}`")]
    Reference {
        /// What stands there.
        found: String,
        /// Its place.
        at: Position,
    },
    /// A reference impedance with an imaginary part.
    #[error(
        "reference impedance `{found}` is not real: only real references can be written in a Touchstone file"
    )]
    ComplexReference {
        /// What stands there.
        found: String,
        /// Its place.
        at: Position,
    },
    /// Neither one reference nor one for each port.
    #[error("{found} reference impedances for {ports} ports: expected one, or one for each port")]
    ReferenceCount {
        /// Number of references.
        found: usize,
        /// Number of ports.
        ports: usize,
        /// Where they stand.
        at: Position,
    },
    /// Normalised parameters that refer to two different impedances.
    #[error(
        "{parameter} parameters normalised to two different references ({first_ohm} and {second_ohm} ohm): the standard does not say how"
    )]
    NormalisedToTwo {
        /// Y, Z, H or G.
        parameter: char,
        /// Reference of port 1, ohm.
        first_ohm: f64,
        /// Reference of port 2, ohm.
        second_ohm: f64,
        /// The option line.
        at: Position,
    },
    /// A line that starts like a keyword and is none.
    #[error("expected a keyword in square brackets, found `{found}`")]
    Keyword {
        /// The line.
        found: String,
        /// Its place.
        at: Position,
    },
    /// A keyword whose value is not one that it can have.
    #[error("`{found}` after [{keyword}]: expected {expected}")]
    KeywordValue {
        /// The keyword.
        keyword: &'static str,
        /// What stands there.
        found: String,
        /// What can stand there.
        expected: &'static str,
        /// Its place.
        at: Position,
    },
    /// A keyword without which the data have two readings.
    #[error("[{keyword}] is missing: {consequence}")]
    MissingKeyword {
        /// The keyword.
        keyword: &'static str,
        /// What can't be known without it.
        consequence: &'static str,
        /// Where it could stand.
        at: Position,
    },
    /// A keyword that this reader does not serve.
    #[error("[{keyword}] is not supported: {reason}")]
    UnservedKeyword {
        /// The keyword.
        keyword: &'static str,
        /// Why.
        reason: &'static str,
        /// Its place.
        at: Position,
    },
    /// Three ports or more.
    #[error("a network of {ports} ports: a cable has two ends, so expected 1 or 2 ports")]
    Ports {
        /// Number of ports.
        ports: usize,
        /// Where that is seen.
        at: Position,
    },
    /// Hybrid parameters of one port.
    #[error("{parameter} parameters exist for two ports only, and each row has one")]
    HybridOnePort {
        /// H or G.
        parameter: char,
        /// The option line.
        at: Position,
    },
    /// Only S11 and S21 are there, and conversion needs all four parameters.
    #[error("cannot convert {what} without S12 and S22")]
    OnePathConversion {
        /// What would have to be converted.
        what: String,
        /// The option line.
        at: Position,
    },
    /// A word where a number must stand.
    #[error("expected a number, found `{found}`")]
    Number {
        /// The word.
        found: String,
        /// Whether it is a number that lost the letter before its exponent.
        lost_exponent: bool,
        /// How many numbers a row has, if known.
        row: Option<usize>,
        /// The word's place.
        at: Position,
    },
    /// A row that is too short.
    #[error("a row of {found} numbers: expected {expected}")]
    TooFewNumbers {
        /// Numbers in the row.
        found: usize,
        /// Numbers in the rows before.
        expected: usize,
        /// The row.
        at: Position,
    },
    /// A row that is too long.
    #[error("a row of {found} numbers: expected {expected}")]
    TooManyNumbers {
        /// Numbers in the row.
        found: usize,
        /// Numbers in the rows before.
        expected: usize,
        /// The row.
        at: Position,
    },
    /// Rows that fit neither one port nor two, or both.
    #[error("rows of {columns} numbers: {reading}")]
    Columns {
        /// Numbers in each row.
        columns: usize,
        /// What they could be.
        reading: &'static str,
        /// The first row.
        at: Position,
    },
    /// Commas that may separate numbers or mark decimals.
    #[error("`{found}` can be read with decimal commas or with commas between the numbers")]
    AmbiguousComma {
        /// The line.
        found: String,
        /// The line's place.
        at: Position,
    },
    /// A magnitude below zero.
    #[error(
        "magnitude {found} is negative, which format MA does not allow: the pairs are RI or DB"
    )]
    NegativeMagnitude {
        /// The magnitude.
        found: f64,
        /// The row.
        at: Position,
    },
    /// Something that the standard does not allow, while reading strictly.
    #[error("not allowed by the standard: {text}")]
    NotStandard {
        /// What it is.
        text: String,
        /// Where, if it is at one place.
        at: Option<Position>,
    },
    /// The points do not make a sweep.
    #[error(transparent)]
    Points(#[from] PointError),
}

impl TouchstoneError {
    /// Where the error is, if it is at one place.
    pub fn position(&self) -> Option<Position> {
        match self {
            Self::NoData => None,
            Self::NotStandard { at, .. } => at.clone(),
            Self::Points(e) => e.position(),
            Self::MissingOptionLine { at, .. }
            | Self::UnknownPairFormat { at, .. }
            | Self::OptionWord { at, .. }
            | Self::OptionContradiction { at, .. }
            | Self::Reference { at, .. }
            | Self::ComplexReference { at, .. }
            | Self::ReferenceCount { at, .. }
            | Self::NormalisedToTwo { at, .. }
            | Self::Keyword { at, .. }
            | Self::KeywordValue { at, .. }
            | Self::MissingKeyword { at, .. }
            | Self::UnservedKeyword { at, .. }
            | Self::Ports { at, .. }
            | Self::HybridOnePort { at, .. }
            | Self::OnePathConversion { at, .. }
            | Self::Number { at, .. }
            | Self::TooFewNumbers { at, .. }
            | Self::TooManyNumbers { at, .. }
            | Self::Columns { at, .. }
            | Self::AmbiguousComma { at, .. }
            | Self::NegativeMagnitude { at, .. } => Some(at.clone()),
        }
    }

    /// One next step, if there is one.
    pub fn help(&self) -> Option<String> {
        let text = match self {
            Self::MissingOptionLine { readings, .. } => {
                return Some(format!(
                    "put a line such as `# {} S RI R 50` or `# {} S MA R 50` before the data",
                    readings[0], readings[1]
                ));
            }
            Self::UnknownPairFormat { .. } => {
                "put a line such as `# Hz S RI R 50` or `# Hz S MA R 50` before the data"
            }
            Self::OptionWord {
                looks_like_header: true,
                ..
            } => "names of columns belong on a line of their own that starts with `!`",
            Self::Number {
                lost_exponent: true,
                ..
            } => "the letter before the exponent got lost; write it as in `1.0e-103`",
            Self::Number { row: Some(3), .. } => {
                "a row has frequency and one pair: three numbers on each line"
            }
            Self::Number { row: Some(9), .. } => {
                "a row has frequency and four pairs: nine numbers on each line"
            }
            Self::AmbiguousComma { .. } => {
                "write points as decimals and blanks between the numbers"
            }
            Self::NegativeMagnitude { .. } => {
                "put `RI` or `DB` on the option line, whichever the instrument was set to"
            }
            Self::Columns { .. } => {
                "name the file .s1p or .s2p, or leave only the columns of one or two ports"
            }
            Self::MissingKeyword { .. } => "add the keyword to the file's header",
            Self::NotStandard { .. } => "read it without the strict option",
            Self::Points(e) => return e.help(),
            _ => return None,
        };
        Some(text.to_owned())
    }
}
