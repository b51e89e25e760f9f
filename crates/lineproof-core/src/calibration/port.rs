//! A port calibrated at every frequency, and sweeps corrected with it.
//!
//! Each frequency stands for itself: error terms by least squares weighted with what is known of
//! each standard ([`super::error_terms`]), a judgement whether they can be used, and what a corrected
//! reading is uncertain by. Uncertainties of standards, connections, noise and drift are propagated
//! to first order (JCGM 102:2011, 6.2). Where more than three standards disagree by more than their
//! uncertainties, what comes from the standards is widened by the ratio (Birge); it is taken from
//! neighbouring frequencies together.

use nalgebra::Matrix2;
use num_complex::Complex64;

use super::accuracy::{Accuracy, noise_of_standards};
use super::error_terms::{self, Equation, ErrorTerms, Solution};
use super::refusal::{Refusal, RefusedPoint, RefusedRange, ranges};
use super::standard::Definition;
use super::{CalibrationError, Corrected};
use crate::sweep::Sweep;

/// A standard and what the port read of it.
#[derive(Clone, Debug)]
pub struct StandardReading {
    /// How messages call it.
    pub name: String,
    /// What it is.
    pub definition: Definition,
    /// The raw readings.
    pub raw: Sweep,
}

/// A port with its error terms, frequency by frequency.
#[derive(Clone, Debug)]
pub struct Calibration {
    z_ref_ohm: f64,
    accuracy: Accuracy,
    noise: f64,
    points: Vec<Point>,
    refused: Vec<RefusedPoint>,
}

/// One frequency of a calibration. As JSON its terms are real and imaginary part.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Point {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Largest over smallest singular value of the equations.
    pub condition: f64,
    /// rms of what the standards leave, in the raw reading's unit; 0 with three standards.
    pub residual_rms: f64,
    /// How much more the standards disagree than their uncertainties say, at least 1.
    pub widened: f64,
    /// The port's terms.
    #[cfg_attr(feature = "serde", serde(flatten))]
    pub terms: ErrorTerms,
    /// Changes of (a, b, c) by independent errors.
    #[cfg_attr(feature = "serde", serde(skip))]
    errors: Vec<Error>,
    #[cfg_attr(feature = "serde", serde(skip))]
    chi_square: f64,
    #[cfg_attr(feature = "serde", serde(skip))]
    degrees_of_freedom: usize,
}

/// A change of (a, b, c) by one standard uncertainty of something.
#[derive(Clone, Copy, Debug)]
struct Error {
    change: [Complex64; 3],
    shape: Shape,
}

#[derive(Clone, Copy, Debug)]
enum Shape {
    /// One real quantity.
    Real,
    /// Real and imaginary part alike, independent.
    Circular,
}

/// Neighbours on either side whose disagreement counts together.
const NEIGHBOURS: usize = 5;
/// Noise of raw readings if neither a person nor the sweeps say, per part; common practice.
const NOISE: f64 = 5e-4;
/// A tabulated standard's frequency is the calibration's if it differs by less, relative.
const SAME_FREQUENCY_REL: f64 = 1e-7;

/// Calibrates a port. Corrected reflections will refer to `z_ref_ohm`.
///
/// The grid is that of the first standard; at each frequency every standard counts that was read
/// there and is known there.
///
/// # Errors
/// [`CalibrationError`] if there are fewer than three standards, the reference is no resistance, or
/// no frequency can be used.
pub fn calibrate(
    standards: &[StandardReading],
    z_ref_ohm: f64,
    accuracy: &Accuracy,
) -> Result<Calibration, CalibrationError> {
    if standards.len() < 3 {
        return Err(CalibrationError::TooFewStandards {
            found: standards.len(),
        });
    }
    if !(z_ref_ohm.is_finite() && z_ref_ohm > 0.0) {
        return Err(CalibrationError::Reference { z_ref_ohm });
    }
    // a stated noise wins; else what the standards show of it; else common practice
    let judged = || noise_of_standards(standards.iter().map(|s| &s.raw));
    let noise = accuracy.noise.or_else(judged).unwrap_or(NOISE);
    let mut calibration = Calibration {
        z_ref_ohm,
        accuracy: *accuracy,
        noise,
        points: Vec::new(),
        refused: Vec::new(),
    };
    // one frequency that fails says nothing of the next, so it is refused by itself
    for &freq_hz in standards[0].raw.freq_hz() {
        match calibration.solve_at(standards, freq_hz) {
            Ok(point) => calibration.points.push(point),
            Err(refusal) => calibration.refused.push(RefusedPoint { freq_hz, refusal }),
        }
    }
    // only now: how much standards disagree is taken from neighbouring frequencies together
    calibration.widen_and_judge();
    match calibration.refused.first() {
        Some(first) if calibration.points.is_empty() => Err(CalibrationError::NothingUsable {
            refusal: first.refusal,
        }),
        _ => Ok(calibration),
    }
}

