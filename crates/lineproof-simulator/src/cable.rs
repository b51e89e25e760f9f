//! A coaxial cable by geometry and materials, and what follows from them per metre.
//!
//! Series impedance: internal impedance of both conductors and the inductance of the field between
//! them. Shunt admittance: capacitance with a loss tangent. Textbook transmission line theory
//! (D. M. Pozar, *Microwave Engineering*, sections 2.1, 2.2 and 2.7, from memory; the checks in
//! `tests/it` name their rows).

use std::f64::consts::PI;

use lineproof_core::constants::{
    DB_PER_NEPER, EPS_0_F_M, ETA_0_OVER_2PI_OHM, MU_0_H_M, SPEED_OF_LIGHT_M_S,
};
use num_complex::Complex64;

use crate::conductor::{clad_wire_ohm_m, rough_factor, round_wire_ohm_m, tube_ohm_m};

/// Conductivity of annealed copper, S/m (International Annealed Copper Standard).
const COPPER_S_PER_M: f64 = 5.8e7;

/// Geometry and materials of a coaxial cable. Any positive values make a cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cable {
    /// Diameter of the inner conductor, m.
    pub inner_diameter_m: f64,
    /// Diameter over the dielectric, which is that inside the shield, m.
    pub outer_diameter_m: f64,
    /// Relative permittivity of the dielectric.
    pub eps_r: f64,
    /// Loss tangent of the dielectric.
    pub tan_delta: f64,
    /// Conductivity of both conductors, S/m.
    pub conductivity_s_per_m: f64,
    /// Thickness of the shield, m.
    pub shield_thickness_m: f64,
    /// How much more impedance a braid has than a smooth tube: 1 for a tube, about 1 to 2.2.
    pub braid_factor: f64,
    /// Effective diameter of a stranded inner conductor over the diameter around its strands.
    pub strand_factor: f64,
    /// Extra conductor resistance: 1 as new, above it when corroded.
    pub corrosion_factor: f64,
    /// Share by which roughness raises the conductors' resistance where the skin is thin: 0 if smooth.
    pub roughness: f64,
    /// Power of the frequency by which the loss tangent rises, from its value at 100 MHz; below 1.
    pub tan_delta_exponent: f64,
    /// Thickness of the copper on a steel inner conductor, m; none if it is all copper.
    pub cladding_m: Option<f64>,
}

/// Permittivity and loss tangent of the usual dielectrics; typical values from handbooks, from
/// memory. Foams and spaced dielectrics by the velocity factor that they are sold with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dielectric {
    /// Solid polyethylene, velocity factor 0.66.
    SolidPe,
    /// Foamed polyethylene, velocity factor 0.81.
    FoamPe,
    /// Solid PTFE, velocity factor 0.695.
    Ptfe,
    /// Air-spaced polyethylene, velocity factor 0.84.
    AirSpacedPe,
}

impl Dielectric {
    /// Relative permittivity.
    pub fn eps_r(self) -> f64 {
        match self {
            Self::SolidPe => 2.28,
            Self::FoamPe => 1.52,
            Self::Ptfe => 2.07,
            Self::AirSpacedPe => 1.42,
        }
    }

    /// Loss tangent.
    pub fn tan_delta(self) -> f64 {
        match self {
            Self::SolidPe => 2.5e-4,
            Self::FoamPe => 1.5e-4,
            Self::Ptfe | Self::AirSpacedPe => 2e-4,
        }
    }
}

impl Cable {
    /// A braided copper cable of this high-frequency impedance and diameter over the dielectric;
    /// the inner conductor follows from them.
    pub fn of_impedance(z0_ohm: f64, dielectric: Dielectric, outer_diameter_m: f64) -> Self {
        let eps_r = dielectric.eps_r();
        let ratio = (z0_ohm * eps_r.sqrt() / ETA_0_OVER_2PI_OHM).exp();
        Self {
            inner_diameter_m: outer_diameter_m / ratio,
            outer_diameter_m,
            eps_r,
            tan_delta: dielectric.tan_delta(),
            conductivity_s_per_m: COPPER_S_PER_M,
            shield_thickness_m: 0.12e-3,
            braid_factor: 1.6,
            strand_factor: 1.0,
            corrosion_factor: 1.0,
            roughness: 0.0,
            tan_delta_exponent: 0.0,
            cladding_m: None,
        }
    }

    /// Solid polyethylene, near 74 ohm, 3.7 mm over the dielectric, solid inner conductor: the
    /// everyday 75-ohm video cable. Dimensions from memory.
    pub fn solid_pe_75() -> Self {
        Self {
            inner_diameter_m: 0.58e-3,
            ..Self::of_impedance(75.0, Dielectric::SolidPe, 3.7e-3)
        }
    }

    /// Solid polyethylene, near 50 ohm, 2.95 mm over the dielectric, 19 strands: the everyday
    /// 50-ohm 5 mm cable. Dimensions from memory.
    pub fn solid_pe_50() -> Self {
        Self {
            inner_diameter_m: 0.9e-3,
            strand_factor: 0.94,
            ..Self::of_impedance(50.0, Dielectric::SolidPe, 2.95e-3)
        }
    }

    /// Foamed polyethylene, 75 ohm, 4.6 mm over the dielectric: satellite cable with a foil.
    pub fn foam_pe_75() -> Self {
        Self {
            braid_factor: 1.1,
            ..Self::of_impedance(75.0, Dielectric::FoamPe, 4.6e-3)
        }
    }

