//! One pass over the lines of a file: comments, option line, keywords, rows of numbers.
//!
//! Rows of plain numbers take a fast path over bytes; a line with anything else on it is looked at
//! word by word, and only that path makes notices and errors.

use super::TouchstoneError;
use super::keywords::{Follows, Keywords};
use super::options::{self, OptionLine};
use crate::formats::number::{CommaStyle, Word, plain_number};
use crate::formats::source::{
    Line, Notices, excerpt, line_end_length, line_length, lines, offset_in, position_of,
};
use crate::formats::{NoticeCode, ReadOptions};

/// What a file says, before rows become points.
#[derive(Debug, Default)]
pub(super) struct Contents {
    pub(super) option_line: Option<OptionLine>,
    pub(super) keywords: Keywords,
    /// All numbers of the network data in order.
    pub(super) values: Vec<f64>,
    /// Where each row ends.
    pub(super) rows: Vec<Row>,
    /// Impedances named in a comment, and its line.
    pub(super) comment_ohm: Option<(usize, Vec<f64>)>,
}

/// A line of numbers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    /// Line in the file.
    pub(super) line: u32,
    /// Numbers in this row and all rows before it.
    pub(super) end: u32,
}

impl Contents {
    /// Numbers in a row.
    pub(super) fn width(&self, row: usize) -> usize {
        self.rows[row].end as usize - self.start(row)
    }

    /// Numbers before a row.
    pub(super) fn start(&self, row: usize) -> usize {
        match row {
            0 => 0,
            _ => self.rows[row - 1].end as usize,
        }
    }

    /// Line of the number at `index`.
    pub(super) fn line_of_value(&self, index: usize) -> usize {
        let row = self.rows.partition_point(|row| row.end as usize <= index);
        self.rows.get(row).map_or(0, |row| row.line as usize)
    }
}

/// Reads all lines.
pub(super) fn scan(
    text: &str,
    read_options: &ReadOptions,
    notices: &mut Notices,
) -> Result<Contents, TouchstoneError> {
    let mut scanner = Scanner {
        text,
        at: 0,
        line: 0,
        state: Follows::Header,
        style: None,
        data_start: None,
        noise_rows: 0,
        contents: Contents::default(),
        may_lack_option_line: read_options.freq_unit.is_some(),
        notices,
    };
    scanner.run()?;
    Ok(scanner.contents)
}

struct Scanner<'a, 'n> {
    text: &'a str,
    at: usize,
    line: usize,
    state: Follows,
    style: Option<CommaStyle>,
    /// Offset of the first row of data.
    data_start: Option<usize>,
    noise_rows: usize,
    contents: Contents,
    may_lack_option_line: bool,
    notices: &'n mut Notices,
}

