//! Touchstone files, versions 1.0, 1.1, 2.0 and 2.1, of one and two ports.
//!
//! Sources: Touchstone File Format Specification 1.1 (EIA/IBIS Open Forum, 2002); version 2.0
//! (2009) and 2.1 (2024) with their worked examples. All parameters become scattering parameters.
//! A file of version 1 normalises Y, Z, H and G to its reference, one of version 2 does not.
//! If the ports of a two-port refer to different impedances, the parameters are renormalised to
//! that of port 1.
//!
//! Files in the wild deviate in many ways. What has one sensible reading is read with a notice;
//! what has two is refused. With [`ReadOptions::strict`] every deviation is an error.

mod convert;
mod error;
mod keywords;
mod layout;
mod options;
mod scan;
mod write;

use num_complex::Complex64;

use self::convert::Matrix2;
use self::keywords::{Matrix, Order};
use self::layout::{Expected, Layout, Shape};
use self::options::{OptionLine, Parameter};
use self::scan::Contents;
use super::points::{Origin, Points};
use super::source::{Notices, position_of_line};
use super::{Measurement, NoticeCode, PairFormat, Position, ReadError, ReadOptions, decode};

pub use error::TouchstoneError;
pub use write::{one_port, two_port};

/// Decibels at and below which a magnitude is zero: programs print the logarithm of zero as
/// -inf, -999 or -1000.
const ZERO_DB: f64 = -990.0;

/// Points that are taken apart at a time: their numbers fit the processor's nearest cache.
const BLOCK_POINTS: usize = 256;

/// Relative difference from which on a comment names another impedance than the option line.
const SAME_REFERENCE: f64 = 1e-6;

/// Reads a Touchstone file.
///
/// # Errors
/// [`ReadError::Decode`] if the bytes are no text, [`ReadError::Touchstone`] otherwise.
pub fn read(
    bytes: &[u8],
    file_name: &str,
    options: &ReadOptions,
) -> Result<Measurement, ReadError> {
    let decoded = decode(bytes)?;
    let mut notices = Notices::new(options.strict);
    notices.encoding(&decoded);
    Ok(read_text(&decoded.text, file_name, options, notices)?)
}

/// The port count in a name such as `cable.s2p`.
pub(super) fn ports_in_name(file_name: &str) -> Option<usize> {
    let extension = super::source::extension(file_name).to_ascii_lowercase();
    extension.strip_prefix('s')?.strip_suffix('p')?.parse().ok()
}

/// Whether a file whose first line this is can be a Touchstone file: an option line, a keyword, or
/// the wrapping that instruments put in front.
pub(super) fn starts_file(line: &str) -> bool {
    if line.starts_with('[') || line.eq_ignore_ascii_case("begin") {
        return true;
    }
    let Some(body) = line.strip_prefix('#') else {
        return false;
    };
    let body = body.split('!').next().unwrap_or("");
    let mut words = body.split_whitespace();
    let names_columns = words
        .clone()
        .any(|w| w.to_ascii_lowercase().starts_with("freq"));
    let is_block_header = body.starts_with(|c: char| c.is_ascii_digit());
    let is_bare = body.trim().is_empty();
    is_bare || is_block_header || (!names_columns && words.any(options::is_option_word))
}

/// Reads the decoded text of a Touchstone file.
pub(super) fn read_text(
    text: &str,
    file_name: &str,
    options: &ReadOptions,
    mut notices: Notices,
) -> Result<Measurement, TouchstoneError> {
    let contents = scan::scan(text, options, &mut notices)?;
    let expected = expected(&contents, file_name);
    let layout = layout::find(text, &contents, expected, &mut notices)?;
    let line = match &contents.option_line {
        Some(line) => line.clone(),
        None => assumed_option_line(text, &contents, layout, options, &mut notices)?,
    };
    let file = File {
        text,
        contents: &contents,
        layout,
        line,
    };
    let (references, z_ref_ohm) = file.references(&mut notices)?;
    let points = file.points(references, z_ref_ohm, &mut notices)?;
    let line_of = |point: usize| contents.line_of_value(point * layout.stride);
    let origin = Origin {
        text,
        line_of: &line_of,
    };
    if contents.keywords.is_version_2() {
        contents.keywords.note_gaps(layout.points, &mut notices);
    }
    let (mut measurement, notices) = points.into_measurement(z_ref_ohm, &origin, notices)?;
    if let Some(deviation) = notices.first_deviation() {
        return Err(TouchstoneError::NotStandard {
            text: deviation.text.clone(),
            at: deviation.line.map(|line| position_of_line(text, line)),
        });
    }
    measurement.notices = notices.into_list();
    Ok(measurement)
}

