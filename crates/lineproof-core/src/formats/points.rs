//! From rows as they stand in a file to points that make a sweep: missing values, order,
//! repetitions, and values that no passive cable has.

use num_complex::Complex64;
use thiserror::Error;

use super::source::{Notices, list_lines, position_of_line};
use super::{Measurement, Network, NoticeCode, Position};
use crate::sweep::{Reverse, Sweep, SweepError, ThroughSweep};

/// Largest share of points without a value that is still a sweep. Common practice, no source.
const MISSING_LIMIT: f64 = 0.03;

/// Magnitude by which a reflection may exceed 1 without mention: rounding of printed digits,
/// 0.0001 dB.
const ROUNDING_EXCESS: f64 = 1e-5;

/// Magnitude of a reflection that neither noise nor drift explains: the numbers are probably not
/// what the file says they are. Common practice, no source.
const FAR_ABOVE_ONE: f64 = 1.5;

/// Why the points of a file are not a sweep.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum PointError {
    /// Too many points have no value.
    #[error(
        "{missing} of {points} points have no value ({lines}), more than {} %",
        100.0 * MISSING_LIMIT
    )]
    TooManyMissing {
        /// Points without a value.
        missing: usize,
        /// All points.
        points: usize,
        /// Their lines, as text.
        lines: String,
        /// The first of them.
        at: Position,
    },
    /// The first or last point has no value.
    #[error("the {which} point has no value, so the range of the sweep is not known")]
    MissingEnd {
        /// `first` or `last`.
        which: &'static str,
        /// The point.
        at: Position,
    },
    /// A frequency below zero.
    #[error("frequency {freq_hz} Hz is negative")]
    NegativeFrequency {
        /// The frequency, Hz.
        freq_hz: f64,
        /// The point.
        at: Position,
    },
    /// Most reflections are so large that the numbers must mean something else.
    #[error(
        "reflection of magnitude {largest:.3}, and {count} of {points} points are above 1.5: no passive cable reflects more than 1"
    )]
    FarAboveOne {
        /// Largest magnitude.
        largest: f64,
        /// Points above the limit.
        count: usize,
        /// All points.
        points: usize,
        /// The point with the largest magnitude.
        at: Position,
    },
    /// What is left does not make a sweep.
    #[error(transparent)]
    Sweep(#[from] SweepError),
}

impl PointError {
    /// Where the error is.
    pub fn position(&self) -> Option<Position> {
        match self {
            Self::TooManyMissing { at, .. }
            | Self::MissingEnd { at, .. }
            | Self::NegativeFrequency { at, .. }
            | Self::FarAboveOne { at, .. } => Some(at.clone()),
            Self::Sweep(_) => None,
        }
    }

    /// One next step.
    pub fn help(&self) -> Option<String> {
        match self {
            Self::FarAboveOne { .. } => Some(
                "check what the numbers are: real and imaginary part, magnitude and angle, decibels and angle, or impedance".to_owned(),
            ),
            Self::TooManyMissing { .. } | Self::MissingEnd { .. } => {
                Some("measure again, or take the lines out of the file".to_owned())
            }
            _ => None,
        }
    }
}

/// Where points come from: the text and the line of each point.
pub(super) struct Origin<'a> {
    pub(super) text: &'a str,
    pub(super) line_of: &'a dyn Fn(usize) -> usize,
}

/// Points in the order of the file. Columns are S11; S11 and S21; or S11, S21, S12 and S22.
#[derive(Clone, Debug, Default)]
pub(super) struct Points {
    pub(super) freq_hz: Vec<f64>,
    pub(super) columns: Vec<Vec<Complex64>>,
    /// Number in the file of each point that is left; absent while all are there in order.
    from: Option<Vec<usize>>,
}

impl Points {
    /// Room for `points` points of `columns` columns.
    pub(super) fn with_capacity(points: usize, columns: usize) -> Self {
        Self {
            freq_hz: Vec::with_capacity(points),
            columns: vec![Vec::with_capacity(points); columns],
            from: None,
        }
    }

    /// Cleans the points and makes a measurement of them.
    pub(super) fn into_measurement(
        mut self,
        z_ref_ohm: f64,
        origin: &Origin<'_>,
        mut notices: Notices,
    ) -> Result<(Measurement, Notices), PointError> {
        self.drop_missing(origin, &mut notices)?;
        self.check_not_negative(origin)?;
        self.sort(origin, &mut notices);
        self.join_duplicates(origin, &mut notices);
        self.check_magnitudes(origin, &mut notices)?;
        let reverse_is_copy = self.reverse_is_copy(&mut notices);
        let network = self.into_network(z_ref_ohm, &mut notices)?;
        let measurement = Measurement {
            network,
            notices: Vec::new(),
            reverse_is_copy,
        };
        Ok((measurement, notices))
    }

