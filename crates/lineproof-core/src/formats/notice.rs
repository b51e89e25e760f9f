//! What was odd about a text, and where.

use std::fmt;
use std::ops::Range;

/// A place in a text: line and column from 1 (the column counts characters), and the span in bytes
/// of the text as [`decode()`](super::decode()) gives it.
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
    /// A magnitude of exactly zero printed as decibels.
    ZeroMagnitude,
    /// A reference impedance that is assumed, unusual, or named otherwise in a comment.
    Reference,
    /// What the columns of a table were taken for.
    Columns,
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
