//! Calibration standards as they are: a termination behind a short offset line.
//!
//! Open C0 + C1 f + C2 f² + C3 f³, short L0 + L1 f + L2 f² + L3 f³, load R with L in series and C
//! across; each may stand behind a line with delay T, impedance Zoff and loss p (ohm per second at
//! 1 GHz): R·l = p T √(f/1 GHz), L·l = T Zoff + R·l/ω, C·l = T/Zoff, no G. The reflection refers to
//! the reference of the calibration, not to Zoff.
//!
//! Source: Agilent Application Note 1287-11, *Specifying Calibration Standards and Kits*, 2009,
//! as quoted by the documentation of scikit-rf ("SOLT Calibration Standards Creation"). Valid while
//! the offset is a coaxial line in its first mode with skin effect much thinner than its conductors.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::tabulated::Tabulated;
use crate::constants::DB_PER_NEPER;
use crate::line::input_impedance::{Termination, input_reflection};
use crate::uncertain::Uncertain;

/// Frequency at which the loss of an offset line is stated, Hz.
const LOSS_AT_HZ: f64 = 1e9;

/// A cubic of frequency with coefficients in SI units: X, X/Hz, X/Hz², X/Hz³.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cubic {
    /// Coefficients of 1, f, f² and f³.
    pub coefficients: [f64; 4],
    /// Standard uncertainty of the whole, the same at every frequency, in the unit of X.
    pub u: f64,
}

impl Cubic {
    /// The same value at every frequency.
    pub fn constant(value: Uncertain) -> Self {
        Self {
            coefficients: [value.value, 0.0, 0.0, 0.0],
            u: value.u,
        }
    }

    /// Value at `freq_hz`.
    pub fn at(&self, freq_hz: f64) -> f64 {
        let horner = |sum: f64, c: &f64| sum * freq_hz + c;
        self.coefficients.iter().rev().fold(0.0, horner)
    }
}

/// What ends a standard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum End {
    /// An open with fringing capacitance, F.
    Open(Cubic),
    /// A short with inductance, H.
    Short(Cubic),
    /// A resistor.
    Load {
        /// Resistance, ohm.
        resistance_ohm: Uncertain,
        /// Inductance in series, H.
        inductance_h: Uncertain,
        /// Capacitance across resistor and inductance, F.
        capacitance_f: Uncertain,
    },
}

/// A short line between the plane and what ends the standard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offset {
    /// Delay one way, s.
    pub one_way_delay_s: Uncertain,
    /// Impedance without loss, ohm.
    pub impedance_ohm: Uncertain,
    /// Loss at 1 GHz, ohm per second of delay.
    pub loss_ohm_per_s: f64,
}

impl Offset {
    /// No offset at all, `z_ohm` being of no consequence.
    pub fn none(z_ohm: f64) -> Self {
        Self {
            one_way_delay_s: Uncertain::exact(0.0),
            impedance_ohm: Uncertain::exact(z_ohm),
            loss_ohm_per_s: 0.0,
        }
    }

    /// The loss in ohm per second of a line that loses `loss_db` one way at 1 GHz: α·l = p T/(2 Zoff).
    ///
    /// A widely read conversion has half of it; it does not agree with the α·l of the same source.
    pub fn loss_of_db(loss_db: f64, one_way_delay_s: f64, impedance_ohm: f64) -> f64 {
        2.0 * (loss_db / DB_PER_NEPER) * impedance_ohm / one_way_delay_s
    }

    /// Impedance, ohm, and γl at a frequency that is not 0.
    fn line(&self, freq_hz: f64) -> (Complex64, Complex64) {
        let (omega, delay_s) = (TAU * freq_hz, self.one_way_delay_s.value);
        let lossless = omega * delay_s * self.impedance_ohm.value;
        // skin effect: resistance and internal reactance are equal and grow as √f
        let skin = self.loss_ohm_per_s * delay_s * (freq_hz / LOSS_AT_HZ).sqrt();
        let series = Complex64::new(skin, lossless + skin);
        let shunt = Complex64::new(0.0, omega * delay_s / self.impedance_ohm.value);
        ((series / shunt).sqrt(), (series * shunt).sqrt())
    }
}

