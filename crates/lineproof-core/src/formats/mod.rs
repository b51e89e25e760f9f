//! Text of measurement files to values, and back.
//!
//! [`read`] takes the bytes of a file, finds out by content which format they are in, and gives a
//! [`Measurement`]: a sweep or a through sweep, and what was odd about the file. The rule for odd
//! files: what has one sensible reading is read, with a [`Notice`] that names the line; what has
//! two is refused, and the error says both. [`ReadOptions::strict`] accepts only the standard.
//!
//! Formats: Touchstone 1.0, 1.1, 2.0, 2.1 of one and two ports ([`touchstone`]), and delimited
//! text with a header ([`delimited`]).

mod decode;
pub mod delimited;
mod number;
mod points;
mod source;
pub mod touchstone;

use std::fmt;
use std::ops::Range;

use thiserror::Error;

use crate::sweep::{Sweep, ThroughSweep};

pub use decode::{DecodeError, Decoded, Encoding, decode};
pub use delimited::DelimitedError;
pub use points::PointError;
pub use touchstone::TouchstoneError;

/// A place in a text: line and column from 1 (the column counts characters), and the span in bytes
/// of the text as [`decode()`] gives it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Position {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Bytes of the decoded text.
    pub span: Range<usize>,
}

/// Something odd about a file that was read all the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// The line it was seen at, from 1; absent if it concerns the whole file.
    pub line: Option<usize>,
    /// What was seen and how it was read.
    pub text: String,
    /// What kind of oddity.
    pub code: NoticeCode,
}

/// Kinds of oddity; as text a few words joined by hyphens.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[non_exhaustive]
pub enum NoticeCode {
    /// The bytes were not plain ASCII.
    Encoding,
    /// Wrapping of an instrument around the file, such as a block header.
    Wrapping,
    /// Something unusual on the option line, or a second one.
    OptionLine,
    /// A keyword that is missing, unknown, misplaced or contradicted by the data.
    Keyword,
    /// Unusual spelling of numbers: decimal comma, Fortran exponent, odd separators.
    NumberStyle,
    /// Text or columns beyond those that are needed.
    Surplus,
    /// Data laid out otherwise than the format says.
    Layout,
    /// The file's name promises another number of ports than the data have.
    PortCount,
    /// Only one direction was measured.
    OnePath,
    /// The reverse direction repeats the forward one digit for digit.
    Copy,
    /// Points without a value.
    Missing,
    /// An unfinished last point.
    Truncated,
    /// Frequencies that were sorted.
    Sorted,
    /// Points at one frequency that were joined.
    Duplicate,
    /// A noise block that was left out.
    Noise,
    /// Values that no passive cable has.
    AboveOne,
    /// A magnitude of exactly nought printed as decibels.
    ZeroMagnitude,
    /// A reference impedance that is assumed, unusual, or named otherwise in a comment.
    Reference,
    /// What the columns of a table were taken for.
    Columns,
}

/// What the reader may assume, and how strict it is. `ReadOptions::default()` reads odd files and
/// assumes nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ReadOptions {
    /// Accept only what the standard allows; an oddity is then an error.
    pub strict: bool,
    /// Frequency unit of a file that does not state it.
    pub freq_unit: Option<FrequencyUnit>,
    /// How pairs of numbers are meant in a Touchstone file that does not state it.
    pub pair_format: Option<PairFormat>,
    /// Reference impedance, ohm, of reflections in a file that does not state it; 50 if absent.
    pub z_ref_ohm: Option<f64>,
}

/// Unit of frequencies in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrequencyUnit {
    /// Hertz.
    Hz,
    /// Kilohertz.
    KHz,
    /// Megahertz.
    MHz,
    /// Gigahertz.
    GHz,
}

/// How two numbers make one complex value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PairFormat {
    /// 20·log10 of the magnitude, and the angle in degrees.
    DecibelAngle,
    /// Magnitude, and the angle in degrees.
    MagnitudeAngle,
    /// Real and imaginary part.
    RealImaginary,
}

/// What a file holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Measurement {
    /// The readings.
    pub network: Network,
    /// What was odd, in the order in which it was found.
    pub notices: Vec<Notice>,
    /// S12 and S22 repeat S21 and S11 digit for digit, so they prove neither reciprocity nor
    /// symmetry.
    pub reverse_is_copy: bool,
}

/// Readings of one or two ports.
#[derive(Clone, Debug, PartialEq)]
pub enum Network {
    /// Reflection at one port.
    OnePort(Sweep),
    /// Reflection and transmission.
    TwoPort(ThroughSweep),
}