impl<'a> Scanner<'a, '_> {
    fn run(&mut self) -> Result<(), TouchstoneError> {
        while self.at < self.text.len() {
            self.line += 1;
            if self.state == Follows::Network && self.plain_row() {
                continue;
            }
            let rest = &self.text[self.at..];
            let end = line_length(rest.as_bytes());
            let line = Line {
                number: self.line,
                text: &rest[..end],
            };
            self.at += end + line_end_length(&rest.as_bytes()[end..]);
            self.take_line(line)?;
        }
        if self.noise_rows > 0 {
            let text = format!("{} rows of noise data are ignored", self.noise_rows);
            self.notices.remark(NoticeCode::Noise, None, text);
        }
        Ok(())
    }

    /// Reads the row at `self.at` if it consists of plain numbers and perhaps a comment after
    /// them; otherwise takes nothing.
    fn plain_row(&mut self) -> bool {
        let values = &mut self.contents.values;
        let before = values.len();
        let mut rest = &self.text.as_bytes()[self.at..];
        loop {
            match rest {
                [b' ' | b'\t', after @ ..] => rest = after,
                [] | [b'\n' | b'\r', ..] => break,
                [b'!', ..] => {
                    rest = &rest[line_length(rest)..];
                    break;
                }
                _ => match plain_number(rest) {
                    Some((value, after)) if ends_word(after) => {
                        values.push(value);
                        rest = after;
                    }
                    _ => {
                        values.truncate(before);
                        return false;
                    }
                },
            }
        }
        if values.len() == before {
            return false;
        }
        self.at = self.text.len() - rest.len() + line_end_length(rest);
        self.push_row();
        true
    }

    fn push_row(&mut self) {
        // A file of 2^32 numbers has more than 8 GB; whoever loads files stops long before.
        let end = u32::try_from(self.contents.values.len()).unwrap_or(u32::MAX);
        let line = u32::try_from(self.line).unwrap_or(u32::MAX);
        self.contents.rows.push(Row { line, end });
        if self.contents.rows.len() == 1 {
            self.reserve();
        }
    }

    /// Room for the rest of the file if all its rows are as long as the first.
    fn reserve(&mut self) {
        let start = self.data_start.unwrap_or(0);
        let rest = self.text.len().saturating_sub(self.at);
        let row = self.at.saturating_sub(start).max(1);
        let rows = rest / row + 1;
        self.contents.rows.reserve(rows);
        self.contents.values.reserve(rows * self.contents.width(0));
    }

    fn take_line(&mut self, line: Line<'a>) -> Result<(), TouchstoneError> {
        if let Some(rest) = self.after_block_header(line) {
            return self.take_line(rest);
        }
        let (body, comment) = match line.text.split_once('!') {
            Some((body, comment)) => (body.trim_matches(is_blank), Some(comment)),
            None => (line.text.trim_matches(is_blank), None),
        };
        if body.is_empty() {
            self.take_comment(line.number, comment.unwrap_or(""));
            return Ok(());
        }
        if self.state == Follows::Information && !body.starts_with('[') {
            return Ok(());
        }
        match body.as_bytes()[0] {
            b'#' => self.take_option_line(line, &body[1..]),
            b'[' => self.take_keyword(line, body),
            _ if body.eq_ignore_ascii_case("begin") || body.eq_ignore_ascii_case("end") => {
                let text = format!("the line `{body}` is not part of the format and is ignored");
                self.notices
                    .deviation(NoticeCode::Wrapping, Some(line.number), text);
                Ok(())
            }
            _ => self.take_numbers(line, body),
        }
    }

    /// What follows the header of a definite-length block (IEEE 488.2, 8.7.9) that an instrument
    /// left in front of the file: `#`, a digit, and as many digits as it says.
    fn after_block_header(&mut self, line: Line<'a>) -> Option<Line<'a>> {
        let digits = line.text.trim_start().strip_prefix('#')?;
        let count = digits.bytes().next().filter(u8::is_ascii_digit)?;
        let length = 1 + usize::from(count - b'0');
        let header = digits.get(..length)?;
        let is_header = header.bytes().all(|b| b.is_ascii_digit());
        if !is_header || self.state != Follows::Header || self.contents.option_line.is_some() {
            return None;
        }
        let text = format!("`#{header}` is the block header of an instrument and is ignored");
        self.notices
            .deviation(NoticeCode::Wrapping, Some(line.number), text);
        Some(Line {
            number: line.number,
            text: &digits[length..],
        })
    }

    fn take_comment(&mut self, line: usize, comment: &str) {
        if self.contents.comment_ohm.is_none()
            && let Some(ohm) = impedances_in_comment(comment)
        {
            self.contents.comment_ohm = Some((line, ohm));
        }
    }

    fn take_option_line(&mut self, line: Line<'a>, body: &'a str) -> Result<(), TouchstoneError> {
        let Some(first) = &self.contents.option_line else {
            let parsed = options::parse(self.text, line, body, self.notices)?;
            self.contents.option_line = Some(parsed);
            return Ok(());
        };
        let mut unheard = Notices::new(false);
        let differs = match options::parse(self.text, line, body, &mut unheard) {
            Ok(second) => !second.means_the_same(first),
            Err(_) => true,
        };
        let text = if differs {
            format!(
                "a second option line differs from the one on line {}; the first counts",
                first.line
            )
        } else {
            "a second option line repeats the first; ignored".to_owned()
        };
        self.notices
            .deviation(NoticeCode::OptionLine, Some(line.number), text);
        Ok(())
    }

    fn take_keyword(&mut self, line: Line<'a>, body: &'a str) -> Result<(), TouchstoneError> {
        if self.state == Follows::Information {
            let words: Vec<&str> = body.split_whitespace().collect();
            if words
                .join(" ")
                .to_lowercase()
                .starts_with("[end information]")
            {
                self.state = Follows::Header;
            }
            return Ok(());
        }
        let has_option_line = self.contents.option_line.is_some();
        let keywords = &mut self.contents.keywords;
        self.state = keywords.take(self.text, line, body, has_option_line, self.notices)?;
        if self.state == Follows::Network {
            self.data_start.get_or_insert(self.at);
            if !has_option_line && !self.may_lack_option_line {
                self.state = Follows::Header;
            }
        }
        Ok(())
    }

    /// A line that is neither comment nor option line nor keyword.
    fn take_numbers(&mut self, line: Line<'a>, body: &'a str) -> Result<(), TouchstoneError> {
        match self.state {
            Follows::References => self.contents.keywords.take_references(self.text, body),
            Follows::Noise => {
                self.noise_rows += 1;
                Ok(())
            }
            Follows::Nothing => {
                let text = "text after [End] is ignored";
                self.notices
                    .deviation_once(NoticeCode::Surplus, line.number, text);
                Ok(())
            }
            Follows::Network => self.row(line, body),
            Follows::Header | Follows::Information => {
                let first = body.split([' ', '\t', ',', ';']).next().unwrap_or(body);
                let is_text = matches!(Word::of(first), Word::Text) && !first.contains(',');
                if !is_text && self.contents.option_line.is_none() && !self.may_lack_option_line {
                    return Err(missing_option_line(self.text, first));
                }
                if is_text {
                    return Err(self.not_a_number(first, false));
                }
                self.state = Follows::Network;
                self.data_start = Some(offset_in(self.text, line.text));
                self.row(line, body)
            }
        }
    }

    /// A row with something on it that is not plain.
    fn row(&mut self, line: Line<'a>, body: &'a str) -> Result<(), TouchstoneError> {
        let style = self.style_for(line, body)?;
        let before = self.contents.values.len();
        let words = body.split(|c: char| c.is_ascii() && style.separates(c as u8));
        for word in words.filter(|w| !w.is_empty()) {
            let value = match style.word(word) {
                Word::Number(value) | Word::NotFinite(value) => value,
                Word::Fortran(value) => {
                    let text = "numbers with the exponent letter D are read as with E";
                    self.notices
                        .deviation_once(NoticeCode::NumberStyle, line.number, text);
                    value
                }
                Word::Text if self.is_complete(self.contents.values.len() - before) => {
                    let text = format!("text after the numbers is ignored: `{}`", excerpt(word));
                    self.notices
                        .deviation(NoticeCode::Surplus, Some(line.number), text);
                    break;
                }
                Word::LostExponent => return Err(self.not_a_number(word, true)),
                Word::Malformed | Word::Text => return Err(self.not_a_number(word, false)),
            };
            self.contents.values.push(value);
        }
        if self.contents.values.len() > before {
            self.push_row();
        }
        Ok(())
    }

    /// Whether a row may end after `count` numbers.
    fn is_complete(&self, count: usize) -> bool {
        if self.contents.rows.is_empty() {
            is_row_length(count)
        } else {
            count == self.contents.width(0)
        }
    }

    /// What commas are in this file, decided at the first line that has one.
    fn style_for(&mut self, line: Line<'a>, body: &'a str) -> Result<CommaStyle, TouchstoneError> {
        if let Some(style) = self.style {
            return Ok(style);
        }
        if !body.contains([',', ';']) {
            return Ok(CommaStyle::Separates);
        }
        let data = &self.text[self.data_start.unwrap_or(0)..];
        let Some(style) = comma_style(data) else {
            return Err(TouchstoneError::AmbiguousComma {
                found: excerpt(body),
                at: position_of(self.text, body),
            });
        };
        let text = match style {
            CommaStyle::Decimal => "commas are read as decimal points",
            CommaStyle::Separates => "commas or semicolons between the numbers are read as blanks",
        };
        self.notices
            .deviation_once(NoticeCode::NumberStyle, line.number, text);
        self.style = Some(style);
        Ok(style)
    }

    fn not_a_number(&self, word: &str, lost_exponent: bool) -> TouchstoneError {
        let rows = &self.contents.rows;
        TouchstoneError::Number {
            found: excerpt(word),
            lost_exponent,
            row: (!rows.is_empty()).then(|| self.contents.width(0)),
            at: position_of(self.text, word),
        }
    }
}