fn expected(contents: &Contents, file_name: &str) -> Expected {
    let keywords = &contents.keywords;
    let numbers = keywords.ports.map(|ports| match (ports, keywords.matrix) {
        (1, _) => 3,
        (_, Matrix::Full) => 9,
        (_, Matrix::Lower | Matrix::Upper) => 7,
    });
    Expected {
        ports_in_name: ports_in_name(file_name),
        numbers,
        points: keywords.frequencies,
    }
}

/// The option line of a file that has none, from what the user says and what the numbers allow.
fn assumed_option_line(
    text: &str,
    contents: &Contents,
    layout: Layout,
    options: &ReadOptions,
    notices: &mut Notices,
) -> Result<OptionLine, TouchstoneError> {
    let first_line = contents.line_of_value(0);
    let format = match (
        options.pair_format,
        possible_formats(contents, layout).as_slice(),
    ) {
        (Some(format), _) | (None, &[format]) => format,
        (None, several) => {
            return Err(TouchstoneError::UnknownPairFormat {
                readings: several.iter().map(|&f| name_of(f)).collect(),
                at: position_of_line(text, first_line),
            });
        }
    };
    let default = OptionLine::default();
    let line = OptionLine {
        unit: options.freq_unit.unwrap_or(default.unit),
        format,
        references_ohm: options
            .z_ref_ohm
            .map_or(default.references_ohm, |z| vec![z]),
        parameter: Parameter::S,
        line: first_line,
    };
    let text = format!(
        "no option line; read as `# {} S {} R {}`",
        line.unit, line.format, line.references_ohm[0]
    );
    notices.deviation(NoticeCode::OptionLine, Some(first_line), text);
    Ok(line)
}

/// Formats that the numbers of a passive cable can have.
fn possible_formats(contents: &Contents, layout: Layout) -> Vec<PairFormat> {
    const PASSIVE: f64 = 1.1;
    let points = || {
        contents
            .values
            .chunks_exact(layout.stride)
            .take(layout.points)
    };
    let pairs = || points().flat_map(|p| p[1..].chunks_exact(2));
    let negative = pairs().any(|p| p[0] < 0.0);
    let beyond_one = |i: usize| pairs().any(|p| p[i].abs() > PASSIVE);
    let (first_beyond, second_beyond) = (beyond_one(0), beyond_one(1));
    let mut formats = Vec::new();
    if !first_beyond && !second_beyond {
        formats.push(PairFormat::RealImaginary);
    }
    if !negative && !first_beyond {
        formats.push(PairFormat::MagnitudeAngle);
    }
    if pairs().all(|p| p[0] <= 0.5) && negative {
        formats.push(PairFormat::DecibelAngle);
    }
    formats
}

fn name_of(format: PairFormat) -> &'static str {
    match format {
        PairFormat::DecibelAngle => "decibels and angle (DB)",
        PairFormat::MagnitudeAngle => "magnitude and angle (MA)",
        PairFormat::RealImaginary => "real and imaginary part (RI)",
    }
}

/// A file whose parts are known.
struct File<'a> {
    text: &'a str,
    contents: &'a Contents,
    layout: Layout,
    line: OptionLine,
}