/// Why a file gives no measurement.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum ReadError {
    /// The bytes are no text.
    #[error(transparent)]
    Decode(#[from] DecodeError),
    /// It is, or should be, a Touchstone file.
    #[error(transparent)]
    Touchstone(#[from] TouchstoneError),
    /// It is a table.
    #[error(transparent)]
    Delimited(#[from] DelimitedError),
    /// Neither an option line nor a header was found.
    #[error("expected a Touchstone file or a table with a header, found `{found}`")]
    Unrecognised {
        /// The first line with something on it.
        found: String,
        /// Where it stands.
        at: Position,
    },
    /// Nothing but blanks.
    #[error("the file is empty")]
    Empty,
}

/// Reads a measurement; the format is told by content, `file_name` helps only where the content
/// has two readings (five numbers on each line of a `.s1p` or a `.s2p` file).
///
/// # Errors
/// [`ReadError`] with position, offending text and what was expected.
///
/// ```
/// use lineproof_core::formats::{Network, ReadOptions, read};
///
/// let text = b"# MHz S MA R 50\n2.000 0.894 -12.136\n";
/// let measurement = read(text, "open.s1p", &ReadOptions::default()).unwrap();
/// let Network::OnePort(sweep) = measurement.network else { panic!() };
/// assert_eq!(sweep.freq_hz(), [2e6]);
/// ```
pub fn read(
    bytes: &[u8],
    file_name: &str,
    options: &ReadOptions,
) -> Result<Measurement, ReadError> {
    let decoded = decode(bytes)?;
    let mut notices = source::Notices::new(options.strict);
    notices.encoding(&decoded);
    let text = decoded.text.as_ref();
    if text.trim().is_empty() {
        return Err(ReadError::Empty);
    }
    match recognise(text, file_name) {
        Format::Touchstone => Ok(touchstone::read_text(text, file_name, options, notices)?),
        Format::Delimited => Ok(delimited::read_text(text, options, notices)?),
        Format::Neither(line) => Err(unrecognised(text, line)),
    }
}

impl ReadError {
    /// Where the error is, if it is at one place.
    pub fn position(&self) -> Option<Position> {
        match self {
            Self::Touchstone(e) => e.position(),
            Self::Delimited(e) => e.position(),
            Self::Unrecognised { at, .. } => Some(at.clone()),
            Self::Decode(_) | Self::Empty => None,
        }
    }

    /// One next step, if there is one.
    pub fn help(&self) -> Option<String> {
        match self {
            Self::Touchstone(e) => e.help(),
            Self::Delimited(e) => e.help(),
            Self::Unrecognised { .. } => Some(
                "a table needs a header such as `Frequency (MHz), R (ohm), X (ohm)`".to_owned(),
            ),
            Self::Decode(e) => e.help(),
            Self::Empty => None,
        }
    }
}

impl FrequencyUnit {
    /// All units, small ones first.
    pub const ALL: [Self; 4] = [Self::Hz, Self::KHz, Self::MHz, Self::GHz];

    /// Hertz in the unit.
    pub fn hertz(self) -> f64 {
        match self {
            Self::Hz => 1.0,
            Self::KHz => 1e3,
            Self::MHz => 1e6,
            Self::GHz => 1e9,
        }
    }

    /// The unit of this name, whatever its case.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|unit| unit.symbol().eq_ignore_ascii_case(name))
    }

    /// The unit's symbol.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Hz => "Hz",
            Self::KHz => "kHz",
            Self::MHz => "MHz",
            Self::GHz => "GHz",
        }
    }
}

impl fmt::Display for FrequencyUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

impl fmt::Display for PairFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::DecibelAngle => "DB",
            Self::MagnitudeAngle => "MA",
            Self::RealImaginary => "RI",
        })
    }
}

impl NoticeCode {
    /// The code as text, for machines.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Encoding => "encoding",
            Self::Wrapping => "wrapping",
            Self::OptionLine => "option-line",
            Self::Keyword => "keyword",
            Self::NumberStyle => "number-style",
            Self::Surplus => "surplus",
            Self::Layout => "layout",
            Self::PortCount => "port-count",
            Self::OnePath => "one-path",
            Self::Copy => "reverse-is-copy",
            Self::Missing => "missing-points",
            Self::Truncated => "truncated",
            Self::Sorted => "sorted",
            Self::Duplicate => "duplicate-frequency",
            Self::Noise => "noise-skipped",
            Self::AboveOne => "above-one",
            Self::ZeroMagnitude => "zero-magnitude",
            Self::Reference => "reference",
            Self::Columns => "columns",
        }
    }
}

impl fmt::Display for NoticeCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

enum Format<'a> {
    Touchstone,
    Delimited,
    Neither(Option<&'a str>),
}

/// Looks at the first line that says something; comments and instrument wrapping come before it.
fn recognise<'a>(text: &'a str, file_name: &str) -> Format<'a> {
    let is_touchstone_name = touchstone::ports_in_name(file_name).is_some()
        || extension(file_name).eq_ignore_ascii_case("ts");
    let first = source::lines(text)
        .map(|line| line.text.trim())
        .find(|line| !line.is_empty() && !line.starts_with('!'));
    match first {
        None if is_touchstone_name || text.trim_start().starts_with('!') => Format::Touchstone,
        None => Format::Neither(None),
        Some(line) if touchstone::starts_file(line) || is_touchstone_name => Format::Touchstone,
        Some(_) if delimited::has_header(text) => Format::Delimited,
        Some(line) => Format::Neither(Some(line)),
    }
}

fn extension(file_name: &str) -> &str {
    file_name.rsplit_once('.').map_or("", |(_, after)| after)
}

fn unrecognised(text: &str, line: Option<&str>) -> ReadError {
    let Some(line) = line else {
        return ReadError::Empty;
    };
    ReadError::Unrecognised {
        found: source::excerpt(line),
        at: source::position_of(text, line),
    }
}
