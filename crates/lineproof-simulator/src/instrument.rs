//! A small reflectometer: raw errors, a calibration that takes its standards as ideal, drift,
//! connections that repeat only so well, and noise.
//!
//! The error model is the three-term one: reading = e₀₀ + eₜΓ/(1 − e₁₁Γ), with directivity e₀₀,
//! source match e₁₁ and tracking eₜ (for example D. Rytting, *Network Analyzer Error Models and
//! Calibration Methods*, from memory).

use lineproof_core::bench::FarEnd;
use num_complex::Complex64;
use rand_chacha::ChaCha8Rng;

use crate::departure::{Departures, Disturbed, behind_s, interpolated};
use crate::echoes;
use crate::kit::Kit;

/// Raw directivity, source match and tracking of a simple bridge, rms: −22 dB, −18 dB, 10 %.
/// They matter little, since calibration takes them out; common practice.
const RAW: RawSizes = RawSizes {
    directivity: 0.08,
    source_match: 0.13,
    tracking: 0.1,
};

/// Everything that sets a grade of instrument; sizes are rms of complex values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Instrument {
    /// Noise that does not depend on the reading.
    pub noise_floor: f64,
    /// Noise in proportion to the reading.
    pub noise_relative: f64,
    /// Drift of directivity since calibration; source match and tracking drift half as much again.
    pub drift: f64,
    /// Size of what a further connection changes, relative to the reading, and 0.6 of it absolute.
    pub connection: f64,
    /// Standard deviation of the load's resistance, relative.
    pub load_tolerance: f64,
    /// Parasitics of the kit: 1 as usual, 0 for ideal standards.
    pub kit_parasitics: f64,
}

impl Instrument {
    /// No error at all, ideal standards.
    pub const PERFECT: Self = Self {
        noise_floor: 0.0,
        noise_relative: 0.0,
        drift: 0.0,
        connection: 0.0,
        load_tolerance: 0.0,
        kit_parasitics: 0.0,
    };

    /// A pocket analyser with the kit that came with it.
    pub const POCKET: Self = Self {
        noise_floor: 2.5e-4,
        noise_relative: 4e-4,
        drift: 6e-4,
        connection: 3e-4,
        load_tolerance: 0.006,
        kit_parasitics: 1.0,
    };

    /// A laboratory analyser.
    pub const GOOD: Self = Self {
        noise_floor: 3e-5,
        noise_relative: 1e-4,
        drift: 1.5e-4,
        connection: 7.5e-5,
        load_tolerance: 0.002,
        kit_parasitics: 1.0,
    };

    /// A noisy one that was calibrated this morning, with a doubtful load.
    pub const POOR: Self = Self {
        noise_floor: 1.3e-3,
        noise_relative: 1.5e-3,
        drift: 2.5e-3,
        connection: 1.25e-3,
        load_tolerance: 0.015,
        kit_parasitics: 1.0,
    };
}

struct RawSizes {
    directivity: f64,
    source_match: f64,
    tracking: f64,
}

/// Three error terms against frequency.
#[derive(Clone, Debug)]
struct ErrorTerms {
    directivity: Vec<Complex64>,
    source_match: Vec<Complex64>,
    tracking: Vec<Complex64>,
}

/// An instrument after calibration, ready to measure.
pub(crate) struct Analyser<'a> {
    instrument: Instrument,
    freq_hz: &'a [f64],
    at_calibration: ErrorTerms,
    actual: ErrorTerms,
    believed: ErrorTerms,
    departures: Option<Departures>,
}

impl<'a> Analyser<'a> {
    /// Draws an instrument, calibrates it with `kit` as if that were ideal, and lets it drift.
    pub(crate) fn calibrated(
        rng: &mut ChaCha8Rng,
        instrument: Instrument,
        kit: &Kit,
        freq_hz: &'a [f64],
    ) -> Self {
        let actual = ErrorTerms::draw(rng, freq_hz);
        let mut read = |far_end| {
            let standard: Vec<_> = freq_hz
                .iter()
                .map(|&f| kit.terminal(far_end, f).reflection())
                .collect();
            with_noise(rng, &instrument, actual.raw(&standard))
        };
        let (open, short, load) = (read(FarEnd::Open), read(FarEnd::Short), read(FarEnd::Load));
        let believed = ErrorTerms::solve(&open, &short, load);
        let at_calibration = actual.clone();
        let actual = actual.drifted(rng, freq_hz, instrument.drift);
        Self {
            instrument,
            freq_hz,
            at_calibration,
            actual,
            believed,
            departures: None,
        }
    }

