//! Faults along the line as parts of the model: a stretch of other line, or an impedance in series.
//!
//! A stretch reaches from one place to another and differs from the rest by the step of ln z, by a
//! factor on the conductors' resistance, and by a loss tangent of its own: a dent is a short one, a
//! wet stretch has loss besides, a splice reaches to the far end. What the conductors lose goes
//! with R/2Z, so it rises by itself where the impedance is low. Places are parts of the cable's
//! delay between its plugs, 0 to 1, near end first; delays inside a stretch are real ones, so the
//! whole piece's delay stays what the sweeps see.

use num_complex::Complex64;

use super::line::LinePoint;
use super::parameters::{Line, LineGradient, unknowns};

unknowns! {
    /// By what a stretch differs from the cable around it.
    OtherLine {
        /// Step of ln z.
        ln_z_step,
        /// ln of the factor on the conductors' resistance.
        ln_conductor,
        /// ln of the loss tangent that comes on top.
        ln_tan_delta,
    }
}

/// What a fault is to the model, with what stands for each of its unknowns: a prior, a value, or a
/// place in the vector.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Fault<T> {
    /// A stretch from one place to another.
    Between {
        first: T,
        second: T,
        other: OtherLine<T>,
    },
    /// A stretch around a place.
    Around {
        middle: T,
        /// ln of its part of the cable's delay.
        ln_part: T,
        other: OtherLine<T>,
    },
    /// A resistance and an inductance in series at a place.
    Series {
        place: T,
        /// ln of the resistance over the calibration load.
        ln_r: T,
        /// ln of the time constant L/R₀, s.
        ln_l: T,
    },
}

impl<T: Copy> Fault<T> {
    /// The same for what `of` makes of each unknown, in the order in which they stand.
    pub(crate) fn map<U>(self, mut of: impl FnMut(T) -> U) -> Fault<U> {
        match self {
            Self::Between {
                first,
                second,
                other,
            } => Fault::Between {
                first: of(first),
                second: of(second),
                other: other.map(of),
            },
            Self::Around {
                middle,
                ln_part,
                other,
            } => Fault::Around {
                middle: of(middle),
                ln_part: of(ln_part),
                other: other.map(of),
            },
            Self::Series { place, ln_r, ln_l } => Fault::Series {
                place: of(place),
                ln_r: of(ln_r),
                ln_l: of(ln_l),
            },
        }
    }

    /// All unknowns, in the order in which they stand.
    pub(crate) fn unknowns(&self) -> Vec<T> {
        let mut all = Vec::new();
        self.map(|unknown| all.push(unknown));
        all
    }

    /// Number of unknowns.
    pub(crate) fn count(&self) -> usize {
        let mut count = 0;
        self.map(|_| count += 1);
        count
    }

    /// By what a stretch differs; of an impedance in series nothing.
    pub(crate) fn other_line(&self) -> Option<OtherLine<T>> {
        match *self {
            Self::Between { other, .. } | Self::Around { other, .. } => Some(other),
            Self::Series { .. } => None,
        }
    }

    /// The unknowns that are places.
    pub(crate) fn places_mut(&mut self) -> Vec<&mut T> {
        match self {
            Self::Between { first, second, .. } => vec![first, second],
            Self::Around { middle, .. } => vec![middle],
            Self::Series { place, .. } => vec![place],
        }
    }
}

impl Fault<usize> {
    /// The values at these places of the vector.
    pub(crate) fn values(&self, theta: &[f64]) -> Fault<f64> {
        self.map(|i| theta[i])
    }

    /// Both edges of a stretch; of an impedance in series its place twice.
    pub(crate) fn edges(&self, theta: &[f64]) -> [Edge; 2] {
        match *self {
            Self::Between { first, second, .. } => [
                Edge::new(theta[first], [(first, 1.0), (second, 0.0)]),
                Edge::new(theta[second], [(first, 0.0), (second, 1.0)]),
            ],
            Self::Around {
                middle, ln_part, ..
            } => {
                let half = 0.5 * theta[ln_part].exp();
                [
                    Edge::new(theta[middle] - half, [(middle, 1.0), (ln_part, -half)]),
                    Edge::new(theta[middle] + half, [(middle, 1.0), (ln_part, half)]),
                ]
            }
            Self::Series { place, ln_r, .. } => {
                [Edge::new(theta[place], [(place, 1.0), (ln_r, 0.0)]); 2]
            }
        }
    }
}