    /// Foamed polyethylene, 50 ohm, 7.25 mm over the dielectric: low-loss feed line.
    pub fn foam_pe_50() -> Self {
        Self {
            braid_factor: 1.1,
            ..Self::of_impedance(50.0, Dielectric::FoamPe, 7.25e-3)
        }
    }

    /// PTFE, 50 ohm, 1.5 mm over the dielectric: thin instrument jumper.
    pub fn ptfe_50() -> Self {
        Self::of_impedance(50.0, Dielectric::Ptfe, 1.5e-3)
    }

    /// Air-spaced polyethylene, 93 ohm, 3.7 mm over the dielectric.
    pub fn air_spaced_93() -> Self {
        Self::of_impedance(93.0, Dielectric::AirSpacedPe, 3.7e-3)
    }

    /// The same cable without any loss, for comparison with closed forms.
    #[must_use]
    pub fn lossless(self) -> Self {
        Self {
            tan_delta: 0.0,
            conductivity_s_per_m: 1e30,
            ..self
        }
    }

    /// Series impedance, ohm/m.
    pub fn series_ohm_m(&self, freq_hz: f64) -> Complex64 {
        let omega_rad_s = 2.0 * PI * freq_hz;
        let internal = self.internal_ohm_m(freq_hz);
        let external_h_m = MU_0_H_M / (2.0 * PI) * self.log_ratio();
        Complex64::new(
            internal.re * self.corrosion_factor,
            internal.im + omega_rad_s * external_h_m,
        )
    }

    /// Shunt admittance, S/m.
    pub fn shunt_s_m(&self, freq_hz: f64) -> Complex64 {
        let omega_rad_s = 2.0 * PI * freq_hz;
        let capacitance_f_m = 2.0 * PI * EPS_0_F_M * self.eps_r / self.log_ratio();
        if self.tan_delta_exponent == 0.0 {
            return omega_rad_s * capacitance_f_m * Complex64::new(self.tan_delta, 1.0);
        }
        // permittivity less a part in proportion to (jω)ⁿ: its loss rises as ωⁿ, and its real part falls as
        // causality asks (a constant-phase element)
        let n = self.tan_delta_exponent;
        let loss = self.tan_delta * (freq_hz / 100e6).powf(n);
        let stored = 1.0 - loss / (0.5 * PI * n).tan();
        omega_rad_s * capacitance_f_m * Complex64::new(loss, stored)
    }

    /// Characteristic impedance, ohm. Infinite at 0 Hz.
    pub fn impedance_ohm(&self, freq_hz: f64) -> Complex64 {
        (self.series_ohm_m(freq_hz) / self.shunt_s_m(freq_hz)).sqrt()
    }

    /// Propagation constant α + jβ, 1/m.
    pub fn gamma_per_m(&self, freq_hz: f64) -> Complex64 {
        (self.series_ohm_m(freq_hz) * self.shunt_s_m(freq_hz)).sqrt()
    }

    /// Matched loss, dB per metre.
    pub fn loss_db_m(&self, freq_hz: f64) -> f64 {
        self.gamma_per_m(freq_hz).re * DB_PER_NEPER
    }

    /// Phase velocity over that of light.
    pub fn velocity_factor(&self, freq_hz: f64) -> f64 {
        2.0 * PI * freq_hz / (self.gamma_per_m(freq_hz).im * SPEED_OF_LIGHT_M_S)
    }

    fn internal_ohm_m(&self, freq_hz: f64) -> Complex64 {
        let sigma = self.conductivity_s_per_m;
        let inner_radius_m = 0.5 * self.effective_inner_m();
        let inner = match self.cladding_m {
            Some(layer_m) => clad_wire_ohm_m(freq_hz, inner_radius_m, layer_m, sigma),
            None => round_wire_ohm_m(freq_hz, inner_radius_m, sigma),
        };
        let outer_radius_m = 0.5 * self.outer_diameter_m;
        let shield = tube_ohm_m(freq_hz, outer_radius_m, self.shield_thickness_m, sigma);
        let smooth = inner + self.braid_factor * shield;
        smooth * rough_factor(freq_hz, self.roughness, sigma)
    }

    fn effective_inner_m(&self) -> f64 {
        self.inner_diameter_m * self.strand_factor
    }

    fn log_ratio(&self) -> f64 {
        (self.outer_diameter_m / self.effective_inner_m()).ln()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Internal inductance raises the impedance a little above its high-frequency value.
    const SKIN_EFFECT_TOL_OHM: f64 = 1.0;

    #[test]
    fn a_cable_made_for_an_impedance_has_it() {
        for z0_ohm in [50.0, 75.0, 93.0] {
            let cable = Cable::of_impedance(z0_ohm, Dielectric::FoamPe, 4.6e-3);
            let got = cable.impedance_ohm(300e6).re;
            assert!(
                got > z0_ohm && got < z0_ohm + SKIN_EFFECT_TOL_OHM,
                "got {got}, wanted just above {z0_ohm}"
            );
            let ideal = cable.lossless().impedance_ohm(300e6);
            assert!((ideal - z0_ohm).norm() < 1e-9, "got {ideal}");
        }
    }

    #[test]
    fn corrosion_adds_loss_and_leaves_the_impedance() {
        let good = Cable::solid_pe_50();
        let bad = Cable {
            corrosion_factor: 3.0,
            ..good
        };
        assert!(bad.loss_db_m(100e6) > 2.0 * good.loss_db_m(100e6));
        let change = (bad.impedance_ohm(100e6) / good.impedance_ohm(100e6) - 1.0).re;
        assert!(change.abs() < 1e-3, "impedance changed by {change}");
    }
}
