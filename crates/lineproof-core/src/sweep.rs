//! Sweeps: what an analyser recorded against frequency.
//!
//! Conventions: time dependence e^(+jωt), so a capacitor at the far end turns the reflection
//! clockwise; reflections look *into* the near end of the cable and refer to `z_ref_ohm`.

use num_complex::Complex64;
use thiserror::Error;

/// Reflection at one port against rising frequency.
///
/// Invariants: at least one point; frequencies finite, not negative and strictly rising;
/// reflections finite; both lists of equal length; the reference a positive number.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweep {
    freq_hz: Vec<f64>,
    reflection: Vec<Complex64>,
    z_ref_ohm: f64,
}

/// Why lists of numbers are not a sweep.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum SweepError {
    /// No points at all.
    #[error("a sweep needs at least one point")]
    Empty,
    /// Lists of different lengths.
    #[error("{frequencies} frequencies but {values} values")]
    LengthMismatch {
        /// Number of frequencies.
        frequencies: usize,
        /// Number of values.
        values: usize,
    },
    /// A frequency that is not finite, is negative, or does not rise.
    #[error("frequency {freq_hz} Hz at point {index} does not follow rising frequencies")]
    Frequency {
        /// Index of the point, from 0.
        index: usize,
        /// The offending frequency, Hz.
        freq_hz: f64,
    },
    /// A value that is not finite.
    #[error("value at point {index} is not a finite number")]
    NotFinite {
        /// Index of the point, from 0.
        index: usize,
    },
    /// A reference impedance that is not a positive finite number.
    #[error("reference impedance {z_ref_ohm} ohm is not a positive number")]
    Reference {
        /// The offending reference, ohm.
        z_ref_ohm: f64,
    },
}

impl Sweep {
    /// Checks the invariants and makes a sweep.
    ///
    /// # Errors
    /// [`SweepError`] names the first invariant that does not hold.
    pub fn new(
        freq_hz: Vec<f64>,
        reflection: Vec<Complex64>,
        z_ref_ohm: f64,
    ) -> Result<Self, SweepError> {
        check_grid(&freq_hz, reflection.len())?;
        check_reference(z_ref_ohm)?;
        check_values(&reflection)?;
        Ok(Self {
            freq_hz,
            reflection,
            z_ref_ohm,
        })
    }

    /// The readings at these places, rising, at least one; the whole sweep if there is none.
    pub(crate) fn picked(&self, places: &[usize]) -> Self {
        if places.is_empty() {
            return self.clone();
        }
        Self {
            freq_hz: places.iter().map(|&i| self.freq_hz[i]).collect(),
            reflection: places.iter().map(|&i| self.reflection[i]).collect(),
            z_ref_ohm: self.z_ref_ohm,
        }
    }

    /// Frequencies, Hz, strictly rising.
    pub fn freq_hz(&self) -> &[f64] {
        &self.freq_hz
    }

    /// Reflection coefficient at each frequency, referred to [`Sweep::z_ref_ohm`].
    pub fn reflection(&self) -> &[Complex64] {
        &self.reflection
    }

    /// Reference impedance, ohm.
    pub fn z_ref_ohm(&self) -> f64 {
        self.z_ref_ohm
    }

    /// Number of points, at least 1.
    #[expect(clippy::len_without_is_empty, reason = "a sweep is never empty")]
    pub fn len(&self) -> usize {
        self.freq_hz.len()
    }

    /// Lowest frequency, Hz.
    pub fn start_hz(&self) -> f64 {
        self.freq_hz[0]
    }

    /// Highest frequency, Hz.
    pub fn stop_hz(&self) -> f64 {
        self.freq_hz[self.len() - 1]
    }

    /// Largest step between neighbouring points, Hz; 0 for a single point.
    pub fn largest_step_hz(&self) -> f64 {
        self.freq_hz
            .windows(2)
            .map(|w| w[1] - w[0])
            .fold(0.0, f64::max)
    }

    /// Input impedance at each point, ohm. Total reflection of an open gives infinity.
    pub fn impedance_ohm(&self) -> Vec<Complex64> {
        self.reflection
            .iter()
            .map(|&g| impedance_of_reflection(g, self.z_ref_ohm))
            .collect()
    }

