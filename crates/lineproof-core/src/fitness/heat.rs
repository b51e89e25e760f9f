//! Heat that a cable gives off: what its jacket carries away into still air.
//!
//! A horizontal round body in still air loses heat by natural convection,
//! Nu = {0.60 + 0.387·Ra^(1/6)/[1 + (0.559/Pr)^(9/16)]^(8/27)}² (S. W. Churchill and H. H. S. Chu, Int. J. Heat
//! Mass Transfer 18, 1975, 1049, good to some 20 %), and by radiation, εσ(T⁴ − T₀⁴) with ε 0.9 (black
//! plastic). Air: conductivity 0.0263 W/(m·K), kinematic viscosity 15.9·10⁻⁶ m²/s, Pr 0.707 at 300 K, scaled
//! with temperature to the powers 0.85 and 1.75 (F. P. Incropera and D. P. DeWitt, Fundamentals of Heat and Mass
//! Transfer, tables A.4 and section 9.6; from memory). From the inner conductor to the shield heat crosses the
//! dielectric; what the dielectric and the shield turn into heat themselves does not.
//!
//! Sun, a bundle or a conduit carry off less, wind more. Ratings that makers print lie at 0.5 to 1.7 times
//! this balance at 80 °C (polyethylene; some rate at 100 °C) and 40 °C around the cable, one or two far above:
//! [`crate::fitness::Ratings::average_w`] is held against it.

use std::f64::consts::{PI, TAU};

use crate::line::loss_law::neper_of_db;

/// What heat meets on its way out of a cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatPath {
    /// Outside diameter, m.
    pub jacket_diameter_m: f64,
    /// Temperature between inner conductor and shield for a watt in each metre, K·m/W: see
    /// [`core_resistance_k_m_w`]; zero if the sizes are not known.
    pub core_k_m_w: f64,
}

/// Emissivity of a black plastic jacket.
const EMISSIVITY: f64 = 0.9;
/// Stefan-Boltzmann constant, W/(m²·K⁴) (CODATA 2018).
const STEFAN_BOLTZMANN: f64 = 5.670_374e-8;
const ZERO_C_K: f64 = 273.15;
const GRAVITY_M_S2: f64 = 9.81;
const PRANDTL_OF_AIR: f64 = 0.707;
/// Halvings that find a temperature to better than a thousandth of a kelvin.
const HALVINGS: usize = 30;

impl HeatPath {
    /// Heat of each metre that takes the inner conductor from `ambient_c` to `conductor_c`, W/m; zero if
    /// it is no warmer.
    pub fn heat_w_m(&self, conductor_c: f64, ambient_c: f64) -> f64 {
        let (mut low_c, mut high_c) = (ambient_c, conductor_c.max(ambient_c));
        for _ in 0..HALVINGS {
            let jacket_c = 0.5 * (low_c + high_c);
            let given_off = jacket_heat_w_m(self.jacket_diameter_m, jacket_c, ambient_c);
            if jacket_c + given_off * self.core_k_m_w > conductor_c {
                high_c = jacket_c;
            } else {
                low_c = jacket_c;
            }
        }
        jacket_heat_w_m(self.jacket_diameter_m, low_c, ambient_c)
    }

    /// Power into a matched line, W, that takes the inner conductor to `conductor_c`, for a loss of
    /// `loss_db_per_m` at that temperature; `None` for a line without loss.
    pub fn power_w(&self, conductor_c: f64, ambient_c: f64, loss_db_per_m: f64) -> Option<f64> {
        let part_per_m = 2.0 * neper_of_db(loss_db_per_m);
        (part_per_m > 0.0).then(|| self.heat_w_m(conductor_c, ambient_c) / part_per_m)
    }
}