impl File<'_> {
    fn option_line_at(&self) -> Position {
        position_of_line(self.text, self.line.line)
    }

    fn ports(&self) -> usize {
        match self.layout.shape {
            Shape::OnePort => 1,
            Shape::OnePath | Shape::TwoPort => 2,
        }
    }

    /// References of ports 1 and 2, and the one that the result refers to.
    fn references(&self, notices: &mut Notices) -> Result<([f64; 2], f64), TouchstoneError> {
        let keywords = &self.contents.keywords;
        let (list, at) = match &keywords.reference_at {
            Some(at) => (&keywords.references_ohm, at.clone()),
            None => (&self.line.references_ohm, self.option_line_at()),
        };
        let references = match (list.as_slice(), self.ports()) {
            (&[z], _) => [z, z],
            (&[first, second], 2) => [first, second],
            (_, ports) => {
                return Err(TouchstoneError::ReferenceCount {
                    found: list.len(),
                    ports,
                    at,
                });
            }
        };
        self.compare_with_comment(references, notices);
        if references[0] != references[1] {
            let text = format!(
                "port 1 refers to {} ohm, port 2 to {} ohm; renormalised to {} ohm",
                references[0], references[1], references[0]
            );
            notices.remark(NoticeCode::Reference, Some(at.line), text);
        }
        Ok((references, references[0]))
    }

    /// Comments are not data; but one that names another impedance deserves a word.
    fn compare_with_comment(&self, references: [f64; 2], notices: &mut Notices) {
        let Some((line, named)) = &self.contents.comment_ohm else {
            return;
        };
        let other = named
            .iter()
            .zip(references)
            .find(|(named, used)| (*named - used).abs() > SAME_REFERENCE * used);
        if let Some((named, used)) = other {
            let text = format!(
                "a comment names a port impedance of {named} ohm; the data are read as referred to {used} ohm, as the file states"
            );
            notices.remark(NoticeCode::Reference, Some(*line), text);
        }
    }

    /// All points as scattering parameters referred to `z_ref_ohm`.
    fn points(
        &self,
        references: [f64; 2],
        z_ref_ohm: f64,
        notices: &mut Notices,
    ) -> Result<Points, TouchstoneError> {
        self.check_parameter(references)?;
        let mut points = match self.line.format {
            PairFormat::RealImaginary => self.raw_points(Complex64::new),
            PairFormat::MagnitudeAngle => self.raw_points(of_magnitude),
            PairFormat::DecibelAngle => self.raw_points(of_decibels),
        };
        self.check_pairs(notices)?;
        self.order_columns(&mut points)?;
        if references[0] != references[1] && lacks_reverse(&points) {
            return Err(self.one_path("two different references".to_owned()));
        }
        self.to_scattering(&mut points, references, z_ref_ohm);
        Ok(points)
    }

    fn one_path(&self, what: String) -> TouchstoneError {
        let at = self.option_line_at();
        TouchstoneError::OnePathConversion { what, at }
    }

    fn check_parameter(&self, references: [f64; 2]) -> Result<(), TouchstoneError> {
        let parameter = self.line.parameter.letter();
        let at = || self.option_line_at();
        match (self.line.parameter, self.layout.shape) {
            (Parameter::S, _) => Ok(()),
            (Parameter::H | Parameter::G, Shape::OnePort) => Err(TouchstoneError::HybridOnePort {
                parameter,
                at: at(),
            }),
            (_, Shape::OnePath) => Err(self.one_path(format!("{parameter} parameters"))),
            _ if references[0] != references[1] && !self.contents.keywords.is_version_2() => {
                Err(TouchstoneError::NormalisedToTwo {
                    parameter,
                    first_ohm: references[0],
                    second_ohm: references[1],
                    at: at(),
                })
            }
            _ => Ok(()),
        }
    }

    /// Points with their columns in the order of the file.
    fn raw_points(&self, pair: impl Fn(f64, f64) -> Complex64) -> Points {
        let Layout {
            shape,
            stride,
            points,
        } = self.layout;
        let columns = match shape {
            Shape::OnePort => 1,
            Shape::OnePath => 2,
            Shape::TwoPort if self.has_half_a_matrix() => 3,
            Shape::TwoPort => 4,
        };
        let unit = self.line.unit.hertz();
        let mut result = Points::with_capacity(points, columns);
        // Block by block, so that the numbers of a block are still at hand for every column.
        let numbers = &self.contents.values[..points * stride];
        for block in numbers.chunks(BLOCK_POINTS * stride) {
            let rows = || block.chunks_exact(stride);
            result.freq_hz.extend(rows().map(|row| row[0] * unit));
            for (c, column) in result.columns.iter_mut().enumerate() {
                column.extend(rows().map(|row| pair(row[1 + 2 * c], row[2 + 2 * c])));
            }
        }
        result
    }

    fn has_half_a_matrix(&self) -> bool {
        self.layout.shape == Shape::TwoPort && self.contents.keywords.matrix != Matrix::Full
    }

    /// Notes magnitudes of zero in decibels; refuses negative magnitudes.
    fn check_pairs(&self, notices: &mut Notices) -> Result<(), TouchstoneError> {
        let stride = self.layout.stride;
        let values = self
            .contents
            .values
            .chunks_exact(stride)
            .take(self.layout.points);
        let firsts = values
            .enumerate()
            .flat_map(|(i, row)| row[1..].iter().step_by(2).map(move |&v| (i, v)));
        let line_of = |point: usize| self.contents.line_of_value(point * stride);
        match self.line.format {
            PairFormat::RealImaginary => {}
            PairFormat::MagnitudeAngle => {
                let mut firsts = firsts;
                if let Some((point, found)) = firsts.find(|(_, v)| *v < 0.0) {
                    let at = position_of_line(self.text, line_of(point));
                    return Err(TouchstoneError::NegativeMagnitude { found, at });
                }
            }
            PairFormat::DecibelAngle => {
                let mut firsts = firsts;
                if let Some((point, found)) = firsts.find(|(_, v)| *v <= ZERO_DB) {
                    let text = format!("a magnitude of {found} dB is read as zero");
                    notices.remark(NoticeCode::ZeroMagnitude, Some(line_of(point)), text);
                }
            }
        }
        Ok(())
    }

    /// Brings the columns into the order 11, 21, 12, 22.
    fn order_columns(&self, points: &mut Points) -> Result<(), TouchstoneError> {
        let keywords = &self.contents.keywords;
        if self.layout.shape != Shape::TwoPort {
            return Ok(());
        }
        match (keywords.matrix, keywords.order) {
            // Both halves are written N11, one transmission, N22; the other is its mirror.
            (Matrix::Lower | Matrix::Upper, _) => {
                if points.columns.len() == 3 {
                    let mirror = points.columns[1].clone();
                    points.columns.insert(2, mirror);
                }
            }
            (Matrix::Full, Some(Order::ForwardLast)) => points.columns.swap(1, 2),
            (Matrix::Full, Some(Order::ForwardFirst)) => {}
            (Matrix::Full, None) if !keywords.is_version_2() => {}
            (Matrix::Full, None) if points.columns[1] == points.columns[2] => {}
            (Matrix::Full, None) => {
                return Err(TouchstoneError::MissingKeyword {
                    keyword: "Two-Port Data Order",
                    consequence: "each row can be N11 N21 N12 N22 (21_12) or N11 N12 N21 N22 (12_21)",
                    at: self.option_line_at(),
                });
            }
        }
        Ok(())
    }

    fn to_scattering(&self, points: &mut Points, references: [f64; 2], z_ref_ohm: f64) {
        let parameter = self.line.parameter;
        let is_normalised = !self.contents.keywords.is_version_2();
        if parameter == Parameter::S {
            if references[0] != references[1] {
                each_matrix(points, |m| convert::renormalised(m, references, z_ref_ohm));
            }
            return;
        }
        let norm = |m| {
            if is_normalised {
                m
            } else {
                convert::normalised(parameter, m, z_ref_ohm)
            }
        };
        match points.columns.as_mut_slice() {
            [n11] => {
                for v in n11 {
                    let zero = Complex64::ZERO;
                    *v = convert::one_port_s(parameter, norm([*v, zero, zero, zero])[0]);
                }
            }
            _ => each_matrix(points, |m| convert::two_port_s(parameter, norm(m))),
        }
    }
}

/// Whether S12 and S22 are not there or zero throughout.
fn lacks_reverse(points: &Points) -> bool {
    let mut reverse = points.columns.iter().skip(2).flatten();
    points.columns.len() == 2
        || (points.columns.len() == 4 && reverse.all(|v| *v == Complex64::ZERO))
}

/// Replaces the matrix at every point.
fn each_matrix(points: &mut Points, f: impl Fn(Matrix2) -> Matrix2) {
    let [s11, s21, s12, s22] = points.columns.as_mut_slice() else {
        return;
    };
    for i in 0..points.freq_hz.len() {
        [s11[i], s21[i], s12[i], s22[i]] = f([s11[i], s21[i], s12[i], s22[i]]);
    }
}

fn of_magnitude(magnitude: f64, angle_deg: f64) -> Complex64 {
    Complex64::from_polar(magnitude, angle_deg.to_radians())
}

fn of_decibels(db: f64, angle_deg: f64) -> Complex64 {
    if db <= ZERO_DB {
        return Complex64::ZERO;
    }
    of_magnitude(10f64.powf(db / 20.0), angle_deg)
}