fn ends_word(rest: &[u8]) -> bool {
    matches!(rest, [] | [b' ' | b'\t' | b'\n' | b'\r' | b'!', ..])
}

/// Blanks and the end-of-file mark of old systems.
fn is_blank(c: char) -> bool {
    c.is_whitespace() || c == '\u{1A}'
}

fn missing_option_line(text: &str, first: &str) -> TouchstoneError {
    let readings = match first.parse::<f64>() {
        Ok(frequency) if frequency > 1e5 => ["Hz", "kHz"],
        Ok(frequency) if frequency > 10.0 => ["MHz", "GHz"],
        _ => ["GHz", "MHz"],
    };
    TouchstoneError::MissingOptionLine {
        found: excerpt(first),
        readings,
        at: position_of(text, first),
    }
}

/// Numbers that a row of a file of one or two ports can have.
fn is_row_length(count: usize) -> bool {
    matches!(count, 3 | 5 | 9)
}

/// Decides what commas are: they separate if nothing else stands between the fields of any row;
/// they are decimal marks if there are no points, and blanks, tabs or semicolons separate. Absent
/// if neither holds.
fn comma_style(data: &str) -> Option<CommaStyle> {
    let rows = || {
        lines(data)
            .map(|line| line.text.split('!').next().unwrap_or("").trim())
            .filter(|row| row.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)))
    };
    let separates = |row: &str| {
        let has_inner_blank = |field: &str| field.trim().contains([' ', '\t', ';']);
        !row.contains(',') || !row.split(',').any(has_inner_blank)
    };
    let is_decimal = |field: &str| match field.split_once(',') {
        Some((whole, after)) => !whole.is_empty() && !after.is_empty() && !after.contains(','),
        None => true,
    };
    let has_decimals = |row: &str| {
        let fields = || {
            row.split([' ', '\t', ';'])
                .filter(|field| !field.is_empty())
        };
        !row.contains('.') && is_row_length(fields().count()) && fields().all(is_decimal)
    };
    if rows().all(separates) {
        Some(CommaStyle::Separates)
    } else if rows().all(has_decimals) {
        Some(CommaStyle::Decimal)
    } else {
        None
    }
}

/// Real parts of the impedances in a comment such as `Port Impedance 50 0 50 0`, written by field
/// solvers after each row; sometimes glued to the word.
fn impedances_in_comment(comment: &str) -> Option<Vec<f64>> {
    const WORDS: &str = "port impedance";
    let comment = comment.trim_start();
    if !comment.get(..WORDS.len())?.eq_ignore_ascii_case(WORDS) {
        return None;
    }
    let numbers = comment[WORDS.len()..]
        .split_whitespace()
        .map(str::parse::<f64>);
    let pairs: Vec<f64> = numbers.map_while(Result::ok).collect();
    (!pairs.is_empty()).then(|| pairs.into_iter().step_by(2).collect())
}