/// Where a stretch begins or ends, with the derivatives by two unknowns.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub(crate) place: f64,
    pub(crate) by: [(usize, f64); 2],
}

impl Edge {
    /// A place beyond the cable's ends stands at the end, where no unknown moves it.
    fn new(place: f64, by: [(usize, f64); 2]) -> Self {
        if (0.0..=1.0).contains(&place) {
            Self { place, by }
        } else {
            Self {
                place: place.clamp(0.0, 1.0),
                by: by.map(|(unknown, _)| (unknown, 0.0)),
            }
        }
    }
}

/// A stretch's line at one frequency: what a section of it has.
#[derive(Clone, Copy, Debug)]
pub(crate) struct StretchPoint {
    /// ln of the complex impedance without wander, in units of the calibration load.
    pub(crate) ln_zc: Complex64,
    /// γl of as much of it as has the whole cable's delay.
    pub(crate) gamma_l: Complex64,
    factor: f64,
    tan_delta: f64,
}

/// A derivative of a stretch's ln zc and γl.
pub(crate) type ByStretch = (Complex64, Complex64);

impl StretchPoint {
    /// From the line around it and by what it differs.
    pub(crate) fn new(line: &LinePoint, ln_z: f64, other: &OtherLine<f64>) -> Self {
        let factor = (other.ln_conductor - other.ln_z_step).exp();
        let tan_delta = other.ln_tan_delta.exp();
        let half = Complex64::new(0.0, 0.5 * tan_delta);
        Self {
            ln_zc: ln_z + other.ln_z_step + factor * (line.ln_zc - ln_z) + half,
            gamma_l: factor * (line.gamma_l - line.lossless) + line.lossless * (1.0 - half),
            factor,
            tan_delta,
        }
    }

    /// Derivatives of ln zc and γl by the line's unknowns.
    pub(crate) fn by_line(&self, line: &LinePoint) -> LineGradient<ByStretch> {
        let rest = Complex64::new(1.0 - self.factor, -0.5 * self.tan_delta);
        // only the line's ln z stands in the stretch's impedance by itself
        let own = LineGradient {
            line: Line {
                ln_z: 1.0 - self.factor,
                ..Line::default()
            },
            ..LineGradient::default()
        };
        let by_ln_zc = line.d_ln_zc.zip_with(own, |d, own| self.factor * d + own);
        let by_gamma_l = line.d_gamma_l.zip_with(line.d_lossless(), |d, lossless| {
            self.factor * d + rest * lossless
        });
        by_ln_zc.zip_with(by_gamma_l, |a, b| (a, b))
    }

    /// The same by the stretch's own unknowns.
    pub(crate) fn by_own(&self, line: &LinePoint, ln_z: f64) -> OtherLine<ByStretch> {
        let half = Complex64::new(0.0, 0.5 * self.tan_delta);
        let of_conductors = (
            self.factor * (line.ln_zc - ln_z),
            self.factor * (line.gamma_l - line.lossless),
        );
        OtherLine {
            ln_z_step: (1.0 - of_conductors.0, -of_conductors.1),
            ln_conductor: of_conductors,
            ln_tan_delta: (half, -half * line.lossless),
        }
    }
}

/// Impedance of the short section that stands for an impedance in series, in units of the
/// calibration load: so high that what it has across the line does not show.
pub(crate) const SERIES_Z: f64 = 1e3;

/// γl of that section: the resistance's part and the inductance's, which are also the derivatives by
/// ln R and ln L.
pub(crate) fn series_gamma_l(omega_rad_s: f64, ln_r: f64, ln_l: f64) -> [Complex64; 2] {
    let r = ln_r.exp() / SERIES_Z;
    let x = omega_rad_s * ln_l.exp() / SERIES_Z;
    [Complex64::new(r, 0.0), Complex64::new(0.0, x)]
}
