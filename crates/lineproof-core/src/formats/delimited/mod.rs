//! Delimited text with a header: frequency and what stands beside it, column by column.
//!
//! Pairs that make a reflection, in the order of preference: real and imaginary part; resistance
//! and reactance; magnitude and angle; decibels (or return loss) and angle; magnitude and angle of
//! the impedance. Names may carry the parameter (`S21 dB`), so that two-ports can be read. Columns
//! are separated by commas, semicolons, tabs or blanks; a decimal comma is accepted where only one
//! reading is possible. VSWR, return loss or magnitude alone determine no reflection and are
//! refused with the reason.
//!
//! No standard covers these files; the rules are common practice. Angles are degrees unless the
//! header says radians. Impedances need no reference and get the one of [`ReadOptions`], 50 ohm if
//! that is absent; reflections are assumed to refer to it, with a notice.

mod error;
mod header;
mod table;

use num_complex::Complex64;

use self::header::{Angle, Column, Header, Role};
use self::table::Table;
use super::points::{Origin, Points};
use super::source::{Notices, position_of_line};
use super::{FrequencyUnit, Measurement, NoticeCode, ReadError, ReadOptions, decode};
use crate::sweep::reflection_of_impedance;

pub use error::DelimitedError;

/// Reference impedance, ohm, of reflections whose file does not state it.
const USUAL_REFERENCE_OHM: f64 = 50.0;

/// Lowest and highest stop frequency of a sweep of a coaxial cable: 100 kHz, and 110 GHz, up to
/// which the smallest standard connector (1 mm, IEEE 287) is specified.
const STOP_RANGE_HZ: [f64; 2] = [1e5, 1.1e11];

/// Reads a table with a header.
///
/// # Errors
/// [`ReadError::Decode`] if the bytes are no text, [`ReadError::Delimited`] otherwise.
pub fn read(bytes: &[u8], options: &ReadOptions) -> Result<Measurement, ReadError> {
    let decoded = decode(bytes)?;
    let notices = Notices::new(options.strict);
    Ok(read_text(&decoded.text, options, notices)?)
}

/// Whether a line of names stands before a line of numbers.
pub(super) fn has_header(text: &str) -> bool {
    Table::find(text).is_ok_and(|table| table.header.is_some())
}

/// Reads the decoded text of a table.
pub(super) fn read_text(
    text: &str,
    options: &ReadOptions,
    mut notices: Notices,
) -> Result<Measurement, DelimitedError> {
    let mut table = Table::find(text)?;
    let Some(header_line) = table.header else {
        return Err(DelimitedError::NoHeader {
            found: super::source::excerpt(table.first_row.text.trim()),
            at: position_of_line(text, table.first_row.number),
        });
    };
    table.decide_commas(&mut notices)?;
    let names = table.names(header_line.text);
    let header = Header::of(text, header_line, &names)?;
    let values = table.read(names.len(), &mut notices)?;
    let reader = Reader {
        text,
        values: &values.numbers,
        width: names.len(),
        header: &header,
        options,
    };
    let points = reader.points(&mut notices)?;
    let z_ref_ohm = options.z_ref_ohm.unwrap_or(USUAL_REFERENCE_OHM);
    let line_of = |point: usize| values.lines[point];
    let origin = Origin {
        text,
        line_of: &line_of,
    };
    let (mut measurement, notices) = points.into_measurement(z_ref_ohm, &origin, notices)?;
    if let Some(deviation) = notices.first_deviation() {
        return Err(DelimitedError::NotStandard {
            text: deviation.text.clone(),
            at: deviation.line.map(|line| position_of_line(text, line)),
        });
    }
    measurement.notices = notices.into_list();
    Ok(measurement)
}

/// The numbers of a table and what its columns are.
struct Reader<'a> {
    text: &'a str,
    /// Row by row.
    values: &'a [f64],
    width: usize,
    header: &'a Header,
    options: &'a ReadOptions,
}

/// Two columns that make one complex value.
#[derive(Clone, Copy)]
struct Pair {
    first: Column,
    second: Column,
}

