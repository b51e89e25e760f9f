//! What all readers share: lines, positions, excerpts, and the list of notices.

use std::collections::BTreeMap;

use super::decode::{Decoded, Encoding};
use super::{Notice, NoticeCode, Position};

/// Longest piece of a file that a message quotes, in characters.
const EXCERPT_CHARS: usize = 60;

/// Notices of one kind that are kept; the rest is counted.
const KEPT_OF_A_KIND: usize = 20;

/// A line without its end.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line<'a> {
    /// From 1.
    pub(super) number: usize,
    pub(super) text: &'a str,
}

/// Lines ended by LF, CR LF or CR alone.
pub(super) fn lines(text: &str) -> impl Iterator<Item = Line<'_>> {
    let mut rest = Some(text).filter(|t| !t.is_empty());
    let mut number = 0;
    std::iter::from_fn(move || {
        let current = rest?;
        number += 1;
        let end = line_length(current.as_bytes());
        let after = end + line_end_length(&current.as_bytes()[end..]);
        rest = Some(&current[after..]).filter(|t| !t.is_empty());
        Some(Line {
            number,
            text: &current[..end],
        })
    })
}

/// Bytes before the end of the first line.
pub(super) fn line_length(bytes: &[u8]) -> usize {
    let is_end = |&b: &u8| b == b'\n' || b == b'\r';
    bytes.iter().position(is_end).unwrap_or(bytes.len())
}

/// Bytes of the line end that `bytes` starts with: 2 for CR LF, 0 at the end of the text.
pub(super) fn line_end_length(bytes: &[u8]) -> usize {
    match bytes {
        [b'\r', b'\n', ..] => 2,
        [b'\r' | b'\n', ..] => 1,
        _ => 0,
    }
}

/// Position of `part`, a slice of `text`.
pub(super) fn position_of(text: &str, part: &str) -> Position {
    position(text, offset_in(text, part), part.len())
}

/// Offset of `part`, a slice of `text`: the distance of their addresses.
pub(super) fn offset_in(text: &str, part: &str) -> usize {
    (part.as_ptr() as usize).saturating_sub(text.as_ptr() as usize)
}

/// Position of `length` bytes from `offset` on.
fn position(text: &str, offset: usize, length: usize) -> Position {
    let offset = offset.min(text.len());
    let mut line = 1;
    let mut start = 0;
    let bytes = text.as_bytes();
    let mut i = 0;
    while i < offset {
        match line_end_length(&bytes[i..]) {
            0 => i += 1,
            end => {
                i += end;
                line += 1;
                start = i;
            }
        }
    }
    let column = text.get(start..offset).map_or(1, |t| t.chars().count() + 1);
    Position {
        line,
        column,
        span: offset..offset + length,
    }
}

/// Position of the text on line `number`, without blanks around it.
pub(super) fn position_of_line(text: &str, number: usize) -> Position {
    let line = lines(text).find(|line| line.number == number);
    position_of(text, line.map_or("", |line| line.text.trim()))
}

/// `text` cut to a length that a message can quote, without control characters.
pub(super) fn excerpt(text: &str) -> String {
    let plain = |c: char| if c.is_control() { '\u{FFFD}' } else { c };
    let mut quoted: String = text.chars().take(EXCERPT_CHARS).map(plain).collect();
    if text.chars().nth(EXCERPT_CHARS).is_some() {
        quoted.push('…');
    }
    quoted
}

/// A few line numbers for a message: `lines 3, 8, 12 and 4 more`.
pub(super) fn list_lines(lines: &[usize]) -> String {
    const SHOWN: usize = 5;
    let word = if lines.len() == 1 { "line" } else { "lines" };
    let shown: Vec<String> = lines.iter().take(SHOWN).map(usize::to_string).collect();
    match lines.len().saturating_sub(SHOWN) {
        0 => format!("{word} {}", shown.join(", ")),
        more => format!("{word} {} and {more} more", shown.join(", ")),
    }
}

/// Something that the standard does not allow, while reading strictly.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Deviation {
    pub(super) line: Option<usize>,
    pub(super) text: String,
}

/// Collects notices; in strict mode the first deviation ends the reading.
#[derive(Debug)]
pub(super) struct Notices {
    strict: bool,
    list: Vec<Notice>,
    not_kept: BTreeMap<NoticeCode, usize>,
    deviation: Option<Deviation>,
}

impl Notices {
    pub(super) fn new(strict: bool) -> Self {
        Self {
            strict,
            list: Vec::new(),
            not_kept: BTreeMap::new(),
            deviation: None,
        }
    }

    /// Notes something that the standard allows but the user should know.
    pub(super) fn remark(&mut self, code: NoticeCode, line: Option<usize>, text: String) {
        if self.list.iter().filter(|n| n.code == code).count() < KEPT_OF_A_KIND {
            self.list.push(Notice { line, text, code });
        } else {
            *self.not_kept.entry(code).or_default() += 1;
        }
    }

    /// Notes something that the standard does not allow.
    pub(super) fn deviation(&mut self, code: NoticeCode, line: Option<usize>, text: String) {
        if self.strict && self.deviation.is_none() {
            let text = text.clone();
            self.deviation = Some(Deviation { line, text });
        }
        self.remark(code, line, text);
    }

    /// As [`Notices::deviation`], once for each code however often it occurs.
    pub(super) fn deviation_once(&mut self, code: NoticeCode, line: usize, text: &str) {
        if !self.list.iter().any(|n| n.code == code && n.text == text) {
            self.deviation(code, Some(line), text.to_owned());
        }
    }

    /// Notes how the bytes became text.
    pub(super) fn encoding(&mut self, decoded: &Decoded<'_>) {
        let text = match decoded.encoding {
            Encoding::Ascii => return,
            Encoding::Utf8 if decoded.had_mark => "starts with a byte-order mark",
            Encoding::Utf8 => "has characters beyond ASCII, read as UTF-8",
            Encoding::Utf16 => "is in UTF-16",
            Encoding::Windows1252 => "has bytes beyond ASCII, read as Windows-1252",
        };
        self.deviation(NoticeCode::Encoding, None, format!("the file {text}"));
    }

    /// The first deviation, if reading strictly.
    pub(super) fn first_deviation(&self) -> Option<&Deviation> {
        self.deviation.as_ref()
    }

    /// The notices in the order in which they came.
    pub(super) fn into_list(mut self) -> Vec<Notice> {
        for (code, count) in self.not_kept {
            let text = format!("and {count} more notices of this kind ({code})");
            let line = None;
            self.list.push(Notice { line, text, code });
        }
        self.list
    }
}

/// What follows the last point of a file name; empty without one.
pub(super) fn extension(file_name: &str) -> &str {
    file_name.rsplit_once('.').map_or("", |(_, after)| after)
}
