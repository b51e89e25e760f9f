//! The bench before correction, and standards measured again after the calibration.

use lineproof_core::bench::FarEnd;
use lineproof_core::sweep::{Sweep, SweepError};
use num_complex::Complex64;

use crate::REFERENCE_OHM;
use crate::assembly::Assembly;
use crate::departure::FarParts;
use crate::instrument::Analyser;
use crate::kit::Kit;
use crate::scenario::{Scenario, Stream, stream};
use crate::simulation::Simulation;
use crate::truth::Truth;

/// Raw readings and the truth behind them.
#[derive(Clone, Debug)]
pub struct RawSimulation {
    /// Raw readings of the kit's open, short and load.
    pub standards: Vec<(FarEnd, Sweep)>,
    /// Raw readings of the cable, in the order asked for.
    pub sweeps: Vec<(FarEnd, Sweep)>,
    /// What the cable truly reflects, against 50 ohm, in the same order.
    pub reflections: Vec<Vec<Complex64>>,
    /// What is really on the bench.
    pub truth: Truth,
}

/// A standard at the plane after calibration, as the analyser reports it.
pub type Check = (FarEnd, Sweep);

impl Scenario {
    /// The bench of [`Scenario::simulate`] without the analyser's correction. Standards are
    /// connected once each, as well as a connection repeats.
    ///
    /// # Errors
    /// [`SweepError`] as [`Scenario::simulate`].
    pub fn simulate_raw(&self, seed: u64) -> Result<RawSimulation, SweepError> {
        let kit = self.kit_of(seed);
        let truth = self.truth(kit, FarParts::default());
        let assembly = Assembly::draw(self, &self.freq_hz, &mut stream(seed, &Stream::Cable));
        let analyser = self.analyser(seed, &kit);
        let sweep = |reading| Sweep::new(self.freq_hz.clone(), reading, REFERENCE_OHM);
        let mut standards = Vec::new();
        for far_end in [FarEnd::Open, FarEnd::Short, FarEnd::Load] {
            let mut rng = stream(seed, &Stream::Standard(far_end));
            let raw = analyser.measure_raw_at_calibration(&mut rng, &self.at_plane(&kit, far_end));
            standards.push((far_end, sweep(raw)?));
        }
        let (mut sweeps, mut reflections) = (Vec::new(), Vec::new());
        for &far_end in &self.far_ends {
            let seen = assembly.reflection(&self.freq_hz, &truth.far_kit(), far_end);
            let mut rng = stream(seed, &Stream::Connection(far_end));
            sweeps.push((far_end, sweep(analyser.measure_raw(&mut rng, &seen))?));
            reflections.push(seen);
        }
        Ok(RawSimulation {
            standards,
            sweeps,
            reflections,
            truth,
        })
    }

    /// The kit's standards screwed on again after the calibration of [`Scenario::simulate`], as the
    /// analyser reports them.
    ///
    /// # Errors
    /// [`SweepError`] as [`Scenario::simulate`].
    pub fn simulate_checks(
        &self,
        seed: u64,
        standards: &[FarEnd],
    ) -> Result<Vec<Check>, SweepError> {
        let kit = self.kit_of(seed);
        let analyser = self.analyser(seed, &kit);
        standards
            .iter()
            .map(|&standard| {
                let mut rng = stream(seed, &Stream::Check(standard));
                let reading = analyser.measure(&mut rng, &self.at_plane(&kit, standard));
                Ok((
                    standard,
                    Sweep::new(self.freq_hz.clone(), reading, REFERENCE_OHM)?,
                ))
            })
            .collect()
    }

    /// The sweeps of [`Scenario::simulate`] through a two-port between the plane and the near plug, given as
    /// S11, S21, S12, S22 against 50 ohm with port 1 towards the analyser. There is no through sweep.
    ///
    /// # Errors
    /// [`SweepError`] as [`Scenario::simulate`].
    pub fn simulate_behind(
        &self,
        seed: u64,
        two_port: impl Fn(f64) -> [Complex64; 4],
    ) -> Result<Simulation, SweepError> {
        let kit = self.kit_of(seed);
        let truth = self.truth(kit, FarParts::default());
        let assembly = Assembly::draw(self, &self.freq_hz, &mut stream(seed, &Stream::Cable));
        let analyser = self.analyser(seed, &kit);
        let mut sweeps = Vec::new();
        for &far_end in &self.far_ends {
            let cable = assembly.reflection(&self.freq_hz, &truth.far_kit(), far_end);
            let seen = |(&f, g): (&f64, &Complex64)| {
                let [s11, s21, s12, s22] = two_port(f);
                s11 + s12 * s21 * g / (1.0 - s22 * g)
            };
            let seen: Vec<Complex64> = self.freq_hz.iter().zip(&cable).map(seen).collect();
            let mut rng = stream(seed, &Stream::Connection(far_end));
            let reading = analyser.measure(&mut rng, &seen);
            sweeps.push((
                far_end,
                Sweep::new(self.freq_hz.clone(), reading, REFERENCE_OHM)?,
            ));
        }
        Ok(Simulation {
            sweeps,
            through: None,
            truth,
        })
    }

    /// A part with this impedance (ohm) at each frequency, at the plane after the calibration of
    /// [`Scenario::simulate`], as the analyser reports it. Parts with different numbers are connections
    /// of their own.
    ///
    /// # Errors
    /// [`SweepError`] as [`Scenario::simulate`].
    pub fn simulate_part(
        &self,
        seed: u64,
        number: u8,
        impedance_ohm: impl Fn(f64) -> Complex64,
    ) -> Result<Sweep, SweepError> {
        let kit = self.kit_of(seed);
        let analyser = self.analyser(seed, &kit);
        let mut rng = stream(seed, &Stream::Part(number));
        let reflections: Vec<Complex64> = self
            .freq_hz
            .iter()
            .map(|&f| {
                let z = impedance_ohm(f);
                (z - REFERENCE_OHM) / (z + REFERENCE_OHM)
            })
            .collect();
        let reading = analyser.measure(&mut rng, &reflections);
        Sweep::new(self.freq_hz.clone(), reading, REFERENCE_OHM)
    }

    fn analyser(&self, seed: u64, kit: &Kit) -> Analyser<'_> {
        let mut rng = stream(seed, &Stream::Analyser);
        Analyser::calibrated(&mut rng, self.instrument, kit, &self.freq_hz)
    }

    fn at_plane(&self, kit: &Kit, standard: FarEnd) -> Vec<Complex64> {
        let at = |&f: &f64| kit.terminal(standard, f).reflection();
        self.freq_hz.iter().map(at).collect()
    }
}