/// A described standard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standard {
    /// What ends it.
    pub end: End,
    /// What lies before that.
    pub offset: Offset,
}

/// What a standard is known by.
#[derive(Clone, Debug, PartialEq)]
pub enum Definition {
    /// By its circuit.
    Described(Standard),
    /// By its reflection at many frequencies.
    Tabulated(Tabulated),
}

impl Standard {
    /// A flush open with this capacitance, F.
    pub fn open(capacitance_f: Uncertain) -> Self {
        Self::flush(End::Open(Cubic::constant(capacitance_f)))
    }

    /// A flush short with this inductance, H.
    pub fn short(inductance_h: Uncertain) -> Self {
        Self::flush(End::Short(Cubic::constant(inductance_h)))
    }

    /// A flush resistor without parasitics, ohm.
    pub fn load(resistance_ohm: Uncertain) -> Self {
        Self::flush(End::Load {
            resistance_ohm,
            inductance_h: Uncertain::exact(0.0),
            capacitance_f: Uncertain::exact(0.0),
        })
    }

    fn flush(end: End) -> Self {
        Self {
            end,
            offset: Offset::none(50.0),
        }
    }

    /// Reflection against `z_ref_ohm`; `None` only where an active description has none.
    pub fn reflection(&self, freq_hz: f64, z_ref_ohm: f64) -> Option<Complex64> {
        let end = self.end.termination(freq_hz);
        // at 0 Hz Z = √((R + jωL)/jωC) has no limit, and without an offset it does not matter
        let (z0_ohm, gamma_l) = if freq_hz > 0.0 && self.offset.one_way_delay_s.value > 0.0 {
            self.offset.line(freq_hz)
        } else {
            (z_ref_ohm.into(), Complex64::ZERO)
        };
        input_reflection(end, z0_ohm, gamma_l, z_ref_ohm)
    }

    /// Change of the reflection by one standard uncertainty of each uncertain parameter.
    pub fn spread(&self, freq_hz: f64, z_ref_ohm: f64) -> Vec<Complex64> {
        let at = |s: &Self| s.reflection(freq_hz, z_ref_ohm);
        // central difference over one standard uncertainty (JCGM 100:2008, 5.1.3 note 2)
        let change = |[up, down]: [Self; 2]| Some(0.5 * (at(&up)? - at(&down)?));
        self.moved_by_one_u()
            .into_iter()
            .filter_map(change)
            .collect()
    }

    /// The standard with each uncertain parameter one standard uncertainty up and down.
    fn moved_by_one_u(&self) -> Vec<[Self; 2]> {
        let both = |u: f64, change: &dyn Fn(&mut Self, f64)| {
            (u > 0.0).then(|| {
                [u, -u].map(|step| {
                    let mut moved = *self;
                    change(&mut moved, step);
                    moved
                })
            })
        };
        let offset = [
            both(self.offset.one_way_delay_s.u, &|s, step| {
                s.offset.one_way_delay_s.value += step;
            }),
            both(self.offset.impedance_ohm.u, &|s, step| {
                s.offset.impedance_ohm.value += step;
            }),
        ];
        let ends = (0..3).map(|i| {
            both(self.end.uncertainties()[i], &|s, step| {
                s.end.move_parameter(i, step);
            })
        });
        offset.into_iter().chain(ends).flatten().collect()
    }
}

impl End {
    fn termination(&self, freq_hz: f64) -> Termination {
        let s = Complex64::new(0.0, TAU * freq_hz);
        match self {
            Self::Open(c) => {
                let admittance = s * c.at(freq_hz);
                // an ideal open has no impedance to write down
                if admittance == Complex64::ZERO {
                    Termination::Open
                } else {
                    Termination::Impedance(admittance.inv())
                }
            }
            Self::Short(l) => Termination::Impedance(s * l.at(freq_hz)),
            Self::Load {
                resistance_ohm,
                inductance_h,
                capacitance_f,
            } => {
                let branch = resistance_ohm.value + s * inductance_h.value;
                Termination::Impedance(branch / (1.0 + branch * s * capacitance_f.value))
            }
        }
    }

