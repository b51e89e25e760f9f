//! Plugs and adapters: short lines at either end of the cable.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::parameters::Plug;
use crate::calibration::fixture::LOSS_AT_HZ;

/// Longest delay that a plug with its mate can have, s: 50 mm at a velocity factor of 0.66.
const LONGEST_PLUG_S: f64 = 250e-12;

/// Most that a plug's contacts can have, over the calibration load: 0.2 ohm on 50; more is a bad joint.
const MOST_CONTACT: f64 = 4e-3;

/// A quantity between nothing and `most` from its unknown, and the derivative.
fn logistic(unknown: f64, most: f64) -> (f64, f64) {
    let part = 1.0 / (1.0 + (-unknown).exp());
    (most * part, most * part * (1.0 - part))
}

/// Resistance of a plug's contacts from its unknown, over the calibration load, and the derivative: a logistic
/// function, so that no bad joint is taken for a plug.
fn contact_resistance(unknown: f64) -> (f64, f64) {
    logistic(unknown, MOST_CONTACT)
}

/// Below this a plug is the resistance of its contacts, Hz: at direct current it would have no impedance of its own.
const LEAST_HZ: f64 = 1.0;

/// Delay of a plug from its unknown, s, and the derivative: a logistic function, so that no plug
/// grows into a stretch of lossless cable. The prior's middle is 62 ps, its 95 % range 6 to 203: a cut end has none.
pub(crate) fn plug_delay_s(unknown: f64) -> (f64, f64) {
    logistic(unknown, LONGEST_PLUG_S)
}

/// An adapter's loss over its loss at 1 GHz: it grows as √f, as conductors lose.
pub(crate) fn adapter_loss_shape(freq_hz: f64) -> f64 {
    (freq_hz / LOSS_AT_HZ).sqrt()
}

/// A plug at one frequency: a short line whose conductors have the resistance of its contacts in series.
///
/// With R + jωL and jωC, the series impedance and the shunt admittance of the whole plug, ln z is half the logarithm
/// of their ratio and γl the root of their product (D. M. Pozar, Microwave Engineering, 4th ed., section 2.1).
#[derive(Clone, Copy, Debug)]
pub(crate) struct PlugPoint {
    /// ln of the characteristic impedance over the calibration load.
    pub(crate) ln_z: Complex64,
    pub(crate) gamma_l: Complex64,
    /// Derivatives of both by each unknown.
    pub(crate) by: Plug<(Complex64, Complex64)>,
}

impl PlugPoint {
    /// The plug at `freq_hz` of whose unknowns `at` gives the places in `theta`.
    pub(crate) fn at(theta: &[f64], at: Plug<usize>, freq_hz: f64) -> Self {
        let plug = at.values(theta);
        let (delay_s, by_unknown) = plug_delay_s(plug.delay);
        let phase = TAU * freq_hz.max(LEAST_HZ) * delay_s;
        let reactance = Complex64::new(0.0, phase * plug.ln_z.exp());
        let (resistance, by_contact) = contact_resistance(plug.contact);
        let series = reactance + resistance;
        // ln √(1 + R/jωL): what the resistance adds to both logarithms
        let more = 0.5 * (series / reactance).ln();
        let gamma_l = Complex64::new(0.0, phase) * more.exp();
        // parts of the series impedance that each unknown scales, halved by the root
        let (of_reactance, of_resistance) = (0.5 * reactance / series, 0.5 * resistance / series);
        let rate = by_unknown / delay_s;
        Self {
            ln_z: plug.ln_z + more,
            gamma_l,
            by: Plug {
                delay: (
                    -rate * of_resistance,
                    rate * (1.0 - of_resistance) * gamma_l,
                ),
                ln_z: (0.5 + of_reactance, -of_resistance * gamma_l),
                contact: (
                    of_resistance * (by_contact / resistance),
                    of_resistance * gamma_l * (by_contact / resistance),
                ),
            },
        }
    }
}