    /// The same readings of an analyser whose calibration load was not `z_ref_ohm` but `true_ohm`.
    ///
    /// An open/short/load calibration with flush standards measures every impedance in units of
    /// its load, so the reflections stay and the reference changes.
    ///
    /// # Errors
    /// [`SweepError::Reference`] if `true_ohm` is not a positive number.
    pub fn with_reference(mut self, true_ohm: f64) -> Result<Self, SweepError> {
        check_reference(true_ohm)?;
        self.z_ref_ohm = true_ohm;
        Ok(self)
    }
}

/// All four S-parameters of a cable between ports 1 and 2, against rising frequency.
///
/// Some analysers measure one direction only; then `s12` and `s22` are absent.
#[derive(Clone, Debug, PartialEq)]
pub struct ThroughSweep {
    freq_hz: Vec<f64>,
    z_ref_ohm: f64,
    s11: Vec<Complex64>,
    s21: Vec<Complex64>,
    reverse: Option<Reverse>,
}

/// S12 and S22 of a [`ThroughSweep`], each as long as its frequencies.
#[derive(Clone, Debug, PartialEq)]
pub struct Reverse {
    /// Out of port 1, into port 2.
    pub s12: Vec<Complex64>,
    /// Reflection at port 2.
    pub s22: Vec<Complex64>,
}

impl ThroughSweep {
    /// Checks the invariants (as [`Sweep`]) and makes a through sweep.
    ///
    /// # Errors
    /// [`SweepError`] names the first invariant that does not hold.
    pub fn new(
        freq_hz: Vec<f64>,
        s11: Vec<Complex64>,
        s21: Vec<Complex64>,
        reverse: Option<Reverse>,
        z_ref_ohm: f64,
    ) -> Result<Self, SweepError> {
        check_reference(z_ref_ohm)?;
        let reverse_lists = reverse.iter().flat_map(|r| [&r.s12, &r.s22]);
        for list in [&s11, &s21].into_iter().chain(reverse_lists) {
            check_grid(&freq_hz, list.len())?;
            check_values(list)?;
        }
        Ok(Self {
            freq_hz,
            z_ref_ohm,
            s11,
            s21,
            reverse,
        })
    }

    /// Frequencies, Hz, strictly rising.
    pub fn freq_hz(&self) -> &[f64] {
        &self.freq_hz
    }

    /// Reference impedance of both ports, ohm.
    pub fn z_ref_ohm(&self) -> f64 {
        self.z_ref_ohm
    }

    /// Reflection at port 1.
    pub fn s11(&self) -> &[Complex64] {
        &self.s11
    }

    /// Into port 1, out of port 2.
    pub fn s21(&self) -> &[Complex64] {
        &self.s21
    }

    /// The other direction, if it was measured.
    pub fn reverse(&self) -> Option<&Reverse> {
        self.reverse.as_ref()
    }

    /// What passes, by both directions where both were measured: a cable passes both ways alike, so
    /// their mean has half the variance, and what they differ by is the analyser's.
    pub fn both_ways(&self) -> BothWays {
        let Some(apart) = self
            .directions_apart()
            .filter(|&a| a < ANOTHER_TRANSMISSION)
        else {
            return BothWays {
                transmission: self.s21.clone(),
                apart: 0.0,
            };
        };
        let pairs = self
            .s21
            .iter()
            .zip(self.reverse.iter().flat_map(|r| &r.s12));
        BothWays {
            transmission: pairs.map(|(s21, s12)| 0.5 * (s21 + s12)).collect(),
            apart,
        }
    }

    /// By how much S21 and S12 depart from their mean, rms over its rms; nothing if one direction alone was
    /// measured.
    pub fn directions_apart(&self) -> Option<f64> {
        let s12 = &self.reverse.as_ref()?.s12;
        let pairs = || self.s21.iter().zip(s12);
        let apart: f64 = pairs().map(|(a, b)| (a - b).norm_sqr()).sum();
        let together: f64 = pairs().map(|(a, b)| (a + b).norm_sqr()).sum();
        (together > 0.0).then(|| (apart / together).sqrt())
    }