    /// The same where it departs from the usual.
    pub(crate) fn departing(mut self, departures: Departures) -> Self {
        if let Some(behind_s) = behind_s(&departures) {
            self.believed.interpolate(self.freq_hz, behind_s);
        }
        self.departures = Some(departures);
        self
    }

    /// One connection and the sweep of that number, with all that departs in it.
    pub(crate) fn measure_sweep(
        &self,
        rng: &mut ChaCha8Rng,
        number: u64,
        reflection: &[Complex64],
    ) -> Vec<Complex64> {
        let Some(departures) = &self.departures else {
            return self.measure(rng, reflection);
        };
        let disturbed = Disturbed {
            departures,
            sweep: number,
            freq_hz: self.freq_hz,
        };
        let quiet = self.read_quiet(rng, &self.actual, reflection);
        let mut raw: Vec<_> = quiet
            .iter()
            .zip(disturbed.gain())
            .map(|(r, g)| r * g)
            .collect();
        let still = raw.clone();
        raw = with_noise(rng, &self.instrument, raw);
        for ((r, s), more) in raw.iter_mut().zip(&still).zip(disturbed.noise()) {
            *r = s + (*r - s) * more;
        }
        let mut reading = self.believed.correct(&raw);
        disturbed.lead(&mut reading);
        disturbed.saved(&mut reading);
        reading
    }

    /// One connection and one sweep of it: what the analyser reports for the true `reflection`.
    pub(crate) fn measure(&self, rng: &mut ChaCha8Rng, reflection: &[Complex64]) -> Vec<Complex64> {
        let raw = self.read(rng, &self.actual, reflection);
        self.believed.correct(&raw)
    }

    /// The same without its correction.
    pub(crate) fn measure_raw(
        &self,
        rng: &mut ChaCha8Rng,
        reflection: &[Complex64],
    ) -> Vec<Complex64> {
        self.read(rng, &self.actual, reflection)
    }

    /// The same while the standards were measured, before any drift.
    pub(crate) fn measure_raw_at_calibration(
        &self,
        rng: &mut ChaCha8Rng,
        reflection: &[Complex64],
    ) -> Vec<Complex64> {
        self.read(rng, &self.at_calibration, reflection)
    }

    fn read(
        &self,
        rng: &mut ChaCha8Rng,
        port: &ErrorTerms,
        reflection: &[Complex64],
    ) -> Vec<Complex64> {
        let reading = self.read_quiet(rng, port, reflection);
        with_noise(rng, &self.instrument, reading)
    }

    /// Without noise.
    fn read_quiet(
        &self,
        rng: &mut ChaCha8Rng,
        port: &ErrorTerms,
        reflection: &[Complex64],
    ) -> Vec<Complex64> {
        let size = self.instrument.connection;
        let scale = echoes::draw(rng, self.freq_hz, size);
        let offset = echoes::draw(rng, self.freq_hz, 0.6 * size);
        let connected: Vec<_> = (0..reflection.len())
            .map(|i| reflection[i] * (1.0 + scale[i]) + offset[i])
            .collect();
        port.raw(&connected)
    }

    /// Noise alone, for readings that the reflection calibration does not touch.
    pub(crate) fn noisy(&self, rng: &mut ChaCha8Rng, reading: Vec<Complex64>) -> Vec<Complex64> {
        with_noise(rng, &self.instrument, reading)
    }
}

impl ErrorTerms {
    fn draw(rng: &mut ChaCha8Rng, freq_hz: &[f64]) -> Self {
        let mut tracking = echoes::draw(rng, freq_hz, RAW.tracking);
        for t in &mut tracking {
            *t += 1.0;
        }
        Self {
            directivity: echoes::draw(rng, freq_hz, RAW.directivity),
            source_match: echoes::draw(rng, freq_hz, RAW.source_match),
            tracking,
        }
    }