    fn uncertainties(&self) -> [f64; 3] {
        match self {
            Self::Open(x) | Self::Short(x) => [x.u, 0.0, 0.0],
            Self::Load {
                resistance_ohm,
                inductance_h,
                capacitance_f,
            } => [resistance_ohm.u, inductance_h.u, capacitance_f.u],
        }
    }

    fn move_parameter(&mut self, index: usize, step: f64) {
        match self {
            // the uncertainty is of the whole cubic and alike at every frequency: its constant term carries it
            Self::Open(x) | Self::Short(x) => x.coefficients[0] += step,
            Self::Load {
                resistance_ohm,
                inductance_h,
                capacitance_f,
            } => [resistance_ohm, inductance_h, capacitance_f][index].value += step,
        }
    }
}

impl Definition {
    /// Reflection against `z_ref_ohm`; `None` where it is not known.
    pub fn reflection(&self, freq_hz: f64, z_ref_ohm: f64) -> Option<Complex64> {
        match self {
            Self::Described(standard) => standard.reflection(freq_hz, z_ref_ohm),
            Self::Tabulated(table) => table.reflection(freq_hz, z_ref_ohm),
        }
    }

    /// Independent changes of the reflection, each by one standard uncertainty.
    pub fn spread(&self, freq_hz: f64, z_ref_ohm: f64) -> Vec<Complex64> {
        match self {
            Self::Described(standard) => standard.spread(freq_hz, z_ref_ohm),
            Self::Tabulated(table) => table.spread(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form of a flush open: e^(−2j·atan(ωCZ)).
    #[test]
    fn a_flush_open_turns_by_its_capacitance() {
        let open = Standard::open(Uncertain::new(40e-15, 10e-15));
        let angle = -2.0 * (TAU * 1e9 * 40e-15 * 50.0).atan();
        let got = open.reflection(1e9, 50.0).unwrap();
        assert!((got - Complex64::cis(angle)).norm() < 1e-14, "got {got}");
        let spread = open.spread(1e9, 50.0);
        assert_eq!(spread.len(), 1);
        // First order: 2ωZ·u(C).
        let wanted = 2.0 * TAU * 1e9 * 50.0 * 10e-15;
        assert!((spread[0].norm() / wanted - 1.0).abs() < 1e-3);
    }

    #[test]
    fn at_direct_current_only_the_termination_counts() {
        let mut short = Standard::short(Uncertain::exact(3e-12));
        short.offset = Offset {
            one_way_delay_s: Uncertain::exact(40e-12),
            impedance_ohm: Uncertain::exact(50.0),
            loss_ohm_per_s: 1e9,
        };
        assert_eq!(short.reflection(0.0, 50.0), Some(-Complex64::ONE));
        let load = Standard::load(Uncertain::exact(75.0));
        assert!((load.reflection(0.0, 50.0).unwrap() - 0.2).norm() < 1e-15);
    }

    /// α·l at 1 GHz is what was stated, 0.0033 dB one way, to first order in the loss.
    #[test]
    fn loss_in_decibels_comes_back() {
        let (delay_s, z_ohm) = (14.49e-12, 50.0);
        let offset = Offset {
            one_way_delay_s: Uncertain::exact(delay_s),
            impedance_ohm: Uncertain::exact(z_ohm),
            loss_ohm_per_s: Offset::loss_of_db(0.0033, delay_s, z_ohm),
        };
        let (_, gamma_l) = offset.line(1e9);
        assert!((gamma_l.re * DB_PER_NEPER / 0.0033 - 1.0).abs() < 0.02);
    }
}
