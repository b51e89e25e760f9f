//! Attenuation against frequency: k0 + k1√f + k2·f.
//!
//! k1 is the conductors in strong skin effect, k2 the dielectric, k0 the resistance where current
//! fills the conductor (direct current, or a steel core below the frequency at which its copper is
//! as thick as the skin). Attenuation constants of the type standards are stated to apply from
//! about 5 MHz up (IEC 61196-1-113, from memory); below that k0 is what matters.

use nalgebra::{DMatrix, DVector};
use thiserror::Error;

use super::velocity::slope;
use crate::constants::{DB_PER_NEPER, METRES_PER_FOOT};

/// Attenuation law of a cable, in dB per metre at f in Hz. Coefficients are not negative.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LossLaw {
    /// Constant part, dB/m.
    pub k0_db_m: f64,
    /// Conductor part, dB/m per √Hz.
    pub k1_db_m_sqrt_hz: f64,
    /// Dielectric part, dB/m per Hz.
    pub k2_db_m_hz: f64,
}

/// Which parts of the law a fit may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Terms {
    /// k1√f alone.
    Conductor,
    /// k1√f + k2·f.
    ConductorAndDielectric,
    /// k0 + k1√f + k2·f, for steel cores and low frequency.
    All,
}

/// A fitted law and how well it holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LossFit {
    /// The law.
    pub law: LossLaw,
    /// Root mean square of the relative deviations.
    pub relative_rms: f64,
}

/// Why there is no law.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum LossFitError {
    /// Fewer points than unknowns.
    #[error("{points} attenuation points do not determine {unknowns} coefficients")]
    TooFewPoints {
        /// Points given.
        points: usize,
        /// Coefficients wanted.
        unknowns: usize,
    },
    /// A frequency or attenuation that is not a positive finite number.
    #[error("attenuation {db_m} dB/m at {freq_hz} Hz: both must be positive numbers")]
    Point {
        /// Frequency, Hz.
        freq_hz: f64,
        /// Attenuation, dB/m.
        db_m: f64,
    },
}

impl LossLaw {
    /// From coefficients in the units of data sheets: dB/100 m with f in MHz.
    pub fn of_db_100m_mhz(k0: f64, k1: f64, k2: f64) -> Self {
        Self {
            k0_db_m: k0 / 100.0,
            k1_db_m_sqrt_hz: k1 / 100.0 / 1e6f64.sqrt(),
            k2_db_m_hz: k2 / 100.0 / 1e6,
        }
    }

    /// Attenuation at `freq_hz`, dB/m.
    pub fn db_m(self, freq_hz: f64) -> f64 {
        self.k0_db_m + self.k1_db_m_sqrt_hz * freq_hz.sqrt() + self.k2_db_m_hz * freq_hz
    }

    /// Attenuation constant at `freq_hz`, Np/m.
    pub fn alpha_np_m(self, freq_hz: f64) -> f64 {
        neper_of_db(self.db_m(freq_hz))
    }

    /// Local exponent d ln(loss)/d ln f: 0.5 for conductors, 1 for dielectric, 0 for a constant;
    /// `None` where there is no loss.
    pub fn exponent(self, freq_hz: f64) -> Option<f64> {
        let total = self.db_m(freq_hz);
        let rise = 0.5 * self.k1_db_m_sqrt_hz * freq_hz.sqrt() + self.k2_db_m_hz * freq_hz;
        (total > 0.0).then(|| rise / total)
    }
}

/// Attenuation at `to_hz` from that at `from_hz` by (to/from)^exponent; 0.5 for conductor loss.
pub fn scaled_loss(loss: f64, from_hz: f64, to_hz: f64, exponent: f64) -> f64 {
    loss * (to_hz / from_hz).powf(exponent)
}

/// Least-squares exponent of attenuation against frequency in logarithms, for points (f in Hz, any
/// unit of loss); `None` if they do not determine it. Far below 0.5 speaks for a steel core.
pub fn fitted_exponent(points: &[(f64, f64)]) -> Option<f64> {
    let (ln_f, ln_loss): (Vec<f64>, Vec<f64>) =
        points.iter().map(|(f, loss)| (f.ln(), loss.ln())).unzip();
    slope(&ln_f, &ln_loss)
}

/// Law with the least relative deviations from `points` (f in Hz, attenuation in dB/m) and no
/// negative coefficient.
///
/// # Errors
/// [`LossFitError`] if there are too few points or one is not positive.
pub fn fit(points: &[(f64, f64)], terms: Terms) -> Result<LossFit, LossFitError> {
    let unknowns = terms.exponents().len();
    if points.len() < unknowns {
        return Err(LossFitError::TooFewPoints {
            points: points.len(),
            unknowns,
        });
    }
    let is_positive = |x: f64| x.is_finite() && x > 0.0;
    if let Some(&(freq_hz, db_m)) = points
        .iter()
        .find(|(f, loss)| !(is_positive(*f) && is_positive(*loss)))
    {
        return Err(LossFitError::Point { freq_hz, db_m });
    }
    let best = subsets(terms.exponents())
        .into_iter()
        .filter_map(|exponents| fit_subset(points, &exponents))
        .min_by(|a, b| a.relative_rms.total_cmp(&b.relative_rms));
    // One coefficient alone is always determined and positive.
    Ok(best.expect("a law with a single term fits any positive points"))
}

/// Nepers to decibels.
pub fn db_of_neper(neper: f64) -> f64 {
    DB_PER_NEPER * neper
}

