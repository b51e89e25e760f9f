//! From the cross-section of a coaxial cable to its line constants and its limits.
//!
//! Z0 = (η0/2π)/√εr · ln(D/d); an eccentric conductor replaces ln by acosh. Sources: D. M. Pozar,
//! Microwave Engineering, 4th ed., sections 2.2 and 3.5; S. Ramo, J. R. Whinnery, T. Van Duzer,
//! Fields and Waves in Communication Electronics. Smooth solid conductors: a braid or a strand
//! loses more, so the losses computed here are a lower limit.

use std::f64::consts::{PI, TAU};

use num_complex::Complex64;

use super::primary::Primary;
use super::skin;
use crate::constants::{EPS_0_F_M, ETA_0_OVER_2PI_OHM, MU_0_H_M, SPEED_OF_LIGHT_M_S};

/// Conductivity of annealed copper at 20 °C, S/m (IEC 60028).
pub const COPPER_S_PER_M: f64 = 5.8e7;

/// Cross-section and materials of a coaxial cable. All lengths positive, outer larger than inner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoaxGeometry {
    /// Diameter of the centre conductor, m; for a strand see [`strand_factor`].
    pub inner_diameter_m: f64,
    /// Inner diameter of the shield, m.
    pub outer_diameter_m: f64,
    /// Relative permittivity of the dielectric, effective one for foam.
    pub eps_r: f64,
    /// Loss tangent of the dielectric, taken as the same at all frequencies.
    pub tan_delta: f64,
    /// Conductivity of the centre conductor, S/m.
    pub conductivity_s_per_m: f64,
    /// Conductivity of the shield, S/m.
    pub shield_conductivity_s_per_m: f64,
    /// Thickness of the shield's wall, m; `None` for a wall thicker than any skin depth, which has
    /// no resistance at direct current.
    pub shield_thickness_m: Option<f64>,
}

impl CoaxGeometry {
    /// Solid copper inside and out, the shield thick.
    pub fn copper(
        inner_diameter_m: f64,
        outer_diameter_m: f64,
        eps_r: f64,
        tan_delta: f64,
    ) -> Self {
        Self {
            inner_diameter_m,
            outer_diameter_m,
            eps_r,
            tan_delta,
            conductivity_s_per_m: COPPER_S_PER_M,
            shield_conductivity_s_per_m: COPPER_S_PER_M,
            shield_thickness_m: None,
        }
    }

    /// Impedance at high frequency, where no field is left inside the conductors, ohm.
    pub fn high_frequency_z0_ohm(self) -> f64 {
        z0_ohm(self.inner_diameter_m, self.outer_diameter_m, self.eps_r)
    }

    /// Capacitance, F/m.
    pub fn capacitance_f_m(self) -> f64 {
        TAU * EPS_0_F_M * self.eps_r / self.ln_ratio()
    }

    /// Inductance of the field between the conductors, H/m.
    pub fn external_inductance_h_m(self) -> f64 {
        MU_0_H_M / TAU * self.ln_ratio()
    }

    /// Impedance from inside both conductors, ohm/m: resistance and internal inductance.
    pub fn internal_ohm_m(self, freq_hz: f64) -> Complex64 {
        let wire =
            skin::round_wire_ohm_m(freq_hz, self.inner_diameter_m, self.conductivity_s_per_m);
        wire + self.shield_ohm_m(freq_hz)
    }

    /// Line constants at `freq_hz`. At direct current the internal inductance is that of 1 Hz,
    /// where current still fills the conductors.
    pub fn primary(self, freq_hz: f64) -> Primary {
        let internal_h_m = {
            let at_hz = freq_hz.max(1.0);
            self.internal_ohm_m(at_hz).im / (TAU * at_hz)
        };
        let c_f_m = self.capacitance_f_m();
        Primary {
            r_ohm_m: self.internal_ohm_m(freq_hz).re,
            l_h_m: self.external_inductance_h_m() + internal_h_m,
            g_s_m: TAU * freq_hz * c_f_m * self.tan_delta,
            c_f_m,
        }
    }

