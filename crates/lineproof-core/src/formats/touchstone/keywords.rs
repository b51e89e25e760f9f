//! Keywords of version 2: `[Number of Ports] 2` and the like.
//!
//! Sources: Touchstone 2.0 (IBIS Open Forum, 2009), worked examples; 2.1 (2024), TSIRD 4.1 on
//! `[End]` and `[Two-Port Data Order]`.

use std::collections::BTreeSet;

use super::TouchstoneError;
use super::options::reference_ohm;
use crate::formats::source::{Line, Notices, excerpt, position_of};
use crate::formats::{NoticeCode, Position};

/// What the keywords of a file say.
#[derive(Debug, Default)]
pub(super) struct Keywords {
    pub(super) version: Option<String>,
    pub(super) ports: Option<usize>,
    pub(super) order: Option<Order>,
    pub(super) frequencies: Option<usize>,
    noise_frequencies: Option<usize>,
    pub(super) references_ohm: Vec<f64>,
    /// Where `[Reference]` stands.
    pub(super) reference_at: Option<Position>,
    pub(super) matrix: Matrix,
    /// Keywords other than `[Version]` that occurred, in lower case.
    seen: BTreeSet<String>,
}

/// Order of the two transmissions in a row of a full two-port matrix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Order {
    /// N11 N12 N21 N22.
    ForwardLast,
    /// N11 N21 N12 N22, as in version 1.
    ForwardFirst,
}

/// Which part of the matrix is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Matrix {
    #[default]
    Full,
    Lower,
    Upper,
}

/// What the lines after a keyword are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Follows {
    Header,
    References,
    Information,
    Network,
    Noise,
    Nothing,
}

impl Keywords {
    /// Whether the file is one of version 2.
    pub(super) fn is_version_2(&self) -> bool {
        !self.seen.is_empty() || self.version.as_ref().is_some_and(|v| v.starts_with('2'))
    }

    /// Takes in one keyword line, `body` without its comment; says what the next lines are.
    pub(super) fn take(
        &mut self,
        text: &str,
        line: Line<'_>,
        body: &str,
        has_option_line: bool,
        notices: &mut Notices,
    ) -> Result<Follows, TouchstoneError> {
        let Some((name, value)) = body.strip_prefix('[').and_then(|b| b.split_once(']')) else {
            return Err(TouchstoneError::Keyword {
                found: excerpt(body),
                at: position_of(text, body),
            });
        };
        let entry = Entry {
            text,
            value: value.trim(),
        };
        let words: Vec<String> = name.split_whitespace().map(str::to_lowercase).collect();
        let name = words.join(" ");
        self.note_order(&name, line, has_option_line, notices);
        if name != "version" {
            self.seen.insert(name.clone());
        }
        self.take_entry(&name, &entry, line, notices)
    }

    fn take_entry(
        &mut self,
        name: &str,
        entry: &Entry<'_>,
        line: Line<'_>,
        notices: &mut Notices,
    ) -> Result<Follows, TouchstoneError> {
        match name {
            "version" => self.version = Some(entry.version()?),
            "number of ports" => {
                let ports = entry.count("Number of Ports")?;
                if ports > 2 {
                    let at = entry.at();
                    return Err(TouchstoneError::Ports { ports, at });
                }
                self.ports = Some(ports);
            }
            "two-port data order" | "two-port order" => self.order = Some(entry.order()?),
            "number of frequencies" => {
                self.frequencies = Some(entry.count("Number of Frequencies")?);
            }
            "number of noise frequencies" => {
                self.noise_frequencies = Some(entry.count("Number of Noise Frequencies")?);
            }
            "reference" => {
                self.reference_at = Some(entry.at());
                self.take_references(entry.text, entry.value)?;
                return Ok(Follows::References);
            }
            "matrix format" => self.matrix = entry.matrix()?,
            "mixed-mode order" => {
                return Err(TouchstoneError::UnservedKeyword {
                    keyword: "Mixed-Mode Order",
                    reason: "a coaxial cable has no modes to mix; export single-ended parameters",
                    at: entry.at(),
                });
            }
            "begin information" => return Ok(Follows::Information),
            "network data" => return Ok(Follows::Network),
            "noise data" => return Ok(Follows::Noise),
            "end" => return Ok(Follows::Nothing),
            "end information" => {}
            _ => {
                let text = format!("[{}] is not a known keyword and is ignored", excerpt(name));
                notices.deviation(NoticeCode::Keyword, Some(line.number), text);
            }
        }
        Ok(Follows::Header)
    }

