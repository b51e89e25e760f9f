//! What a calibration with real standards, taken as ideal, makes of a reflection.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::at;

/// The map that an open/short/load calibration makes of reality when its standards are not ideal:
/// the bilinear function that takes the real open to +1, the short to −1, the load to 0.
pub(super) struct Standards {
    gain: Complex64,
    pole: Complex64,
    load: Complex64,
    open_weight: Complex64,
    short_weight: Complex64,
    /// Derivative of each standard's reflection by its unknown(s): open, short, load L, load C.
    by_unknown: [Complex64; 4],
}

/// A mapped reflection with its derivatives.
#[derive(Clone, Debug, Default)]
pub(super) struct Mapped {
    pub(super) value: Complex64,
    pub(super) by_reflection: Complex64,
    pub(super) by_standard: [Complex64; 4],
}

impl Standards {
    pub(super) fn at(theta: &[f64], freq_hz: f64) -> Self {
        let jw = Complex64::new(0.0, TAU * freq_hz);
        let y_open = jw * theta[at::STANDARD_OPEN];
        let open = (1.0 - y_open) / (1.0 + y_open);
        let z_short = jw * theta[at::STANDARD_SHORT];
        let short = (z_short - 1.0) / (z_short + 1.0);
        let z_load = 1.0 + jw * theta[at::STANDARD_LOAD_L];
        let y_load = 1.0 / z_load + jw * theta[at::STANDARD_LOAD_C];
        let load = (1.0 - y_load) / (1.0 + y_load);
        let by_y = -2.0 / ((1.0 + y_load) * (1.0 + y_load));
        let (inverse_open, inverse_short) = ((open - load).inv(), (short - load).inv());
        Self {
            gain: 0.5 * (inverse_open - inverse_short),
            pole: -0.5 * (inverse_open + inverse_short),
            load,
            open_weight: 0.5 * inverse_open * inverse_open,
            short_weight: 0.5 * inverse_short * inverse_short,
            by_unknown: [
                -2.0 * jw / ((1.0 + y_open) * (1.0 + y_open)),
                2.0 * jw / ((1.0 + z_short) * (1.0 + z_short)),
                -by_y / (z_load * z_load) * jw,
                by_y * jw,
            ],
        }
    }

    pub(super) fn map(&self, reflection: Complex64) -> Mapped {
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
            by_standard: [
                by_open * d[0],
                by_short * d[1],
                by_load * d[2],
                by_load * d[3],
            ],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A calibration reads its own standards as ideal, whatever they are.
    #[test]
    fn standards_read_as_ideal() {
        let mut theta = vec![0.0; at::SINGLES];
        theta[at::STANDARD_OPEN] = 3e-12;
        theta[at::STANDARD_SHORT] = 1e-12;
        theta[at::STANDARD_LOAD_L] = 2e-12;
        theta[at::STANDARD_LOAD_C] = 0.5e-12;
        let freq = 1e9;
        let jw = Complex64::new(0.0, TAU * freq);
        let standards = Standards::at(&theta, freq);
        let open = jw * 3e-12;
        let short = jw * 1e-12;
        let load = 1.0 / (1.0 + jw * 2e-12) + jw * 0.5e-12;
        for (real, ideal) in [
            ((1.0 - open) / (1.0 + open), 1.0),
            ((short - 1.0) / (short + 1.0), -1.0),
            ((1.0 - load) / (1.0 + load), 0.0),
        ] {
            let got = standards.map(real).value;
            assert!((got - ideal).norm() < 1e-12, "got {got}, wanted {ideal}");
        }
    }
}