    fn line(&self, point: usize, origin: &Origin<'_>) -> usize {
        let in_file = self.from.as_ref().map_or(point, |from| from[point]);
        (origin.line_of)(in_file)
    }

    fn position(&self, point: usize, origin: &Origin<'_>) -> Position {
        position_of_line(origin.text, self.line(point, origin))
    }

    /// Keeps the points of these numbers, in this order.
    fn select(&mut self, points: &[usize]) {
        let from = match &self.from {
            Some(from) => points.iter().map(|&i| from[i]).collect(),
            None => points.to_vec(),
        };
        self.freq_hz = points.iter().map(|&i| self.freq_hz[i]).collect();
        for column in &mut self.columns {
            *column = points.iter().map(|&i| column[i]).collect();
        }
        self.from = Some(from);
    }

    fn is_complete(&self, point: usize) -> bool {
        self.freq_hz[point].is_finite() && self.columns.iter().all(|c| c[point].is_finite())
    }

    fn drop_missing(
        &mut self,
        origin: &Origin<'_>,
        notices: &mut Notices,
    ) -> Result<(), PointError> {
        let points = self.freq_hz.len();
        let mut values = self.columns.iter().flatten();
        if self.freq_hz.iter().all(|f| f.is_finite()) && values.all(|v| v.is_finite()) {
            return Ok(());
        }
        let (kept, missing): (Vec<usize>, Vec<usize>) =
            (0..points).partition(|&i| self.is_complete(i));
        let lines: Vec<usize> = missing.iter().map(|&i| self.line(i, origin)).collect();
        let first = missing[0];
        if missing.len() as f64 > MISSING_LIMIT * points as f64 {
            return Err(PointError::TooManyMissing {
                missing: missing.len(),
                points,
                lines: list_lines(&lines),
                at: self.position(first, origin),
            });
        }
        for (which, end) in [("first", 0), ("last", points - 1)] {
            if !self.is_complete(end) {
                let at = self.position(end, origin);
                return Err(PointError::MissingEnd { which, at });
            }
        }
        notices.deviation(
            NoticeCode::Missing,
            Some(lines[0]),
            format!(
                "{} of {points} points have no value and are left out ({})",
                missing.len(),
                list_lines(&lines)
            ),
        );
        self.select(&kept);
        Ok(())
    }

    fn check_not_negative(&self, origin: &Origin<'_>) -> Result<(), PointError> {
        match self.freq_hz.iter().position(|&f| f < 0.0) {
            Some(i) => Err(PointError::NegativeFrequency {
                freq_hz: self.freq_hz[i],
                at: self.position(i, origin),
            }),
            None => Ok(()),
        }
    }

    fn sort(&mut self, origin: &Origin<'_>, notices: &mut Notices) {
        let Some(falls) = self.freq_hz.windows(2).position(|w| w[1] < w[0]) else {
            return;
        };
        let line = self.line(falls + 1, origin);
        let text = "the frequencies do not rise from here on; the points were sorted".to_owned();
        notices.deviation(NoticeCode::Sorted, Some(line), text);
        let mut order: Vec<usize> = (0..self.freq_hz.len()).collect();
        order.sort_by(|&a, &b| self.freq_hz[a].total_cmp(&self.freq_hz[b]));
        self.select(&order);
    }

    fn join_duplicates(&mut self, origin: &Origin<'_>, notices: &mut Notices) {
        if self.freq_hz.windows(2).all(|w| w[1] > w[0]) {
            return;
        }
        let mut joined = Joined::default();
        let mut firsts = Vec::with_capacity(self.freq_hz.len());
        let mut start = 0;
        while start < self.freq_hz.len() {
            let same = |&f: &&f64| *f == self.freq_hz[start];
            let count = self.freq_hz[start..].iter().take_while(same).count();
            if count > 1 {
                joined.lines.push(self.line(start + 1, origin));
                joined.differ |= self.average(start, count);
            }
            firsts.push(start);
            start += count;
        }
        self.select(&firsts);
        notices.deviation(
            NoticeCode::Duplicate,
            joined.lines.first().copied(),
            joined.text(),
        );
    }

