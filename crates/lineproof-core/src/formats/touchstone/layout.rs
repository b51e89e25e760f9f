//! How rows make points: from the number of numbers in each row to the number of ports.

use super::TouchstoneError;
use super::scan::Contents;
use crate::formats::NoticeCode;
use crate::formats::Position;
use crate::formats::source::{Notices, position_of_line};

/// How the numbers of a file are laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Layout {
    pub(super) shape: Shape,
    /// Numbers from one point to the next.
    pub(super) stride: usize,
    /// Number of complete points.
    pub(super) points: usize,
}

/// What a point consists of, besides its frequency.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shape {
    /// N11.
    OnePort,
    /// N11 and N21.
    OnePath,
    /// Three or four elements of a two-port's matrix.
    TwoPort,
}

/// What is known before looking at the rows.
#[derive(Clone, Copy, Debug)]
pub(super) struct Expected {
    /// Ports by the file's name.
    pub(super) ports_in_name: Option<usize>,
    /// Numbers of a point as the keywords have it.
    pub(super) numbers: Option<usize>,
    /// Points as the keywords have it.
    pub(super) points: Option<usize>,
}

/// Finds the layout; notes what is odd about it.
pub(super) fn find(
    text: &str,
    contents: &Contents,
    expected: Expected,
    notices: &mut Notices,
) -> Result<Layout, TouchstoneError> {
    if contents.rows.is_empty() {
        return Err(TouchstoneError::NoData);
    }
    let mut finder = Finder {
        text,
        contents,
        expected,
        notices,
    };
    let layout = finder.find()?;
    finder.note_name(layout);
    Ok(layout)
}

struct Finder<'a> {
    text: &'a str,
    contents: &'a Contents,
    expected: Expected,
    notices: &'a mut Notices,
}

