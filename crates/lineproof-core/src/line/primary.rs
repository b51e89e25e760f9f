//! Primary line constants (R, L, G, C per metre) and the secondary ones that follow from them.
//!
//! γ = √((R + jωL)(G + jωC)) and Z0 = √((R + jωL)/(G + jωC)), both roots with positive real part;
//! exact at every frequency, so also far below the corner ω = R/L where Z0 is no longer real.
//! Source: D. M. Pozar, Microwave Engineering, 4th ed., sections 2.1 and 2.7.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::complex_functions as complex;
use crate::constants::SPEED_OF_LIGHT_M_S;

/// Primary constants of a uniform line at one frequency. Any non-negative values are valid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Primary {
    /// Series resistance, ohm/m, both conductors together.
    pub r_ohm_m: f64,
    /// Series inductance, H/m, internal inductance included.
    pub l_h_m: f64,
    /// Shunt conductance, S/m.
    pub g_s_m: f64,
    /// Shunt capacitance, F/m.
    pub c_f_m: f64,
}

/// Secondary constants of a uniform line at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Secondary {
    /// Characteristic impedance, ohm.
    pub z0_ohm: Complex64,
    /// Propagation constant γ = α + jβ, per metre.
    pub gamma_per_m: Complex64,
}

impl Primary {
    /// The line whose waveforms keep their shape: R/L = G/C.
    ///
    /// R = αZ0, L = Z0/v, G = α/Z0, C = 1/(Z0 v), with `alpha_np_m` the attenuation at every
    /// frequency (O. Heaviside's condition; M. N. O. Sadiku, Elements of Electromagnetics, ch. 11).
    pub fn distortionless(z0_ohm: f64, alpha_np_m: f64, velocity_m_s: f64) -> Self {
        Self {
            r_ohm_m: alpha_np_m * z0_ohm,
            l_h_m: z0_ohm / velocity_m_s,
            g_s_m: alpha_np_m / z0_ohm,
            c_f_m: 1.0 / (z0_ohm * velocity_m_s),
        }
    }

    /// Series impedance R + jωL, ohm/m.
    pub fn series_ohm_m(self, freq_hz: f64) -> Complex64 {
        Complex64::new(self.r_ohm_m, TAU * freq_hz * self.l_h_m)
    }

    /// Shunt admittance G + jωC, S/m.
    pub fn shunt_s_m(self, freq_hz: f64) -> Complex64 {
        Complex64::new(self.g_s_m, TAU * freq_hz * self.c_f_m)
    }

    /// Propagation constant γ, per metre.
    pub fn gamma_per_m(self, freq_hz: f64) -> Complex64 {
        complex::sqrt(self.series_ohm_m(freq_hz) * self.shunt_s_m(freq_hz))
    }

    /// Characteristic impedance, ohm; `None` where nothing leads from one conductor to the other
    /// (direct current with G = 0), so that it has no value.
    pub fn z0_ohm(self, freq_hz: f64) -> Option<Complex64> {
        let shunt = self.shunt_s_m(freq_hz);
        (shunt != Complex64::ZERO).then(|| complex::sqrt(self.series_ohm_m(freq_hz) / shunt))
    }

    /// Both secondary constants; `None` as for [`Primary::z0_ohm`].
    pub fn secondary(self, freq_hz: f64) -> Option<Secondary> {
        Some(Secondary {
            z0_ohm: self.z0_ohm(freq_hz)?,
            gamma_per_m: self.gamma_per_m(freq_hz),
        })
    }

    /// Characteristic impedance without losses, √(L/C), ohm.
    pub fn lossless_z0_ohm(self) -> f64 {
        (self.l_h_m / self.c_f_m).sqrt()
    }