    /// Resistance by the strong-skin formula Rs/2π·(1/a + 1/b), ohm/m.
    pub fn strong_skin_resistance_ohm_m(self, freq_hz: f64) -> f64 {
        let inner =
            skin::strong_skin_ohm_m(freq_hz, self.inner_diameter_m, self.conductivity_s_per_m);
        let outer = skin::strong_skin_ohm_m(
            freq_hz,
            self.outer_diameter_m,
            self.shield_conductivity_s_per_m,
        );
        inner.re + outer.re
    }

    /// Frequency from which the first higher mode can travel, Hz; see [`te11_cutoff_hz`].
    pub fn te11_cutoff_hz(self) -> f64 {
        te11_cutoff_hz(self.inner_diameter_m, self.outer_diameter_m, self.eps_r)
    }

    fn ln_ratio(self) -> f64 {
        (self.outer_diameter_m / self.inner_diameter_m).ln()
    }

    fn shield_ohm_m(self, freq_hz: f64) -> Complex64 {
        let conductivity = self.shield_conductivity_s_per_m;
        match self.shield_thickness_m {
            Some(thickness_m) => {
                skin::tube_ohm_m(freq_hz, self.outer_diameter_m, thickness_m, conductivity)
            }
            None => skin::round_bore_ohm_m(freq_hz, self.outer_diameter_m, conductivity),
        }
    }
}

/// Characteristic impedance of a concentric line at high frequency, ohm.
///
/// ```
/// // The 7 mm precision air line: 3.04 mm in 7.00 mm (IEEE Std 287).
/// let z0 = lineproof_core::line::geometry::z0_ohm(3.04e-3, 7.00e-3, 1.0);
/// assert!((z0 - 50.0).abs() < 0.02);
/// ```
pub fn z0_ohm(inner_diameter_m: f64, outer_diameter_m: f64, eps_r: f64) -> f64 {
    ETA_0_OVER_2PI_OHM / eps_r.sqrt() * (outer_diameter_m / inner_diameter_m).ln()
}

/// Characteristic impedance with the centre conductor off centre by `offset_m`, ohm; `None` if the
/// conductors touch.
pub fn eccentric_z0_ohm(
    inner_diameter_m: f64,
    outer_diameter_m: f64,
    offset_m: f64,
    eps_r: f64,
) -> Option<f64> {
    let (d, outer) = (inner_diameter_m, outer_diameter_m);
    if 2.0 * offset_m.abs() + d >= outer {
        return None;
    }
    let ratio = (outer * outer + d * d - 4.0 * offset_m * offset_m) / (2.0 * outer * d);
    Some(ETA_0_OVER_2PI_OHM / eps_r.sqrt() * ratio.acosh())
}

/// Ratio D/d that gives `z0_ohm`.
pub fn diameter_ratio(z0_ohm: f64, eps_r: f64) -> f64 {
    (z0_ohm * eps_r.sqrt() / ETA_0_OVER_2PI_OHM).exp()
}

/// Capacitance of a line from its impedance and velocity factor, F/m.
pub fn capacitance_f_m(z0_ohm: f64, velocity_factor: f64) -> f64 {
    1.0 / (SPEED_OF_LIGHT_M_S * velocity_factor * z0_ohm)
}

/// Inductance of a line from its impedance and velocity factor, H/m.
pub fn inductance_h_m(z0_ohm: f64, velocity_factor: f64) -> f64 {
    z0_ohm / (SPEED_OF_LIGHT_M_S * velocity_factor)
}

/// Diameter of the round wire that acts as a strand, divided by the diameter over its strands: 1
/// for a single wire, `None` for a number of wires that is not listed.
///
/// From memory of trade tables, not confirmed; others differ by 0.01.
pub fn strand_factor(wires: u32) -> Option<f64> {
    match wires {
        1 => Some(1.0),
        7 => Some(0.939),
        19 => Some(0.970),
        37 => Some(0.980),
        _ => None,
    }
}

/// Cut-off of the TE11 mode, Hz: fc = c·k/(2π√εr) with k the first root of
/// J1'(ka)·Y1'(kb) − J1'(kb)·Y1'(ka).
///
/// For walls thinner than 10⁻⁴ of the radius the root drowns in rounding and is replaced by its
/// limit, [`te11_cutoff_approx_hz`], which is then right to 10⁻⁹. Use a line to 0.95 of this at
/// most (common practice).
pub fn te11_cutoff_hz(inner_diameter_m: f64, outer_diameter_m: f64, eps_r: f64) -> f64 {
    let approximate = te11_cutoff_approx_hz(inner_diameter_m, outer_diameter_m, eps_r);
    let ratio = outer_diameter_m / inner_diameter_m;
    if ratio < 1.0001 {
        return approximate;
    }
    approximate * te11_root(ratio) * 0.5 * (1.0 + ratio)
}