    /// Puts the mean of `count` points from `start` on into the first; whether they differ.
    fn average(&mut self, start: usize, count: usize) -> bool {
        let mut differ = false;
        for column in &mut self.columns {
            let group = &column[start..start + count];
            if group.iter().any(|v| *v != group[0]) {
                differ = true;
                column[start] = group.iter().sum::<Complex64>() / count as f64;
            }
        }
        differ
    }

    fn check_magnitudes(
        &self,
        origin: &Origin<'_>,
        notices: &mut Notices,
    ) -> Result<(), PointError> {
        let square = |v: &Complex64| v.norm_sqr();
        let values = self.columns.iter().flatten();
        let highest = values.map(square).fold(0.0, f64::max);
        if highest.sqrt() <= 1.0 + ROUNDING_EXCESS {
            return Ok(());
        }
        let is_far = |v: &&Complex64| square(v) > FAR_ABOVE_ONE * FAR_ABOVE_ONE;
        let reflections = self.columns.iter().step_by(3);
        let counts = reflections.map(|column| column.iter().filter(is_far).count());
        let count = counts.max().unwrap_or(0);
        let points = self.freq_hz.len();
        let (column, point, largest) = self.largest_magnitude();
        if 2 * count > points {
            return Err(PointError::FarAboveOne {
                largest,
                count,
                points,
                at: self.position(point, origin),
            });
        }
        let name = ["S11", "S21", "S12", "S22"][column];
        let text = format!(
            "{name} exceeds 1 by up to {:.4} dB (at {} Hz); kept as it is",
            20.0 * largest.log10(),
            self.freq_hz[point]
        );
        notices.remark(NoticeCode::AboveOne, Some(self.line(point, origin)), text);
        Ok(())
    }

    /// Column, point and value of the largest magnitude.
    fn largest_magnitude(&self) -> (usize, usize, f64) {
        let mut largest = (0, 0, 0.0);
        for (c, column) in self.columns.iter().enumerate() {
            for (i, value) in column.iter().enumerate() {
                if value.norm() > largest.2 {
                    largest = (c, i, value.norm());
                }
            }
        }
        largest
    }

    fn reverse_is_copy(&self, notices: &mut Notices) -> bool {
        let [s11, s21, s12, s22] = self.columns.as_slice() else {
            return false;
        };
        let is_copy = s12 == s21 && s22 == s11 && !is_zero(s12);
        if is_copy {
            let text = "S12 and S22 repeat S21 and S11 digit for digit: a copy, which proves neither reciprocity nor symmetry";
            notices.remark(NoticeCode::Copy, None, text.to_owned());
        }
        is_copy
    }

    fn into_network(self, z_ref_ohm: f64, notices: &mut Notices) -> Result<Network, SweepError> {
        let Self {
            freq_hz, columns, ..
        } = self;
        let mut columns = columns.into_iter();
        let s11 = columns.next().unwrap_or_default();
        let Some(s21) = columns.next() else {
            return Ok(Network::OnePort(Sweep::new(freq_hz, s11, z_ref_ohm)?));
        };
        let reverse = match (columns.next(), columns.next()) {
            (Some(s12), Some(s22)) if is_zero(&s12) && is_zero(&s22) => {
                let text = "S12 and S22 are zero throughout: taken as not measured";
                notices.remark(NoticeCode::OnePath, None, text.to_owned());
                if is_zero(&s21) {
                    let text = "S21 is zero throughout as well: read as one port";
                    notices.remark(NoticeCode::OnePath, None, text.to_owned());
                    return Ok(Network::OnePort(Sweep::new(freq_hz, s11, z_ref_ohm)?));
                }
                None
            }
            (Some(s12), Some(s22)) => Some(Reverse { s12, s22 }),
            _ => None,
        };
        let through = ThroughSweep::new(freq_hz, s11, s21, reverse, z_ref_ohm)?;
        Ok(Network::TwoPort(through))
    }
}

/// Points that were joined because their frequencies are equal.
#[derive(Default)]
struct Joined {
    lines: Vec<usize>,
    differ: bool,
}

impl Joined {
    fn text(&self) -> String {
        let how = if self.differ {
            "their values differ and were averaged"
        } else {
            "their values are equal and were merged"
        };
        let lines = list_lines(&self.lines);
        format!("points repeat the frequency before them ({lines}); {how}")
    }
}

fn is_zero(column: &[Complex64]) -> bool {
    column.iter().all(|v| v.re == 0.0 && v.im == 0.0)
}
