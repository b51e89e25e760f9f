//! Lines to fields: finding the header, the separator, and what commas are.

use super::DelimitedError;
use crate::formats::NoticeCode;
use crate::formats::number::{CommaStyle, Word, must_be_decimal_comma};
use crate::formats::source::{Line, Notices, excerpt, lines, offset_in, position_of};

/// Marks that start a comment line in the tables of common programs.
const COMMENT_MARKS: [char; 4] = ['#', '!', '%', '*'];

/// A table whose place in the text is known.
pub(super) struct Table<'a> {
    text: &'a str,
    /// The line of names, if there is one.
    pub(super) header: Option<Line<'a>>,
    pub(super) first_row: Line<'a>,
    separator: Separator,
    style: CommaStyle,
}

/// What stands between two fields.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Separator {
    Tab,
    Semicolon,
    Comma,
    Blanks,
}

/// The numbers of a table, row by row, and the line of each row.
pub(super) struct Values {
    pub(super) numbers: Vec<f64>,
    pub(super) lines: Vec<usize>,
}

impl<'a> Table<'a> {
    /// Finds the first row of numbers and the line of names before it.
    pub(super) fn find(text: &'a str) -> Result<Self, DelimitedError> {
        let mut before: Option<Line<'a>> = None;
        for line in lines(text).filter(|line| !line.text.trim().is_empty()) {
            if let Some(separator) = separator_of_numbers(line.text) {
                let header = before.filter(|b| names_something(b.text));
                return Ok(Self {
                    text,
                    header,
                    first_row: line,
                    separator: header.map_or(separator, |h| common(separator, h.text, line.text)),
                    style: CommaStyle::Separates,
                });
            }
            before = Some(line);
        }
        Err(DelimitedError::NoData)
    }

    /// Decides whether commas mark decimals, where they do not separate.
    pub(super) fn decide_commas(&mut self, notices: &mut Notices) -> Result<(), DelimitedError> {
        if self.separator == Separator::Comma {
            return Ok(());
        }
        let Some((line, field)) = self.fields_with_comma().next() else {
            return Ok(());
        };
        let is_decimal = self
            .fields_with_comma()
            .any(|(_, f)| must_be_decimal_comma(f));
        let has_point = self.fields_with_comma().any(|(_, f)| f.contains('.'));
        if !is_decimal || has_point {
            return Err(DelimitedError::AmbiguousComma {
                found: excerpt(field),
                readings: [field.replacen(',', ".", 1), field.replace(',', "")],
                at: position_of(self.text, field),
            });
        }
        self.style = CommaStyle::Decimal;
        let text = "commas are read as decimal points".to_owned();
        notices.deviation(NoticeCode::NumberStyle, Some(line), text);
        Ok(())
    }

    /// The names in a header.
    pub(super) fn names(&self, header: &'a str) -> Vec<&'a str> {
        let header = header.trim_start_matches([' ', '\t']);
        let header = header.trim_start_matches(COMMENT_MARKS);
        let names = match self.separator {
            Separator::Blanks => blank_separated_names(header),
            _ => self.fields(header),
        };
        names.into_iter().map(unquoted).collect()
    }

    /// All numbers; `width` is the number of names.
    pub(super) fn read(
        &self,
        width: usize,
        notices: &mut Notices,
    ) -> Result<Values, DelimitedError> {
        let mut values = Values {
            numbers: Vec::new(),
            lines: Vec::new(),
        };
        let mut rows = self.rows().peekable();
        while let Some(line) = rows.next() {
            let before = values.numbers.len();
            for field in self.fields(line.text) {
                values.numbers.push(self.number(unquoted(field))?);
            }
            let found = values.numbers.len() - before;
            if found < width && rows.peek().is_none() && before > 0 {
                values.numbers.truncate(before);
                let text = "the last row is incomplete and is ignored".to_owned();
                notices.deviation(NoticeCode::Truncated, Some(line.number), text);
                break;
            }
            if found != width {
                return Err(DelimitedError::FieldCount {
                    found,
                    expected: width,
                    at: position_of(self.text, line.text.trim()),
                });
            }
            values.lines.push(line.number);
        }
        Ok(values)
    }

    fn rows(&self) -> impl Iterator<Item = Line<'a>> {
        let first = self.first_row.number;
        lines(self.text)
            .skip(first - 1)
            .filter(|line| !line.text.trim().is_empty())
            .filter(|line| !line.text.trim_start().starts_with(COMMENT_MARKS))
    }