impl Calibration {
    /// Impedance that corrected reflections refer to, ohm.
    pub fn z_ref_ohm(&self) -> f64 {
        self.z_ref_ohm
    }

    /// Noise of a raw reading that was reckoned with, per real and imaginary part.
    pub fn noise(&self) -> f64 {
        self.noise
    }

    /// The frequencies that can be used, rising.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// The frequencies that can't, with the reason.
    pub fn refused(&self) -> &[RefusedPoint] {
        &self.refused
    }

    /// The same by reason.
    pub fn refused_ranges(&self) -> Vec<RefusedRange> {
        let used: Vec<f64> = self.points.iter().map(|p| p.freq_hz).collect();
        ranges(&self.refused, &used)
    }

    /// Corrects raw readings. Points that can't be corrected are left out and listed.
    ///
    /// # Errors
    /// [`CalibrationError::NothingUsable`] if no point is left.
    pub fn correct(&self, raw: &Sweep) -> Result<Corrected, CalibrationError> {
        let mut corrected = Corrected::empty(self.z_ref_ohm);
        for (&freq_hz, &reading) in raw.freq_hz().iter().zip(raw.reflection()) {
            match self.correct_at(freq_hz, reading) {
                Ok((reflection, covariance)) => corrected.push(freq_hz, reflection, covariance),
                Err(refusal) => corrected.refuse(freq_hz, refusal),
            }
        }
        corrected.checked()
    }

    fn correct_at(
        &self,
        freq_hz: f64,
        raw: Complex64,
    ) -> Result<(Complex64, Matrix2<f64>), Refusal> {
        let point = self.point_at(freq_hz)?;
        let reflection = point.terms.correct(raw).ok_or(Refusal::NoAnswer)?;
        Ok((reflection, self.covariance(point, reflection, raw)))
    }

    fn point_at(&self, freq_hz: f64) -> Result<&Point, Refusal> {
        let found = index_of(&self.points, |p| p.freq_hz, freq_hz);
        found.map(|i| &self.points[i]).ok_or_else(|| {
            let refused = index_of(&self.refused, |r| r.freq_hz, freq_hz);
            refused.map_or(Refusal::NotCalibrated, |i| self.refused[i].refusal)
        })
    }

    /// Everything known to be uncertain of one corrected reading.
    fn covariance(&self, point: &Point, reflection: Complex64, raw: Complex64) -> Matrix2<f64> {
        let [a, _, c] = point.terms.linear();
        // M = aΓ + b − cΓM solved for Γ: dΓ/dM = (1 + cΓ)/(a − cM)
        let slope = 1.0 / (a - c * raw);
        let by_reading = (1.0 + c * reflection) * slope;
        // noise enters through the port; connection and drift are stated at the corrected plane already
        let own = (by_reading.norm() * self.noise).powi(2)
            + self.accuracy.connection_variance(reflection)
            + self.accuracy.drift_variance(reflection);
        Matrix2::identity() * own + point.covariance_of_terms(reflection, raw)
    }

    fn solve_at(&self, standards: &[StandardReading], freq_hz: f64) -> Result<Point, Refusal> {
        let known: Vec<Known> = standards
            .iter()
            .filter_map(|s| self.known_at(s, freq_hz))
            .collect();
        if known.len() < 3 {
            return Err(Refusal::TooFewKnown { known: known.len() });
        }
        // weights depend on the terms through the slopes, so a first solution without weights comes before
        let plain: Vec<Equation> = known.iter().map(|k| k.equation).collect();
        let first = error_terms::solve(&plain).ok_or(Refusal::NoAnswer)?;
        let weighted: Vec<Equation> = known
            .iter()
            .map(|k| Equation {
                weight: self.residual_variance(k, &first.terms).sqrt().recip(),
                ..k.equation
            })
            .collect();
        // a standard taken as exact on a noiseless port has no finite weight: the plain solution is then exact too
        let solution = if weighted.iter().all(|e| e.weight.is_finite()) {
            error_terms::solve(&weighted).ok_or(Refusal::NoAnswer)?
        } else {
            first
        };
        // conditioning is that of the equations themselves: weights would hide standards that are alike
        refuse_ill_conditioned(&plain, &solution)?;
        Ok(self.point(freq_hz, &known, &solution))
    }