/// Decibels to nepers.
pub fn neper_of_db(db: f64) -> f64 {
    db / DB_PER_NEPER
}

/// Attenuation in dB/100 ft to dB/100 m.
pub fn db_100m_of_db_100ft(db_100ft: f64) -> f64 {
    db_100ft / METRES_PER_FOOT
}

/// Attenuation in dB/100 m to dB/100 ft.
pub fn db_100ft_of_db_100m(db_100m: f64) -> f64 {
    db_100m * METRES_PER_FOOT
}

impl Terms {
    fn exponents(self) -> &'static [Exponent] {
        match self {
            Self::Conductor => &[Exponent::Half],
            Self::ConductorAndDielectric => &[Exponent::Half, Exponent::One],
            Self::All => &[Exponent::Half, Exponent::One, Exponent::Zero],
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Exponent {
    Zero,
    Half,
    One,
}

impl Exponent {
    fn of(self, freq_hz: f64) -> f64 {
        match self {
            Self::Zero => 1.0,
            Self::Half => freq_hz.sqrt(),
            Self::One => freq_hz,
        }
    }
}

/// All non-empty subsets. The best law without negative coefficients is the unconstrained best of
/// one of them, and there are seven at most.
fn subsets(exponents: &[Exponent]) -> Vec<Vec<Exponent>> {
    (1..1usize << exponents.len())
        .map(|mask| {
            let chosen = exponents.iter().enumerate();
            chosen
                .filter(|(k, _)| mask >> k & 1 == 1)
                .map(|(_, &e)| e)
                .collect()
        })
        .collect()
}

/// Unconstrained best law of these terms; `None` if a coefficient is negative or undetermined.
fn fit_subset(points: &[(f64, f64)], exponents: &[Exponent]) -> Option<LossFit> {
    let scale: Vec<f64> = exponents
        .iter()
        .map(|e| points.iter().map(|&(f, _)| e.of(f)).fold(0.0, f64::max))
        .collect();
    // Relative deviations: every row is divided by its attenuation.
    let rows = DMatrix::from_fn(points.len(), exponents.len(), |i, k| {
        let (freq_hz, db_m) = points[i];
        exponents[k].of(freq_hz) / scale[k] / db_m
    });
    let ones = DVector::from_element(points.len(), 1.0);
    let solution = rows.clone().svd(true, true).solve(&ones, 1e-12).ok()?;
    if solution.iter().any(|&k| k < 0.0 || !k.is_finite()) {
        return None;
    }
    let relative_rms = ((rows * &solution - ones).norm_squared() / points.len() as f64).sqrt();
    let mut law = LossLaw::default();
    for (k, exponent) in exponents.iter().enumerate() {
        let coefficient = solution[k] / scale[k];
        match exponent {
            Exponent::Zero => law.k0_db_m = coefficient,
            Exponent::Half => law.k1_db_m_sqrt_hz = coefficient,
            Exponent::One => law.k2_db_m_hz = coefficient,
        }
    }
    Some(LossFit { law, relative_rms })
}

#[cfg(test)]
mod tests {
    use super::*;

    const LAW: LossLaw = LossLaw {
        k0_db_m: 0.002,
        k1_db_m_sqrt_hz: 1.2e-5,
        k2_db_m_hz: 4e-11,
    };
    const GRID_HZ: [f64; 6] = [1e6, 1e7, 5e7, 1e8, 4e8, 1e9];

    fn points(law: LossLaw) -> Vec<(f64, f64)> {
        GRID_HZ.iter().map(|&f| (f, law.db_m(f))).collect()
    }

    #[test]
    fn a_fit_gives_back_the_law_that_made_the_points() {
        let fitted = fit(&points(LAW), Terms::All).unwrap();
        assert!(fitted.relative_rms < 1e-12);
        assert!((fitted.law.k0_db_m / LAW.k0_db_m - 1.0).abs() < 1e-9);
        assert!((fitted.law.k2_db_m_hz / LAW.k2_db_m_hz - 1.0).abs() < 1e-9);
    }

    #[test]
    fn coefficients_do_not_become_negative() {
        // Steeper than f at no frequency, flatter than √f everywhere.
        let flat: Vec<_> = GRID_HZ.iter().map(|&f| (f, 1e-4 * f.powf(0.4))).collect();
        let fitted = fit(&flat, Terms::ConductorAndDielectric).unwrap();
        assert_eq!(fitted.law.k2_db_m_hz, 0.0);
        assert!((fitted_exponent(&flat).unwrap() - 0.4).abs() < 1e-12);
    }

    #[test]
    fn points_that_are_none_are_refused() {
        let few = fit(&[(1e6, 0.1)], Terms::All);
        let wanted = LossFitError::TooFewPoints {
            points: 1,
            unknowns: 3,
        };
        assert_eq!(few, Err(wanted));
        let message = fit(&[(1e6, -0.1)], Terms::Conductor)
            .unwrap_err()
            .to_string();
        assert_eq!(
            message,
            "attenuation -0.1 dB/m at 1000000 Hz: both must be positive numbers"
        );
    }

    #[test]
    fn units_of_data_sheets() {
        let law = LossLaw::of_db_100m_mhz(0.0, 1.2, 0.004);
        assert!((law.db_m(100e6) * 100.0 - 12.4).abs() < 1e-12);
        assert!((db_100ft_of_db_100m(db_100m_of_db_100ft(3.9)) - 3.9).abs() < 1e-15);
    }
}
