//! What a calibration with real standards, taken as ideal, makes of a reflection.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::super::parameters::{AT, Standards};

/// The map that an open/short/load calibration makes of reality when its standards are not ideal:
/// the bilinear function that takes the real open to +1, the short to −1, the load to 0.
pub(crate) struct CalibrationMap {
    gain: Complex64,
    pole: Complex64,
    load: Complex64,
    open_weight: Complex64,
    short_weight: Complex64,
    /// Derivative of each standard's reflection by its unknown.
    by_unknown: Standards<Complex64>,
}

/// A mapped reflection with its derivatives.
#[derive(Clone, Debug, Default)]
pub(crate) struct Mapped {
    pub(crate) value: Complex64,
    pub(crate) by_reflection: Complex64,
    pub(crate) by_standard: Standards<Complex64>,
}

impl CalibrationMap {
    pub(crate) fn at(theta: &[f64], freq_hz: f64) -> Self {
        let standards = AT.standards.values(theta);
        let jw = Complex64::new(0.0, TAU * freq_hz);
        let y_open = jw * standards.open;
        let open = (1.0 - y_open) / (1.0 + y_open);
        let z_short = jw * standards.short;
        let short = (z_short - 1.0) / (z_short + 1.0);
        // inductance in series with the resistance, capacitance across both
        let z_load = 1.0 + jw * standards.load_l;
        let y_load = 1.0 / z_load + jw * standards.load_c;
        let load = (1.0 - y_load) / (1.0 + y_load);
        let by_y = -2.0 / ((1.0 + y_load) * (1.0 + y_load));
        let (inverse_open, inverse_short) = ((open - load).inv(), (short - load).inv());
        Self {
            gain: 0.5 * (inverse_open - inverse_short),
            pole: -0.5 * (inverse_open + inverse_short),
            load,
            open_weight: 0.5 * inverse_open * inverse_open,
            short_weight: 0.5 * inverse_short * inverse_short,
            by_unknown: Standards {
                open: -2.0 * jw / ((1.0 + y_open) * (1.0 + y_open)),
                short: 2.0 * jw / ((1.0 + z_short) * (1.0 + z_short)),
                load_l: -by_y / (z_load * z_load) * jw,
                load_c: by_y * jw,
            },
        }
    }

    pub(crate) fn map(&self, reflection: Complex64) -> Mapped {
        let x = reflection - self.load;
        let inverse = (1.0 + self.pole * x).inv();
        let by_gain = x * inverse;
        let by_pole = -self.gain * by_gain * by_gain;
        let by_x = self.gain * inverse * inverse;
        let by_open = (by_pole - by_gain) * self.open_weight;
        let by_short = (by_pole + by_gain) * self.short_weight;
        let by_load = -by_x - by_open - by_short;
        let d = self.by_unknown;
        Mapped {
            value: self.gain * by_gain,
            by_reflection: by_x,
            by_standard: Standards {
                open: by_open * d.open,
                short: by_short * d.short,
                load_l: by_load * d.load_l,
                load_c: by_load * d.load_c,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::parameters::PARAMETERS;
    use super::*;

    /// A calibration reads its own standards as ideal, whatever they are.
    #[test]
    fn standards_read_as_ideal() {
        let mut theta = vec![0.0; PARAMETERS];
        let at = AT.standards;
        for (unknown, value) in [
            (at.open, 3e-12),
            (at.short, 1e-12),
            (at.load_l, 2e-12),
            (at.load_c, 0.5e-12),
        ] {
            theta[unknown] = value;
        }
        let freq = 1e9;
        let jw = Complex64::new(0.0, TAU * freq);
        let map = CalibrationMap::at(&theta, freq);
        let open = jw * 3e-12;
        let short = jw * 1e-12;
        let load = 1.0 / (1.0 + jw * 2e-12) + jw * 0.5e-12;
        for (real, ideal) in [
            ((1.0 - open) / (1.0 + open), 1.0),
            ((short - 1.0) / (short + 1.0), -1.0),
            ((1.0 - load) / (1.0 + load), 0.0),
        ] {
            let got = map.map(real).value;
            assert!((got - ideal).norm() < 1e-12, "got {got}, wanted {ideal}");
        }
    }
}