    fn known_at(&self, standard: &StandardReading, freq_hz: f64) -> Option<Known> {
        let raw = &standard.raw;
        let index = index_of(raw.freq_hz(), |&f| f, freq_hz)?;
        Some(Known {
            equation: Equation {
                reflection: standard.definition.reflection(freq_hz, self.z_ref_ohm)?,
                raw: raw.reflection()[index],
                weight: 1.0,
            },
            spread: standard.definition.spread(freq_hz, self.z_ref_ohm),
        })
    }

    /// Variance, per part, of M − aΓ − b + cΓM.
    fn residual_variance(&self, known: &Known, terms: &ErrorTerms) -> f64 {
        let (by_raw, by_standard) = known.equation.slopes(terms);
        // a real quantity moves Γ along one line; half of its square goes to each part
        let spread: f64 = known.spread.iter().map(|s| 0.5 * s.norm_sqr()).sum();
        let connection = self.accuracy.connection_variance(known.equation.reflection);
        by_raw.norm_sqr() * self.noise.powi(2) + by_standard.norm_sqr() * (connection + spread)
    }

    fn point(&self, freq_hz: f64, known: &[Known], solution: &Solution) -> Point {
        let mut errors = Vec::new();
        let (mut chi_square, mut square) = (0.0, 0.0);
        for ((known, response), residual) in known
            .iter()
            .zip(&solution.response)
            .zip(&solution.residuals)
        {
            errors.extend(self.errors_of(known, response, &solution.terms));
            square += residual.norm_sqr();
            let variance = self.residual_variance(known, &solution.terms);
            if variance > 0.0 {
                chi_square += residual.norm_sqr() / variance;
            }
        }
        Point {
            freq_hz,
            terms: solution.terms,
            condition: solution.condition,
            residual_rms: (square / known.len() as f64).sqrt(),
            widened: 1.0,
            errors,
            chi_square,
            // three complex unknowns; each further standard brings a real and an imaginary residual
            degrees_of_freedom: 2 * (known.len() - 3),
        }
    }

    /// What one standard's uncertainties do to (a, b, c).
    fn errors_of(
        &self,
        known: &Known,
        response: &[Complex64; 3],
        terms: &ErrorTerms,
    ) -> Vec<Error> {
        let (by_raw, by_standard) = known.equation.slopes(terms);
        let connection = self.accuracy.connection_variance(known.equation.reflection);
        let circular =
            (by_raw.norm_sqr() * self.noise.powi(2) + by_standard.norm_sqr() * connection).sqrt();
        let spread = known.spread.iter().map(|&s| Error {
            change: response.map(|r| r * by_standard * s),
            shape: Shape::Real,
        });
        let random = Error {
            change: response.map(|r| r * circular),
            shape: Shape::Circular,
        };
        std::iter::once(random).chain(spread).collect()
    }

    /// Takes the disagreement of neighbours together, then refuses what is of no use.
    fn widen_and_judge(&mut self) {
        let sums: Vec<(f64, usize)> = self
            .points
            .iter()
            .map(|p| (p.chi_square, p.degrees_of_freedom))
            .collect();
        let noise = self.noise;
        let mut kept = Vec::with_capacity(self.points.len());
        for (i, mut point) in std::mem::take(&mut self.points).into_iter().enumerate() {
            // χ² of one frequency has few degrees of freedom and scatters; neighbours share the same wrong standard
            let near = &sums[i.saturating_sub(NEIGHBOURS)..(i + NEIGHBOURS + 1).min(sums.len())];
            let chi_square: f64 = near.iter().map(|s| s.0).sum();
            let freedom: usize = near.iter().map(|s| s.1).sum();
            if freedom > 0 {
                // Birge ratio; never below 1, since agreement by chance is no better knowledge
                point.widened = (chi_square / freedom as f64).sqrt().max(1.0);
            }
            match point.judge(noise) {
                Ok(()) => kept.push(point),
                Err(refusal) => self.refused.push(RefusedPoint {
                    freq_hz: point.freq_hz,
                    refusal,
                }),
            }
        }
        self.points = kept;
        self.refused.sort_by(|a, b| a.freq_hz.total_cmp(&b.freq_hz));
    }
}