/// Temperature of the jacket that carries off `heat_w_m`, °C.
///
/// ```
/// use lineproof_core::fitness::jacket_c;
/// // RG-174, 2.79 mm thick, turns 14 W of 100 W into heat in its first metre at 435 MHz; polyethylene bears 80 °C.
/// assert!((jacket_c(2.79e-3, 14.0, 40.0) - 103.9).abs() < 1.0); // the same formulas in Python: 103.88
/// ```
pub fn jacket_c(jacket_diameter_m: f64, heat_w_m: f64, ambient_c: f64) -> f64 {
    let (mut low_c, mut high_c) = (ambient_c, ambient_c + 1.0);
    while jacket_heat_w_m(jacket_diameter_m, high_c, ambient_c) < heat_w_m && high_c < 1e4 {
        high_c = ambient_c + 2.0 * (high_c - ambient_c);
    }
    for _ in 0..HALVINGS {
        let middle_c = 0.5 * (low_c + high_c);
        if jacket_heat_w_m(jacket_diameter_m, middle_c, ambient_c) < heat_w_m {
            low_c = middle_c;
        } else {
            high_c = middle_c;
        }
    }
    0.5 * (low_c + high_c)
}

/// Temperature between inner conductor and shield for a watt in each metre, K·m/W: the inner
/// conductor's part of the conductors' heat, D/(D + d) by their surfaces, through ln(D/d)/(2πk).
pub fn core_resistance_k_m_w(inner_m: f64, dielectric_m: f64, conductivity_w_m_k: f64) -> f64 {
    let part = dielectric_m / (dielectric_m + inner_m);
    part * (dielectric_m / inner_m).ln() / (TAU * conductivity_w_m_k)
}

/// Heat that a metre of jacket gives off at `jacket_c`, W/m.
fn jacket_heat_w_m(diameter_m: f64, jacket_c: f64, ambient_c: f64) -> f64 {
    let (jacket_k, ambient_k) = (jacket_c + ZERO_C_K, ambient_c + ZERO_C_K);
    let rise_k = jacket_k - ambient_k;
    if rise_k <= 0.0 {
        return 0.0;
    }
    let film = 0.5 * (jacket_k + ambient_k) / 300.0;
    let (conductivity, viscosity) = (0.0263 * film.powf(0.85), 15.9e-6 * film.powf(1.75));
    let rayleigh = GRAVITY_M_S2 / (300.0 * film) * rise_k * diameter_m.powi(3) * PRANDTL_OF_AIR
        / viscosity.powi(2);
    let nusselt = (0.60
        + 0.387 * rayleigh.powf(1.0 / 6.0)
            / (1.0 + (0.559 / PRANDTL_OF_AIR).powf(9.0 / 16.0)).powf(8.0 / 27.0))
    .powi(2);
    let convection = nusselt * conductivity / diameter_m * rise_k;
    let radiation = EMISSIVITY * STEFAN_BOLTZMANN * (jacket_k.powi(4) - ambient_k.powi(4));
    PI * diameter_m * (convection + radiation)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Incropera and DeWitt, example 9.4 (from memory): a steam pipe of 0.1 m, 165 °C in air of 23 °C, gives off
    /// h 7.8 W/(m²·K) by convection and with emissivity 0.85 in all 763 W/m. With 0.9 radiation is 441·0.9/0.85.
    #[test]
    fn a_steam_pipe_gives_off_what_the_textbook_says() {
        let wanted = 763.0 + 441.0 * (0.9 / 0.85 - 1.0);
        let got = jacket_heat_w_m(0.1, 165.0, 23.0);
        assert!((got / wanted - 1.0).abs() < 0.03, "{got}, wanted {wanted}");
        let back = jacket_c(0.1, got, 23.0);
        assert!((back - 165.0).abs() < 0.01, "{back}");
    }

    #[test]
    fn the_conductor_is_warmer_than_the_jacket_by_what_its_heat_meets() {
        let bare = HeatPath {
            jacket_diameter_m: 10.3e-3,
            core_k_m_w: 0.0,
        };
        let path = HeatPath {
            core_k_m_w: core_resistance_k_m_w(2.26e-3, 7.25e-3, 0.33),
            ..bare
        };
        let heat = path.heat_w_m(80.0, 40.0);
        let jacket = jacket_c(10.3e-3, heat, 40.0);
        assert!((jacket + heat * path.core_k_m_w - 80.0).abs() < 0.05);
        assert!(heat < bare.heat_w_m(80.0, 40.0));
        assert_eq!(path.heat_w_m(30.0, 40.0), 0.0);
        assert_eq!(path.power_w(80.0, 40.0, 0.0), None);
    }
}