impl Reader<'_> {
    fn points(&self, notices: &mut Notices) -> Result<Points, DelimitedError> {
        let frequency = self.header.frequency;
        let unit = self.frequency_unit(frequency)?;
        let pair = |parameter| {
            self.header
                .pair(parameter)
                .map(|(first, second)| Pair { first, second })
        };
        let Some(s11) = pair(0) else {
            return Err(self.header.no_pair());
        };
        let mut pairs = vec![s11];
        if let Some(s21) = pair(1) {
            pairs.push(s21);
            if let (Some(s12), Some(s22)) = (pair(2), pair(3)) {
                pairs.extend([s12, s22]);
            }
        }
        self.note_columns(&pairs, notices);
        let mut points = Points::with_capacity(self.values.len() / self.width, 0);
        points
            .freq_hz
            .extend(self.column(frequency).map(|f| f * unit.hertz()));
        for pair in pairs {
            points.columns.push(self.values_of(pair, notices)?);
        }
        Ok(points)
    }

    fn column(&self, column: Column) -> impl Iterator<Item = f64> + Clone {
        let rows = self.values.chunks_exact(self.width);
        rows.map(move |row| row[column.index] * column.factor)
    }

    /// The unit in the header, the one that the user gives, or the only one that leads to a
    /// sensible stop frequency.
    fn frequency_unit(&self, column: Column) -> Result<FrequencyUnit, DelimitedError> {
        if let Some(unit) = self.header.frequency_unit.or(self.options.freq_unit) {
            return Ok(unit);
        }
        let highest = self
            .column(column)
            .filter(|f| f.is_finite())
            .fold(0.0, f64::max);
        let possible: Vec<FrequencyUnit> = FrequencyUnit::ALL
            .into_iter()
            .filter(|unit| {
                (STOP_RANGE_HZ[0]..=STOP_RANGE_HZ[1]).contains(&(highest * unit.hertz()))
            })
            .collect();
        match possible.as_slice() {
            &[only] => Ok(only),
            _ => Err(DelimitedError::FrequencyUnit {
                highest,
                readings: possible,
                at: self.header.frequency_at.clone(),
            }),
        }
    }

    fn note_columns(&self, pairs: &[Pair], notices: &mut Notices) {
        let used: Vec<&str> = pairs
            .iter()
            .flat_map(|pair| [pair.first, pair.second])
            .map(|column| self.header.names[column.index].as_str())
            .collect();
        let is_used = |name: &str| used.contains(&name);
        let rest = self.header.names.iter().enumerate();
        let rest: Vec<&str> = rest
            .filter(|(i, name)| *i != self.header.frequency.index && !is_used(name))
            .map(|(_, name)| name.as_str())
            .filter(|name| !name.is_empty())
            .collect();
        if !rest.is_empty() {
            let text = format!(
                "read from `{}`; not used: `{}`",
                used.join("`, `"),
                rest.join("`, `")
            );
            notices.remark(NoticeCode::Columns, Some(self.header.line), text);
        }
    }

    fn values_of(
        &self,
        pair: Pair,
        notices: &mut Notices,
    ) -> Result<Vec<Complex64>, DelimitedError> {
        let z_ref_ohm = self.options.z_ref_ohm.unwrap_or(USUAL_REFERENCE_OHM);
        let first = self.column(pair.first);
        let second = self.column(pair.second);
        if pair.first.role.is_reflection() && self.options.z_ref_ohm.is_none() {
            let text = format!("reflections are taken as referred to {z_ref_ohm} ohm");
            notices.deviation_once(NoticeCode::Reference, self.header.line, &text);
        }
        let of = |a: f64, b: f64| match pair.first.role {
            Role::Resistance => reflection_of_impedance(Complex64::new(a, b), z_ref_ohm),
            _ => Complex64::new(a, b),
        };
        if !pair.second.role.is_angle() {
            return Ok(first.zip(second).map(|(a, b)| of(a, b)).collect());
        }
        let radians = self.angle_factor(pair.second)?;
        let scale = self.magnitude_of(pair.first, notices)?;
        let polar = first
            .zip(second)
            .map(|(m, angle)| Complex64::from_polar(scale(m), angle * radians));
        Ok(match pair.first.role {
            Role::ImpedanceMagnitude => polar
                .map(|z| reflection_of_impedance(z, z_ref_ohm))
                .collect(),
            _ => polar.collect(),
        })
    }

    /// Radians in the unit of an angle column.
    fn angle_factor(&self, column: Column) -> Result<f64, DelimitedError> {
        const DEGREE: f64 = std::f64::consts::PI / 180.0;
        match column.role {
            Role::Angle(Angle::Radians) => Ok(1.0),
            Role::Angle(Angle::Degrees) => Ok(DEGREE),
            _ => {
                let mut angles = self.column(column);
                if angles.any(|a| a.abs() > 1.001 * std::f64::consts::PI) {
                    return Ok(DEGREE);
                }
                Err(DelimitedError::AngleUnit {
                    name: self.header.names[column.index].clone(),
                    at: position_of_line(self.text, self.header.line),
                })
            }
        }
    }

    /// From what a column holds to a magnitude.
    fn magnitude_of(
        &self,
        column: Column,
        notices: &mut Notices,
    ) -> Result<fn(f64) -> f64, DelimitedError> {
        let name = &self.header.names[column.index];
        let at = || position_of_line(self.text, self.header.line);
        let finite = || self.column(column).filter(|v| v.is_finite());
        match column.role {
            Role::Decibels | Role::ReturnLoss => {
                let mean = finite().sum::<f64>();
                let is_loss = mean > 0.0;
                if is_loss != (column.role == Role::ReturnLoss) && mean != 0.0 {
                    let read = if is_loss {
                        "loss (positive when passive)"
                    } else {
                        "decibels of the magnitude (negative when passive)"
                    };
                    let text = format!("by their sign the numbers in `{name}` are {read}");
                    notices.deviation(NoticeCode::Columns, Some(self.header.line), text);
                }
                Ok(if is_loss {
                    |db| of_decibels(-db)
                } else {
                    of_decibels
                })
            }
            _ => match finite().find(|v| *v < 0.0) {
                Some(found) => Err(DelimitedError::NegativeMagnitude {
                    name: name.clone(),
                    found,
                    at: at(),
                }),
                None => Ok(|magnitude| magnitude),
            },
        }
    }
}

fn of_decibels(db: f64) -> f64 {
    10f64.powf(db / 20.0)
}