    /// Secondary constants to first order in R/ωL and G/ωC, for R ≪ ωL and G ≪ ωC.
    ///
    /// α = R/(2 Z0) + G Z0/2, β = ω√(LC), Z = Z0 (1 − j(R/(2ωL) − G/(2ωC))) with Z0 = √(L/C).
    /// Errors are of second order in the two ratios. `None` at direct current.
    pub fn low_loss(self, freq_hz: f64) -> Option<Secondary> {
        if freq_hz == 0.0 {
            return None;
        }
        let z0 = self.lossless_z0_ohm();
        let omega = TAU * freq_hz;
        let tilt =
            self.r_ohm_m / (2.0 * omega * self.l_h_m) - self.g_s_m / (2.0 * omega * self.c_f_m);
        Some(Secondary {
            z0_ohm: Complex64::new(z0, -z0 * tilt),
            gamma_per_m: Complex64::new(
                self.r_ohm_m / (2.0 * z0) + self.g_s_m * z0 / 2.0,
                omega * (self.l_h_m * self.c_f_m).sqrt(),
            ),
        })
    }
}

impl Secondary {
    /// Attenuation constant α, Np/m.
    pub fn alpha_np_m(self) -> f64 {
        self.gamma_per_m.re
    }

    /// Phase constant β, rad/m.
    pub fn beta_rad_m(self) -> f64 {
        self.gamma_per_m.im
    }

    /// Phase velocity ω/β, m/s; `None` where the phase does not turn (direct current).
    pub fn phase_velocity_m_s(self, freq_hz: f64) -> Option<f64> {
        (self.beta_rad_m() != 0.0).then(|| TAU * freq_hz / self.beta_rad_m())
    }

    /// Phase velocity as a fraction of that of light; `None` as for the velocity.
    pub fn velocity_factor(self, freq_hz: f64) -> Option<f64> {
        Some(self.phase_velocity_m_s(freq_hz)? / SPEED_OF_LIGHT_M_S)
    }

    /// γ·l of a piece `length_m` long: nepers and radians one way.
    pub fn gamma_l(self, length_m: f64) -> Complex64 {
        self.gamma_per_m * length_m
    }

    /// The primary constants that have these secondary ones at `freq_hz`; `None` at direct
    /// current, where inductance and capacitance leave no trace.
    pub fn primary(self, freq_hz: f64) -> Option<Primary> {
        if freq_hz == 0.0 {
            return None;
        }
        let series = self.gamma_per_m * self.z0_ohm;
        let shunt = self.gamma_per_m / self.z0_ohm;
        let omega = TAU * freq_hz;
        Some(Primary {
            r_ohm_m: series.re,
            l_h_m: series.im / omega,
            g_s_m: shunt.re,
            c_f_m: shunt.im / omega,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CABLE: Primary = Primary {
        r_ohm_m: 0.1,
        l_h_m: 252e-9,
        g_s_m: 1e-9,
        c_f_m: 101e-12,
    };

    #[test]
    fn direct_current_sees_resistance_and_leakage_alone() {
        let dc = CABLE.secondary(0.0).unwrap();
        assert!((dc.z0_ohm - 1e4).norm() < 1e-9);
        assert!((dc.gamma_per_m - 1e-5).norm() < 1e-18);
        assert_eq!(dc.phase_velocity_m_s(0.0), None);
        let no_leak = Primary {
            g_s_m: 0.0,
            ..CABLE
        };
        assert_eq!(no_leak.z0_ohm(0.0), None);
    }

    #[test]
    fn low_loss_form_is_right_to_second_order() {
        let (exact, near) = (CABLE.secondary(1e7).unwrap(), CABLE.low_loss(1e7).unwrap());
        let ratio = CABLE.r_ohm_m / (TAU * 1e7 * CABLE.l_h_m);
        assert!((near.z0_ohm / exact.z0_ohm - 1.0).norm() < ratio * ratio);
        assert!((near.alpha_np_m() / exact.alpha_np_m() - 1.0).abs() < ratio * ratio);
    }

    #[test]
    fn secondary_to_primary_and_back() {
        let back = CABLE.secondary(3e6).unwrap().primary(3e6).unwrap();
        for (got, wanted) in [
            (back.r_ohm_m, CABLE.r_ohm_m),
            (back.l_h_m, CABLE.l_h_m),
            (back.c_f_m, CABLE.c_f_m),
        ] {
            assert!(
                (got / wanted - 1.0).abs() < 1e-12,
                "got {got}, wanted {wanted}"
            );
        }
        // G is 5e-7 of ωC here and comes back with correspondingly fewer digits.
        assert!((back.g_s_m / CABLE.g_s_m - 1.0).abs() < 1e-7);
    }
}