impl Finder<'_> {
    fn find(&mut self) -> Result<Layout, TouchstoneError> {
        let rows = self.contents.rows.len();
        let width = self.contents.width(0);
        let even = (0..rows)
            .take_while(|&r| self.contents.width(r) == width)
            .count();
        if even == rows {
            return self.rows_of(width, rows);
        }
        if self.is_noise_from(even) {
            let text = format!("{} rows of noise data are ignored", rows - even);
            let line = self.line(even);
            self.notices.remark(NoticeCode::Noise, Some(line), text);
            return self.rows_of(width, even);
        }
        if let Some((period, numbers)) = self.wrapped_length(even) {
            return self.wrapped(period, numbers);
        }
        if even + 1 == rows && self.contents.width(even) < width {
            self.note_truncated(even);
            return self.rows_of(width, even);
        }
        self.counted().ok_or(self.uneven(even, width))
    }

    /// One point on each of `rows` rows.
    fn rows_of(&mut self, width: usize, rows: usize) -> Result<Layout, TouchstoneError> {
        if let Some(numbers) = self.expected.numbers {
            return self.rows_as_declared(width, rows, numbers);
        }
        let shape = match (width, self.expected.ports_in_name) {
            (3, _) => Shape::OnePort,
            (9, _) => Shape::TwoPort,
            (5, Some(2)) => {
                let text = "rows of 5 numbers: S11 and S21 only, S12 and S22 were not measured";
                self.notices
                    .deviation(NoticeCode::OnePath, None, text.to_owned());
                Shape::OnePath
            }
            (4..=8, Some(1)) => {
                self.note_surplus(width, 3);
                Shape::OnePort
            }
            (10.., Some(2)) => {
                self.note_surplus(width, 9);
                Shape::TwoPort
            }
            _ => return Err(self.columns(width)),
        };
        Ok(Layout {
            shape,
            stride: width,
            points: rows,
        })
    }

    fn rows_as_declared(
        &mut self,
        width: usize,
        rows: usize,
        numbers: usize,
    ) -> Result<Layout, TouchstoneError> {
        if width < numbers {
            return self.counted().ok_or(self.uneven(0, numbers));
        }
        if width > numbers {
            self.note_surplus(width, numbers);
        }
        Ok(Layout {
            shape: shape_of(numbers),
            stride: width,
            points: rows,
        })
    }

    /// Points over several rows each, in a pattern that repeats.
    fn wrapped(&mut self, period: usize, numbers: usize) -> Result<Layout, TouchstoneError> {
        let ports = ports_of(numbers);
        if ports > 2 {
            let at = self.row_position(0);
            return Err(TouchstoneError::Ports { ports, at });
        }
        if self.expected.numbers.is_none() {
            let text = format!("each point takes {period} lines; they are joined");
            let line = self.line(0);
            self.notices.deviation(NoticeCode::Layout, Some(line), text);
        }
        let points = self.contents.values.len() / numbers;
        if points * numbers < self.contents.values.len() {
            self.note_truncated(points * period);
        }
        Ok(Layout {
            shape: shape_of(numbers),
            stride: numbers,
            points,
        })
    }

    /// Rows of a point and its numbers, if rows repeat with a period that makes a whole point.
    /// The last row may be cut off.
    fn wrapped_length(&self, even: usize) -> Option<(usize, usize)> {
        let contents = self.contents;
        let rows = contents.rows.len();
        let first_rows = (contents.width(0), contents.width(1));
        let is_point = |numbers: usize| match (self.expected.numbers, numbers) {
            (Some(expected), _) => numbers == expected,
            (None, 3 | 9) => even == 1,
            // Three and four ports in version 1, which writes at most four pairs on a line.
            (None, 19) => first_rows == (7, 6),
            (None, 33) => first_rows == (9, 8),
            (None, _) => false,
        };
        let period =
            (2..=rows.min(9)).find(|&p| is_point(contents.start(p - 1) + contents.width(p - 1)))?;
        let numbers = contents.start(period - 1) + contents.width(period - 1);
        let repeats = (period..rows).all(|r| {
            let (got, wanted) = (contents.width(r), contents.width(r % period));
            got == wanted || (r + 1 == rows && got < wanted)
        });
        repeats.then_some((period, numbers))
    }

    /// Points laid out freely, as version 2 allows: only if the count agrees with the keywords.
    fn counted(&self) -> Option<Layout> {
        let numbers = self.expected.numbers?;
        let points = self.expected.points?;
        let total = points.checked_mul(numbers)?;
        (total == self.contents.values.len()).then_some(Layout {
            shape: shape_of(numbers),
            stride: numbers,
            points,
        })
    }

    /// Whether a noise block of version 1 starts at `row`: five numbers in each row, and a
    /// frequency that does not rise.
    fn is_noise_from(&self, row: usize) -> bool {
        let contents = self.contents;
        let rows = contents.rows.len();
        let is_noise_row = |r: usize| {
            let width = contents.width(r);
            width == 5 || (r + 1 == rows && width < 5 && r > row)
        };
        let frequency = |r: usize| contents.values[contents.start(r)];
        contents.width(0) == 9
            && (row..rows).all(is_noise_row)
            && frequency(row) <= frequency(row - 1)
    }

    fn note_truncated(&mut self, row: usize) {
        let text = "the last point is incomplete and is ignored".to_owned();
        let line = self.line(row);
        self.notices
            .deviation(NoticeCode::Truncated, Some(line), text);
    }

    fn note_surplus(&mut self, width: usize, used: usize) {
        let text = format!("rows have {width} numbers; the first {used} are read");
        let line = self.line(0);
        self.notices
            .deviation(NoticeCode::Surplus, Some(line), text);
    }

    fn note_name(&mut self, layout: Layout) {
        let found = match layout.shape {
            Shape::OnePort => 1,
            Shape::OnePath | Shape::TwoPort => 2,
        };
        if let Some(named) = self.expected.ports_in_name
            && named != found
        {
            let text = format!(
                "the file's name says {named} ports, the data have {found}; read as {found}"
            );
            self.notices.remark(NoticeCode::PortCount, None, text);
        }
    }

    fn line(&self, row: usize) -> usize {
        self.contents.rows[row].line as usize
    }

    fn row_position(&self, row: usize) -> Position {
        position_of_line(self.text, self.line(row))
    }

    fn uneven(&self, row: usize, expected: usize) -> TouchstoneError {
        let found = self.contents.width(row);
        let at = self.row_position(row);
        if found < expected {
            TouchstoneError::TooFewNumbers {
                found,
                expected,
                at,
            }
        } else {
            TouchstoneError::TooManyNumbers {
                found,
                expected,
                at,
            }
        }
    }

    fn columns(&self, columns: usize) -> TouchstoneError {
        let reading = match columns {
            1 | 2 => "expected 3 for one port or 9 for two",
            5 => "S11 and S21 of a one-path measurement, or one port with two columns too many",
            4 | 6..=8 => "one port with columns too many, or two ports with columns missing",
            _ => "two ports with columns too many, or a network of more ports",
        };
        TouchstoneError::Columns {
            columns,
            reading,
            at: self.row_position(0),
        }
    }
}

fn shape_of(numbers: usize) -> Shape {
    match numbers {
        3 => Shape::OnePort,
        _ => Shape::TwoPort,
    }
}

/// Ports of a full matrix with its frequency in this many numbers: 1 + 2n².
fn ports_of(numbers: usize) -> usize {
    (1..10).find(|n| 1 + 2 * n * n >= numbers).unwrap_or(10)
}