    /// Adds references that stand after `[Reference]` or on the lines that follow it.
    pub(super) fn take_references(
        &mut self,
        text: &str,
        words: &str,
    ) -> Result<(), TouchstoneError> {
        for word in words.split_whitespace() {
            self.references_ohm.push(reference_ohm(text, word)?);
        }
        Ok(())
    }

    /// Version 2 fixes the order of the first lines.
    fn note_order(&self, name: &str, line: Line<'_>, has_option_line: bool, notices: &mut Notices) {
        let seen = !self.seen.is_empty();
        let is_first = !seen && self.version.is_none() && !has_option_line;
        let text = match name {
            "version" if !is_first => "[Version] is not the first line",
            "version" => return,
            _ if self.version.is_none() && !seen => {
                "keywords of version 2 without [Version] before them; read as version 2"
            }
            _ if self.version.as_ref().is_some_and(|v| v.starts_with('1')) && !seen => {
                "keywords of version 2 after [Version] 1; read as version 2"
            }
            _ if !has_option_line && !seen => "a keyword stands before the option line",
            "number of ports" if seen => {
                "[Number of Ports] does not stand before the other keywords"
            }
            _ => return,
        };
        notices.deviation(NoticeCode::Keyword, Some(line.number), text.to_owned());
    }

    /// Notes what version 2 requires and the file lacks; `points` is what was found in it.
    pub(super) fn note_gaps(&self, points: usize, notices: &mut Notices) {
        let mut note = |line_text: String| {
            notices.deviation(NoticeCode::Keyword, None, line_text);
        };
        if !self.seen.contains("network data") {
            note("[Network Data] is missing".to_owned());
        }
        if !self.seen.contains("end") {
            note("[End] is missing; the file may not be complete".to_owned());
        }
        if self.ports.is_none() {
            note("[Number of Ports] is missing; taken from the data".to_owned());
        }
        if self.seen.contains("noise data") && self.noise_frequencies.is_none() {
            note("[Number of Noise Frequencies] is missing".to_owned());
        }
        if self.ports == Some(1) && self.order.is_some() {
            note("[Two-Port Data Order] in a file of one port; ignored".to_owned());
        }
        match self.frequencies {
            None => note("[Number of Frequencies] is missing".to_owned()),
            Some(stated) if stated != points => note(format!(
                "[Number of Frequencies] says {stated}, the data have {points}; read what is there"
            )),
            Some(_) => {}
        }
    }
}

/// The value of a keyword.
struct Entry<'a> {
    text: &'a str,
    value: &'a str,
}

impl Entry<'_> {
    fn at(&self) -> Position {
        position_of(self.text, self.value)
    }

    fn wrong(&self, keyword: &'static str, expected: &'static str) -> TouchstoneError {
        TouchstoneError::KeywordValue {
            keyword,
            found: excerpt(self.value),
            expected,
            at: self.at(),
        }
    }

    fn version(&self) -> Result<String, TouchstoneError> {
        match self.value {
            "1.0" | "1.1" | "2.0" | "2.1" => Ok(self.value.to_owned()),
            _ => Err(self.wrong("Version", "2.0 or 2.1")),
        }
    }

    fn count(&self, keyword: &'static str) -> Result<usize, TouchstoneError> {
        match self.value.parse() {
            Ok(count) if count > 0 => Ok(count),
            _ => Err(self.wrong(keyword, "a whole number from 1 on")),
        }
    }

    fn order(&self) -> Result<Order, TouchstoneError> {
        match self.value {
            "12_21" => Ok(Order::ForwardLast),
            "21_12" => Ok(Order::ForwardFirst),
            _ => Err(self.wrong("Two-Port Data Order", "12_21 or 21_12")),
        }
    }

    fn matrix(&self) -> Result<Matrix, TouchstoneError> {
        match self.value.to_ascii_lowercase().as_str() {
            "full" => Ok(Matrix::Full),
            "lower" => Ok(Matrix::Lower),
            "upper" => Ok(Matrix::Upper),
            _ => Err(self.wrong("Matrix Format", "Full, Lower or Upper")),
        }
    }
}