    fn fields_with_comma(&self) -> impl Iterator<Item = (usize, &'a str)> {
        self.rows().flat_map(|line| {
            let fields = self.fields(line.text).into_iter();
            let with_comma = fields.filter(|f| f.contains(','));
            with_comma.map(move |f| (line.number, unquoted(f)))
        })
    }

    /// The fields of a line; a separator at its end opens no further field.
    fn fields(&self, line: &'a str) -> Vec<&'a str> {
        let line = line.trim_end_matches(' ');
        let mut fields = match self.separator {
            Separator::Blanks => return line.split_whitespace().collect(),
            Separator::Tab => split(line, '\t'),
            Separator::Semicolon => split(line, ';'),
            Separator::Comma => split(line, ','),
        };
        if fields.len() > 1 && fields.last().is_some_and(|f| f.is_empty()) {
            fields.pop();
        }
        fields
    }

    /// An empty field is a point without a value.
    fn number(&self, field: &str) -> Result<f64, DelimitedError> {
        if field.is_empty() {
            return Ok(f64::NAN);
        }
        match self.style.word(field) {
            Word::Number(value) | Word::Fortran(value) | Word::NotFinite(value) => Ok(value),
            Word::LostExponent | Word::Malformed | Word::Text => Err(DelimitedError::Number {
                found: excerpt(field),
                at: position_of(self.text, field),
            }),
        }
    }
}

/// Splits at `mark` outside double quotes.
fn split(line: &str, mark: char) -> Vec<&str> {
    let mut quoted = false;
    let fields = line.split(|c: char| {
        quoted ^= c == '"';
        c == mark && !quoted
    });
    fields.map(str::trim).collect()
}

fn unquoted(field: &str) -> &str {
    let inner = field.strip_prefix('"').and_then(|f| f.strip_suffix('"'));
    inner.unwrap_or(field).trim()
}

/// The separator of a line that holds at least two numbers and nothing else.
fn separator_of_numbers(line: &str) -> Option<Separator> {
    let candidates = [
        ('\t', Separator::Tab),
        (';', Separator::Semicolon),
        (',', Separator::Comma),
    ];
    let is_number = |field: &&str| {
        let field = unquoted(field);
        let word = CommaStyle::Decimal.word(field);
        field.is_empty() || !matches!(word, Word::Text | Word::Malformed)
    };
    let is_row = |fields: &[&str]| {
        fields.len() > 1 && fields.iter().all(is_number) && fields.iter().any(|f| !f.is_empty())
    };
    let blanks: Vec<&str> = line.split_whitespace().collect();
    let with_decimal_comma = |field: &&str| matches!(field.split_once(','), Some((a, b)) if !a.is_empty() && !b.is_empty());
    for (mark, separator) in candidates {
        let is_decimal_mark = mark == ','
            && is_row(&blanks)
            && blanks.iter().any(with_decimal_comma)
            && !blanks.iter().any(|f| f.ends_with(','));
        if line.contains(mark) && !is_decimal_mark && is_row(&split(line, mark)) {
            return Some(separator);
        }
    }
    is_row(&blanks).then_some(Separator::Blanks)
}

/// Tabs or blanks may stand between names where data show the other; the header decides.
fn common(separator: Separator, header: &str, row: &str) -> Separator {
    match separator {
        Separator::Tab if !header.contains('\t') && !row.contains("\t\t") => Separator::Blanks,
        other => other,
    }
}

fn names_something(line: &str) -> bool {
    line.contains(|c: char| c.is_alphabetic())
}

/// Names between blanks, where a unit in brackets belongs to the name before it; if two blanks or
/// a tab stand somewhere between names, single blanks are part of names.
fn blank_separated_names(header: &str) -> Vec<&str> {
    let header = header.trim();
    let wide: Vec<&str> = header
        .split("  ")
        .flat_map(|part| part.split('\t'))
        .map(str::trim)
        .filter(|name| !name.is_empty())
        .collect();
    if wide.len() > 1 {
        return wide;
    }
    let mut names: Vec<&str> = Vec::new();
    for word in header.split(' ').filter(|w| !w.is_empty()) {
        match names.last_mut() {
            Some(last) if word.starts_with(['(', '[']) => {
                // Both are slices of the header: the name grows to the end of its unit.
                let end = offset_in(header, word) + word.len();
                *last = &header[offset_in(header, last)..end];
            }
            _ => names.push(word),
        }
    }
    names
}