/// Cut-off of the TE11 mode by k = 2/(a + b), Hz: 2 to 3 % low for usual cables, up to 9 % high
/// for a very thin centre conductor.
pub fn te11_cutoff_approx_hz(inner_diameter_m: f64, outer_diameter_m: f64, eps_r: f64) -> f64 {
    let mean_circumference_m = PI * (inner_diameter_m + outer_diameter_m) / 2.0;
    SPEED_OF_LIGHT_M_S / (mean_circumference_m * eps_r.sqrt())
}

/// First root x = ka of the TE11 equation for b/a = `ratio`.
fn te11_root(ratio: f64) -> f64 {
    let mean_field = |x: f64| {
        bessel_j1_slope(x) * bessel_y1_slope(x * ratio)
            - bessel_j1_slope(x * ratio) * bessel_y1_slope(x)
    };
    // Between k(a + b)/2 = 0.92, the empty pipe, and 1.03, its largest, near b/a = 3.
    let centre = 2.0 / (1.0 + ratio);
    bisect(mean_field, 0.9 * centre, 1.1 * centre)
}

fn bessel_j1_slope(x: f64) -> f64 {
    libm::j0(x) - libm::j1(x) / x
}

fn bessel_y1_slope(x: f64) -> f64 {
    libm::y0(x) - libm::y1(x) / x
}

/// Root of `f` between two points where its sign differs, to the last digit.
fn bisect(f: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let (mut low, mut high) = (low, high);
    let rising = f(high) > 0.0;
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if (f(middle) > 0.0) == rising {
            high = middle;
        } else {
            low = middle;
        }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eccentric_line_on_centre_is_the_concentric_one() {
        let centred = eccentric_z0_ohm(3.0, 10.0, 0.0, 2.25).unwrap();
        assert!((centred / z0_ohm(3.0, 10.0, 2.25) - 1.0).abs() < 1e-13);
        assert_eq!(eccentric_z0_ohm(3.0, 10.0, 3.5, 2.25), None);
    }

    #[test]
    fn cutoff_tends_to_the_mean_circumference_and_to_the_empty_pipe() {
        for ratio in [1.0002, 1.001, 1.01] {
            let exact = te11_cutoff_hz(1e-3, ratio * 1e-3, 1.0);
            let approximate = te11_cutoff_approx_hz(1e-3, ratio * 1e-3, 1.0);
            let wall = ratio - 1.0;
            assert!((exact / approximate - 1.0).abs() < wall * wall, "{ratio}");
        }
        // First root of J1' (Abramowitz and Stegun, table 9.5).
        let pipe = te11_cutoff_hz(1e-9, 2e-3, 1.0);
        let expected = SPEED_OF_LIGHT_M_S * 1.84118 / (TAU * 1e-3);
        assert!((pipe / expected - 1.0).abs() < 1e-5);
    }

    #[test]
    fn a_wall_of_few_skin_depths_loses_more_than_a_thick_one() {
        let thick = CoaxGeometry::copper(0.9e-3, 3e-3, 2.25, 0.0002);
        let foil = CoaxGeometry {
            shield_thickness_m: Some(20e-6),
            ..thick
        };
        assert!(foil.primary(1e5).r_ohm_m > thick.primary(1e5).r_ohm_m);
        // The foil is taken as plane, which is off by the skin depth over the diameter.
        let curvature = skin::skin_depth_m(1e9, COPPER_S_PER_M) / 3e-3;
        let ratio = foil.primary(1e9).r_ohm_m / thick.primary(1e9).r_ohm_m;
        assert!((ratio - 1.0).abs() < curvature);
    }

    #[test]
    fn direct_current_has_finite_line_constants() {
        let dc = CoaxGeometry::copper(0.9e-3, 3e-3, 2.25, 0.0002).primary(0.0);
        assert!(dc.l_h_m.is_finite() && dc.r_ohm_m > 0.0 && dc.g_s_m == 0.0);
    }
}
