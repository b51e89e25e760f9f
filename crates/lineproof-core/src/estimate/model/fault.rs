//! Faults along the line as parts of the model: a stretch of other line, or something lumped at a place.
//!
//! A stretch reaches from one place to another and differs from the rest by the step of ln z, by a
//! factor on the conductors' resistance, and by a loss tangent of its own: a dent is a short one, a
//! wet stretch has loss besides, a splice reaches to the far end. What the conductors lose goes
//! with R/2Z, so it rises by itself where the impedance is low. Places are parts of the cable's
//! delay between its plugs, 0 to 1, near end first; delays inside a stretch are real ones, so the
//! whole piece's delay stays what the sweeps see.
//!
//! Lumped are an impedance in series, an admittance across the line, and a stub on a tee. Each is a
//! section of line with an impedance far from all others: of a high one nothing shows but what is in
//! series, of a low one nothing but what is across.

use std::f64::consts::TAU;

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
    /// A resistance and a capacitance across the line at a place.
    Shunt {
        place: T,
        /// ln of the resistance over the calibration load.
        ln_r: T,
        /// ln of the time constant C·R₀, s.
        ln_c: T,
    },
    /// A tee with a piece of line on it.
    Stub {
        place: T,
        /// ln of the one-way delay of that piece, s.
        ln_delay: T,
        /// ln of its impedance over the calibration load.
        ln_z: T,
        /// What is at the other end of it.
        end: StubEnd,
    },
}

/// What a stub ends in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum StubEnd {
    Open,
    Short,
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
            Self::Shunt { place, ln_r, ln_c } => Fault::Shunt {
                place: of(place),
                ln_r: of(ln_r),
                ln_c: of(ln_c),
            },
            Self::Stub {
                place,
                ln_delay,
                ln_z,
                end,
            } => Fault::Stub {
                place: of(place),
                ln_delay: of(ln_delay),
                ln_z: of(ln_z),
                end,
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

    /// By what a stretch differs; of something lumped nothing.
    pub(crate) fn other_line(&self) -> Option<OtherLine<T>> {
        match *self {
            Self::Between { other, .. } | Self::Around { other, .. } => Some(other),
            Self::Series { .. } | Self::Shunt { .. } | Self::Stub { .. } => None,
        }
    }

    /// The unknowns of something lumped besides its place; of a stretch none.
    pub(crate) fn lumped(&self) -> Option<[T; 2]> {
        match *self {
            Self::Between { .. } | Self::Around { .. } => None,
            Self::Series { ln_r, ln_l, .. } => Some([ln_r, ln_l]),
            Self::Shunt { ln_r, ln_c, .. } => Some([ln_r, ln_c]),
            Self::Stub { ln_delay, ln_z, .. } => Some([ln_delay, ln_z]),
        }
    }

    /// The unknowns that are places.
    pub(crate) fn places_mut(&mut self) -> Vec<&mut T> {
        match self {
            Self::Between { first, second, .. } => vec![first, second],
            Self::Around { middle, .. } => vec![middle],
            Self::Series { place, .. } | Self::Shunt { place, .. } | Self::Stub { place, .. } => {
                vec![place]
            }
        }
    }
}

impl Fault<usize> {
    /// The values at these places of the vector.
    pub(crate) fn values(&self, theta: &[f64]) -> Fault<f64> {
        self.map(|i| theta[i])
    }

    /// Both edges of a stretch; of something lumped its place twice.
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
            Self::Series {
                place, ln_r: other, ..
            }
            | Self::Shunt {
                place, ln_r: other, ..
            }
            | Self::Stub {
                place, ln_z: other, ..
            } => [Edge::new(theta[place], [(place, 1.0), (other, 0.0)]); 2],
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

/// Something lumped at one frequency: the section that stands for it.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct LumpedPoint {
    /// ln of the section's impedance over the calibration load.
    pub(crate) ln_z: f64,
    pub(crate) gamma_l: Complex64,
    /// Derivatives of γl by the two unknowns of [`Fault::lumped`].
    pub(crate) by_own: [Complex64; 2],
}

/// Impedances of such sections over the calibration load, so high that what they have across does not show,
/// and so low that what they have in series does not.
const SERIES_Z: f64 = 1e3;
const SHUNT_Z: f64 = 1e-3;

/// Conductor loss of a stub, Np per second of delay and √Hz: an ordinary cable's, since nothing but the depth
/// of its resonances hangs on it.
const STUB_LOSS: f64 = 273.0;

impl LumpedPoint {
    /// Of a fault with these values; nothing in particular of a stretch.
    pub(crate) fn new(fault: &Fault<f64>, freq_hz: f64) -> Self {
        // a shorted stub has no admittance at 0 Hz
        let freq_hz = freq_hz.max(1.0);
        let omega = TAU * freq_hz;
        match *fault {
            Fault::Between { .. } | Fault::Around { .. } => Self::default(),
            Fault::Series { ln_r, ln_l, .. } => {
                let r = Complex64::new(ln_r.exp() / SERIES_Z, 0.0);
                let x = Complex64::new(0.0, omega * ln_l.exp() / SERIES_Z);
                Self {
                    ln_z: SERIES_Z.ln(),
                    gamma_l: r + x,
                    by_own: [r, x],
                }
            }
            Fault::Shunt { ln_r, ln_c, .. } => {
                let g = Complex64::new((-ln_r).exp() * SHUNT_Z, 0.0);
                let b = Complex64::new(0.0, omega * ln_c.exp() * SHUNT_Z);
                Self {
                    ln_z: SHUNT_Z.ln(),
                    gamma_l: g + b,
                    by_own: [-g, b],
                }
            }
            Fault::Stub {
                ln_delay,
                ln_z,
                end,
                ..
            } => {
                // loss as √f, so that a resonance has a depth
                let per_second = Complex64::new(STUB_LOSS * freq_hz.sqrt(), omega);
                let gamma_l = per_second * ln_delay.exp();
                let (y, slope) = stub_admittance(gamma_l, end);
                let size = SHUNT_Z * (-ln_z).exp();
                Self {
                    ln_z: SHUNT_Z.ln(),
                    gamma_l: size * y,
                    by_own: [size * slope * gamma_l, -size * y],
                }
            }
        }
    }
}

/// Admittance of a stub over that of its line, tanh γl or coth γl, and its derivative by γl.
fn stub_admittance(gamma_l: Complex64, end: StubEnd) -> (Complex64, Complex64) {
    let t = gamma_l.tanh();
    match end {
        StubEnd::Open => (t, 1.0 - t * t),
        StubEnd::Short => (t.inv(), 1.0 - (t * t).inv()),
    }
}
