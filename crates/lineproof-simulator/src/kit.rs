//! The open, short and load of a calibration kit as they really are.

use std::f64::consts::PI;

use lineproof_core::bench::FarEnd;
use num_complex::Complex64;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal, StandardUniform};

use crate::REFERENCE_OHM;
use crate::chain::Terminal;

/// Largest fringing capacitance of an open, F: 10 to 60 fF is common practice.
const OPEN_F: (f64, f64) = (10e-15, 60e-15);
/// Largest inductance of a short, H; common practice.
const SHORT_H: f64 = 40e-12;
/// Standard deviation of a load's series inductance, H; common practice.
const LOAD_H: f64 = 0.12e-9;
/// Standard deviation of a load's parallel capacitance, F; common practice.
const LOAD_F: f64 = 20e-15;

/// Three standards with their parasitics.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kit {
    /// Resistance of the load at direct current, ohm.
    pub load_ohm: f64,
    /// Inductance in series with the load, H.
    pub load_inductance_h: f64,
    /// Capacitance across the load, F.
    pub load_capacitance_f: f64,
    /// Fringing capacitance of the open, F.
    pub open_capacitance_f: f64,
    /// Inductance of the short, H.
    pub short_inductance_h: f64,
}

impl Kit {
    /// Standards without parasitics and a load of exactly 50 ohm.
    pub const IDEAL: Self = Self {
        load_ohm: REFERENCE_OHM,
        load_inductance_h: 0.0,
        load_capacitance_f: 0.0,
        open_capacitance_f: 0.0,
        short_inductance_h: 0.0,
    };

    /// Draws a kit whose load has this relative tolerance, with parasitics of this size: 1 as usual.
    pub(crate) fn draw(rng: &mut ChaCha8Rng, load_tolerance: f64, parasitics: f64) -> Self {
        let mut normal = || -> f64 { StandardNormal.sample(rng) };
        let load_ohm = REFERENCE_OHM * (1.0 + load_tolerance * normal());
        let (inductance, capacitance) = (normal().abs(), normal().abs());
        let mut share = || -> f64 { StandardUniform.sample(rng) };
        Self {
            load_ohm,
            load_inductance_h: parasitics * LOAD_H * inductance,
            load_capacitance_f: parasitics * LOAD_F * capacitance,
            open_capacitance_f: parasitics * (OPEN_F.0 + (OPEN_F.1 - OPEN_F.0) * share()),
            short_inductance_h: parasitics * SHORT_H * share(),
        }
    }

    /// What this standard does at the end of a line.
    pub fn terminal(&self, far_end: FarEnd, freq_hz: f64) -> Terminal {
        let s = Complex64::new(0.0, 2.0 * PI * freq_hz);
        match far_end {
            FarEnd::Open => Terminal {
                voltage: Complex64::ONE,
                current: s * self.open_capacitance_f,
            },
            FarEnd::Short => Terminal {
                voltage: s * self.short_inductance_h,
                current: Complex64::ONE,
            },
            FarEnd::Load => {
                let branch_ohm = self.load_ohm + s * self.load_inductance_h;
                Terminal {
                    voltage: branch_ohm,
                    current: 1.0 + branch_ohm * s * self.load_capacitance_f,
                }
            }
        }
    }
}
