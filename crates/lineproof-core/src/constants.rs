//! Physical constants, SI units.
//!
//! Source: the SI defining constants and CODATA 2018; `MU_0` is the classical 4π·10⁻⁷ H/m, which
//! differs from the measured value by less than 2·10⁻¹⁰.

use std::f64::consts::PI;

/// Speed of light in vacuum, m/s (exact by definition of the metre).
pub const SPEED_OF_LIGHT_M_S: f64 = 299_792_458.0;

/// Magnetic constant, H/m.
pub const MU_0_H_M: f64 = 4e-7 * PI;

/// Electric constant, F/m.
pub const EPS_0_F_M: f64 = 1.0 / (MU_0_H_M * SPEED_OF_LIGHT_M_S * SPEED_OF_LIGHT_M_S);

/// Wave impedance of vacuum divided by 2π, ohm: the 59.96 of the coaxial impedance formula.
pub const ETA_0_OVER_2PI_OHM: f64 = MU_0_H_M * SPEED_OF_LIGHT_M_S / (2.0 * PI);

/// Decibels in one neper: 20/ln 10.
pub const DB_PER_NEPER: f64 = 8.685_889_638_065_035;

/// Metres in one international foot (exact).
pub const METRES_PER_FOOT: f64 = 0.3048;
