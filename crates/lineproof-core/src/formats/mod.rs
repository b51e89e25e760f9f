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
mod error;
mod measurement;
mod notice;
mod number;
mod options;
mod points;
mod source;
pub mod touchstone;

pub use decode::{DecodeError, Decoded, Encoding, decode};
pub use delimited::DelimitedError;
pub use error::ReadError;
pub use measurement::{Measurement, Network};
pub use notice::{Notice, NoticeCode, Position};
pub use options::{FrequencyUnit, PairFormat, ReadOptions};
pub use points::PointError;
pub use touchstone::TouchstoneError;

/// Reads a measurement; the format follows from the content, `file_name` helps only where the content
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

enum Format<'a> {
    Touchstone,
    Delimited,
    Neither(Option<&'a str>),
}

/// Looks at the first line that says something; comments and instrument wrapping come before it.
fn recognise<'a>(text: &'a str, file_name: &str) -> Format<'a> {
    let is_touchstone_name = touchstone::ports_in_name(file_name).is_some()
        || source::extension(file_name).eq_ignore_ascii_case("ts");
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

fn unrecognised(text: &str, line: Option<&str>) -> ReadError {
    let Some(line) = line else {
        return ReadError::Empty;
    };
    ReadError::Unrecognised {
        found: source::excerpt(line),
        at: source::position_of(text, line),
    }
}
