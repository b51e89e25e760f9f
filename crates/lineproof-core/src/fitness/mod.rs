//! What a run of cable does for a use: loss, VSWR, voltage, current and heat.
//!
//! Values in, values out: a [`Line`] is one run at one frequency, a [`Load`] what ends it.
//! [`transfer()`] follows the power, [`stress()`] what it does to the cable, [`wrong_impedance`] prices a
//! cable of another impedance than the system's, [`remove_line`] looks through a known line at what
//! ends it. [`fitness()`] puts a [`KnownCable`](crate::known::KnownCable) to one [`Use`] and says whether it will do.
//!
//! Where only the VSWR of the load is known, its phase is not, and on a short line the loss depends
//! on it: results are then a [`Span`] over all phases, widened by the line's own uncertainty.
//! Voltage, power and temperature are estimates; local rules and licensed practice come first.

mod answer;
mod heat;
mod of_use;
mod remarks;
mod removal;
mod stress;
mod transfer;

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::line::loss_law::neper_of_db;
use crate::uncertain::Uncertain;

pub use answer::{BandOfRun, Fitness, MatchedLoss, RunDelay, Use, UseCheck, UseLoad, UseStress};
pub use heat::{HeatPath, core_resistance_k_m_w, jacket_c};
pub use of_use::{BANDS_HZ, FitnessError, fitness};
pub use removal::{FarEndSeen, remove_line};
pub use stress::{
    ConductorHeat, PowerBasis, RATING_OVER_BALANCE, Ratings, Stress, loss_at_temperature_db, stress,
};
pub use transfer::{Transfer, WrongImpedance, transfer, wrong_impedance};

/// One run of cable at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Characteristic impedance, real part, ohm.
    pub z0_ohm: Uncertain,
    /// One-way delay of the run, s.
    pub one_way_delay_s: Uncertain,
    /// Matched loss of the run, one way, dB.
    pub loss_db: Uncertain,
    /// Part of the loss that the dielectric causes, 0 to 1.
    pub dielectric_share: f64,
}

/// What ends a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Load {
    /// A load of this VSWR against `against_ohm`; its phase is not known.
    Swr {
        /// Standing wave ratio, 1 or more.
        swr: f64,
        /// Impedance that it refers to, ohm.
        against_ohm: f64,
    },
    /// A known impedance, ohm.
    Impedance(Complex64),
}

/// A value that lies between two.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize, serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Span {
    /// Lowest.
    pub low: f64,
    /// Highest.
    pub high: f64,
}

/// Loads that stand for one whose phase is not known.
const PHASES: usize = 72;

impl Line {
    /// Propagation γl of the run at `freq_hz`.
    pub fn gamma_l(&self, freq_hz: f64) -> Complex64 {
        let alpha = neper_of_db(self.loss_db.value);
        Complex64::new(alpha, TAU * freq_hz * self.one_way_delay_s.value)
    }

    /// Complex characteristic impedance at `freq_hz`, ohm: to first order in the loss
    /// Z0(1 − j(α_c − α_d)/β), with α_c by the conductors and α_d by the dielectric (D. M. Pozar,
    /// Microwave Engineering, 4th ed., section 2.7).
    pub fn z0(&self, freq_hz: f64) -> Complex64 {
        let gamma_l = self.gamma_l(freq_hz);
        let ratio = if gamma_l.im > 0.0 {
            gamma_l.re / gamma_l.im
        } else {
            0.0
        };
        let lean = ratio * (1.0 - 2.0 * self.dielectric_share);
        self.z0_ohm.value * Complex64::new(1.0, -lean)
    }

    /// The same line with its three values moved by standard uncertainties times `by`.
    fn moved(&self, by: [f64; 3]) -> Self {
        let move_by = |q: Uncertain, times: f64| Uncertain::new(q.value + times * q.u, q.u);
        Self {
            z0_ohm: move_by(self.z0_ohm, by[0]),
            one_way_delay_s: move_by(self.one_way_delay_s, by[1]),
            loss_db: Uncertain::new(
                (self.loss_db.value + by[2] * self.loss_db.u).max(0.0),
                self.loss_db.u,
            ),
            dielectric_share: self.dielectric_share,
        }
    }

    /// `f` of the line with its uncertainty, the three values independent (JCGM 100:2008, 5.1.2).
    fn propagate(&self, f: impl Fn(&Self) -> Option<f64>) -> Option<Uncertain> {
        let centre = f(self)?;
        let mut variance = 0.0;
        for i in 0..3 {
            let mut by = [0.0; 3];
            by[i] = 1.0;
            let up = f(&self.moved(by))?;
            by[i] = -1.0;
            variance += (0.5 * (up - f(&self.moved(by))?)).powi(2);
        }
        Some(Uncertain::new(centre, variance.sqrt()))
    }
}

impl Load {
    /// The impedances that it may be, ohm.
    fn impedances_ohm(&self) -> Vec<Complex64> {
        match *self {
            Self::Impedance(z) => vec![z],
            Self::Swr { swr, against_ohm } if swr <= 1.0 => vec![against_ohm.into()],
            Self::Swr { swr, against_ohm } => {
                let size = crate::line::mismatch::reflection_of_swr(swr);
                (0..PHASES)
                    .map(|k| {
                        let reflection =
                            Complex64::from_polar(size, TAU * k as f64 / PHASES as f64);
                        against_ohm * (1.0 + reflection) / (1.0 - reflection)
                    })
                    .collect()
            }
        }
    }
}

impl Span {
    /// Over the 95 % intervals of all values; `None` for none.
    fn over(values: impl Iterator<Item = Uncertain>) -> Option<Self> {
        values
            .map(|v| Self {
                low: v.value - v.u95(),
                high: v.value + v.u95(),
            })
            .reduce(|a, b| Self {
                low: a.low.min(b.low),
                high: a.high.max(b.high),
            })
    }

    /// Not below `least`.
    #[must_use]
    fn at_least(self, least: f64) -> Self {
        Self {
            low: self.low.max(least),
            high: self.high.max(least),
        }
    }

    /// Middle of the span.
    pub fn middle(self) -> f64 {
        0.5 * (self.low + self.high)
    }
}