    /// The terms that make the readings those of an ideal open (+1), short (−1) and load (0).
    fn solve(open: &[Complex64], short: &[Complex64], load: Vec<Complex64>) -> Self {
        let from_load = |m: &[Complex64]| -> Vec<Complex64> {
            m.iter().zip(&load).map(|(m, l)| m - l).collect()
        };
        let pairs: Vec<_> = from_load(open).into_iter().zip(from_load(short)).collect();
        Self {
            source_match: pairs.iter().map(|(o, s)| (o + s) / (o - s)).collect(),
            tracking: pairs.iter().map(|(o, s)| -2.0 * o * s / (o - s)).collect(),
            directivity: load,
        }
    }

    fn drifted(mut self, rng: &mut ChaCha8Rng, freq_hz: &[f64], drift: f64) -> Self {
        let mut change = |size| echoes::draw(rng, freq_hz, size);
        let (directivity, source_match) = (change(drift), change(1.5 * drift));
        let tracking = change(1.5 * drift);
        for i in 0..freq_hz.len() {
            self.directivity[i] += directivity[i];
            self.source_match[i] += source_match[i];
            self.tracking[i] *= 1.0 + tracking[i];
        }
        self
    }

    /// Straight lines between the points of the calibration's own grid.
    fn interpolate(&mut self, freq_hz: &[f64], behind_s: f64) {
        interpolated(freq_hz, &mut self.directivity, 0.0);
        interpolated(freq_hz, &mut self.source_match, behind_s);
        interpolated(freq_hz, &mut self.tracking, behind_s);
    }

    fn raw(&self, reflection: &[Complex64]) -> Vec<Complex64> {
        let reading = |(i, &g): (usize, &Complex64)| {
            self.directivity[i] + self.tracking[i] * g / (1.0 - self.source_match[i] * g)
        };
        reflection.iter().enumerate().map(reading).collect()
    }

    fn correct(&self, raw: &[Complex64]) -> Vec<Complex64> {
        let corrected = |(i, &m): (usize, &Complex64)| {
            let beyond = m - self.directivity[i];
            beyond / (self.tracking[i] + self.source_match[i] * beyond)
        };
        raw.iter().enumerate().map(corrected).collect()
    }
}

fn with_noise(
    rng: &mut ChaCha8Rng,
    instrument: &Instrument,
    mut reading: Vec<Complex64>,
) -> Vec<Complex64> {
    for r in &mut reading {
        let relative = instrument.noise_relative * echoes::normal(rng);
        *r = *r * (1.0 + relative) + instrument.noise_floor * echoes::normal(rng);
    }
    reading
}

#[cfg(test)]
mod tests {
    use rand_chacha::rand_core::SeedableRng;

    use super::*;

    const FREQ_HZ: [f64; 3] = [1e6, 100e6, 900e6];

    fn kit_load_reading(kit: &Kit) -> Vec<Complex64> {
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        let analyser = Analyser::calibrated(&mut rng, Instrument::PERFECT, kit, &FREQ_HZ);
        let load: Vec<_> = FREQ_HZ
            .iter()
            .map(|&f| kit.terminal(FarEnd::Load, f).reflection())
            .collect();
        analyser.measure(&mut rng, &load)
    }

    #[test]
    fn an_instrument_believes_its_load_whatever_it_is() {
        let kit = Kit {
            load_ohm: 52.0,
            load_inductance_h: 1e-9,
            ..Kit::IDEAL
        };
        for got in kit_load_reading(&kit) {
            assert!(got.norm() < 1e-14, "got {got}");
        }
    }

    #[test]
    fn a_load_two_per_cent_high_makes_the_unit_two_per_cent_larger() {
        let kit = Kit {
            load_ohm: 51.0,
            ..Kit::IDEAL
        };
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        let analyser = Analyser::calibrated(&mut rng, Instrument::PERFECT, &kit, &FREQ_HZ);
        // A true 102 ohm must read as 100 ohm: reflection 1/3.
        let truth = vec![Complex64::from((102.0 - 50.0) / (102.0 + 50.0)); 3];
        for got in analyser.measure(&mut rng, &truth) {
            assert!((got - 1.0 / 3.0).norm() < 1e-14, "got {got}");
        }
    }
}