    /// The same readings in units of a calibration load of `true_ohm`; see
    /// [`Sweep::with_reference`].
    ///
    /// # Errors
    /// [`SweepError::Reference`] if `true_ohm` is not a positive number.
    pub fn with_reference(mut self, true_ohm: f64) -> Result<Self, SweepError> {
        check_reference(true_ohm)?;
        self.z_ref_ohm = true_ohm;
        Ok(self)
    }
}

/// Departure of either direction from their mean beyond which S12 is no second reading of what S21 reads: 6
/// degrees or 0.9 dB between them, more than an analyser drifts. Common practice.
pub const ANOTHER_TRANSMISSION: f64 = 0.05;

/// What passes through a cable, by one or both directions; see [`ThroughSweep::both_ways`].
#[derive(Clone, Debug, PartialEq)]
pub struct BothWays {
    /// Mean of S21 and S12, or S21 alone, at each frequency.
    pub transmission: Vec<Complex64>,
    /// Standard uncertainty of it by what the directions differ, as a part of it; zero with one direction.
    pub apart: f64,
}

/// Impedance that has `reflection` against `z_ref_ohm`: Z = Z_ref (1 + Γ)/(1 − Γ), ohm.
pub fn impedance_of_reflection(reflection: Complex64, z_ref_ohm: f64) -> Complex64 {
    z_ref_ohm * (1.0 + reflection) / (1.0 - reflection)
}

/// Reflection of `z_ohm` against `z_ref_ohm`: Γ = (Z − Z_ref)/(Z + Z_ref).
pub fn reflection_of_impedance(z_ohm: Complex64, z_ref_ohm: f64) -> Complex64 {
    (z_ohm - z_ref_ohm) / (z_ohm + z_ref_ohm)
}

fn check_grid(freq_hz: &[f64], values: usize) -> Result<(), SweepError> {
    if freq_hz.is_empty() {
        return Err(SweepError::Empty);
    }
    if freq_hz.len() != values {
        return Err(SweepError::LengthMismatch {
            frequencies: freq_hz.len(),
            values,
        });
    }
    let mut previous = f64::NEG_INFINITY;
    for (index, &f) in freq_hz.iter().enumerate() {
        if !f.is_finite() || f < 0.0 || f <= previous {
            return Err(SweepError::Frequency { index, freq_hz: f });
        }
        previous = f;
    }
    Ok(())
}

fn check_values(values: &[Complex64]) -> Result<(), SweepError> {
    match values.iter().position(|v| !v.is_finite()) {
        Some(index) => Err(SweepError::NotFinite { index }),
        None => Ok(()),
    }
}

fn check_reference(z_ref_ohm: f64) -> Result<(), SweepError> {
    if z_ref_ohm.is_finite() && z_ref_ohm > 0.0 {
        Ok(())
    } else {
        Err(SweepError::Reference { z_ref_ohm })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refuses_what_is_not_a_sweep() {
        let one = Complex64::new(1.0, 0.0);
        assert_eq!(Sweep::new(vec![], vec![], 50.0), Err(SweepError::Empty));
        assert_eq!(
            Sweep::new(vec![1e6, 1e6], vec![one; 2], 50.0),
            Err(SweepError::Frequency {
                index: 1,
                freq_hz: 1e6
            })
        );
        assert_eq!(
            Sweep::new(vec![1e6], vec![Complex64::new(f64::NAN, 0.0)], 50.0),
            Err(SweepError::NotFinite { index: 0 })
        );
        assert_eq!(
            Sweep::new(vec![1e6], vec![one], -50.0),
            Err(SweepError::Reference { z_ref_ohm: -50.0 })
        );
    }

    #[test]
    fn a_load_one_per_cent_high_scales_every_impedance_by_one_per_cent() {
        let sweep = Sweep::new(vec![1e6], vec![Complex64::new(0.2, 0.1)], 50.0).unwrap();
        let before = sweep.impedance_ohm()[0];
        let after = sweep.with_reference(50.5).unwrap().impedance_ohm()[0];
        assert!((after / before - 1.01).norm() < 1e-12);
    }
}