/// Index of the item at `freq_hz`, of items rising in frequency.
fn index_of<T>(items: &[T], at: impl Fn(&T) -> f64, freq_hz: f64) -> Option<usize> {
    // files round their frequencies, each in its own unit
    let slack = SAME_FREQUENCY_REL * freq_hz;
    let index = items.partition_point(|item| at(item) < freq_hz - slack);
    let found = items.get(index)?;
    (at(found) <= freq_hz + slack).then_some(index)
}

/// A standard at one frequency with its independent errors.
struct Known {
    equation: Equation,
    spread: Vec<Complex64>,
}

impl Equation {
    /// Change of the equation's residual by the raw reading and by the standard's reflection.
    fn slopes(&self, terms: &ErrorTerms) -> (Complex64, Complex64) {
        let [a, _, c] = terms.linear();
        // residual M − aΓ − b + cΓM, differentiated by M and by Γ
        (1.0 + c * self.reflection, c * self.raw - a)
    }
}

/// Condition numbers from here on leave less than one of the three digits of a raw reading.
const MOST_CONDITION: f64 = 300.0;
/// Standards that are conditioned worse than this by themselves are to blame, not the path.
const ALIKE_CONDITION: f64 = 60.0;

fn refuse_ill_conditioned(equations: &[Equation], solution: &Solution) -> Result<(), Refusal> {
    if solution.condition < MOST_CONDITION {
        return Ok(());
    }
    // a perfect port with these standards tells whether they or the path are to blame
    let standards = error_terms::condition_of_standards(equations);
    Err(if standards > ALIKE_CONDITION {
        Refusal::Alike {
            condition: solution.condition,
        }
    } else {
        Refusal::PathLost {
            tracking: solution.terms.tracking.norm(),
        }
    })
}

/// A calibration that leaves more than this, as standard uncertainty of a total reflection per part,
/// measures nothing.
const MOST_U: f64 = 0.1;
/// Phases at which a total reflection is tried.
const PHASES: usize = 8;
/// Tracking below which the path is to blame rather than the standards: −26 dB, there and back.
const LOST_TRACKING: f64 = 0.05;

impl Point {
    fn judge(&self, noise: f64) -> Result<(), Refusal> {
        let u = self.largest_u(noise);
        if u.is_finite() && u <= MOST_U {
            return Ok(());
        }
        let tracking = self.terms.tracking.norm();
        Err(if tracking < LOST_TRACKING {
            Refusal::PathLost { tracking }
        } else if self.condition > ALIKE_CONDITION {
            Refusal::Alike {
                condition: self.condition,
            }
        } else {
            Refusal::Uncertain { u }
        })
    }

    /// Largest standard uncertainty, per part, of a total reflection of any phase: from the terms and
    /// from the noise of its own reading.
    fn largest_u(&self, noise: f64) -> f64 {
        let at = |i: usize| {
            // total reflection is the worst case: errors of tracking and source match grow with |Γ|
            let reflection = Complex64::cis(std::f64::consts::TAU * i as f64 / PHASES as f64);
            let raw = self.terms.raw(reflection);
            let [a, _, c] = self.terms.linear();
            let by_reading = ((1.0 + c * reflection) / (a - c * raw)).norm();
            let of_terms = 0.5 * self.covariance_of_terms(reflection, raw).trace();
            (of_terms + (by_reading * noise).powi(2)).sqrt()
        };
        (0..PHASES).map(at).fold(0.0, f64::max)
    }

    /// Covariance of real and imaginary part of a corrected reading that the terms bring.
    fn covariance_of_terms(&self, reflection: Complex64, raw: Complex64) -> Matrix2<f64> {
        let [a, _, c] = self.terms.linear();
        let slope = 1.0 / (a - c * raw);
        // dΓ/da = −Γ/(a − cM), dΓ/db = −1/(a − cM), dΓ/dc = ΓM/(a − cM)
        let by_terms = [-reflection * slope, -slope, reflection * raw * slope];
        let mut sum = Matrix2::zeros();
        for error in &self.errors {
            let changes = by_terms.iter().zip(&error.change);
            let change: Complex64 = changes.map(|(by, change)| by * change).sum();
            sum += match error.shape {
                Shape::Circular => Matrix2::identity() * change.norm_sqr(),
                Shape::Real => {
                    let v = nalgebra::Vector2::new(change.re, change.im);
                    v * v.transpose()
                }
            };
        }
        sum * self.widened.powi(2)
    }
}
