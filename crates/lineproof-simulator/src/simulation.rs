//! The sweeps that come of a scenario.

use lineproof_core::bench::FarEnd;
use lineproof_core::sweep::{Reverse, Sweep, SweepError, ThroughSweep};
use num_complex::Complex64;
use rand_chacha::ChaCha8Rng;

use crate::REFERENCE_OHM;
use crate::assembly::Assembly;
use crate::departure::{Departures, FarParts};
use crate::echoes;
use crate::instrument::{Analyser, Instrument};
use crate::kit::Kit;
use crate::scenario::{Scenario, Stream, stream, stream_of};
use crate::truth::Truth;

/// What is left of the second port's match and of transmission tracking after calibration, rms.
const PORT_2_MATCH: f64 = 0.0126;
const TRANSMISSION_TRACKING: f64 = 2e-3;

/// Sweeps and the truth behind them.
#[derive(Clone, Debug)]
pub struct Simulation {
    /// Reflection sweeps in the order asked for; their reference is the nominal 50 ohm.
    pub sweeps: Vec<(FarEnd, Sweep)>,
    /// Sweep through to a second port, if asked for.
    pub through: Option<ThroughSweep>,
    /// What is really on the bench.
    pub truth: Truth,
}

impl Simulation {
    /// The sweep taken with this far end.
    pub fn sweep(&self, far_end: FarEnd) -> Option<&Sweep> {
        let found = self.sweeps.iter().find(|(f, _)| *f == far_end);
        found.map(|(_, sweep)| sweep)
    }
}

impl Scenario {
    /// Draws everything random from `seed` and measures.
    ///
    /// Parts are drawn from streams of their own: the cable stays the same when the far ends or
    /// the analyser change, and a sweep stays the same when others are added.
    ///
    /// # Errors
    /// [`SweepError`] if the frequencies do not rise or a value is not finite.
    pub fn simulate(&self, seed: u64) -> Result<Simulation, SweepError> {
        self.visited(seed, 0)
    }

    /// The same cable, plugs and kit another time: calibrated, connected and swept anew. Visit 0 is
    /// that of [`Scenario::simulate`].
    ///
    /// # Errors
    /// As [`Scenario::simulate`].
    pub fn visited(&self, seed: u64, visit: u64) -> Result<Simulation, SweepError> {
        let again = |part: &Stream| stream_of(seed, part, visit);
        let kit = self.kit_of(seed);
        let departures = Departures::of(&self.departures, seed);
        let real = departures.apply(self);
        let truth = real.truth(kit, departures.far_parts(&kit));
        let clock = departures.clock();
        let made_hz: Vec<f64> = self.freq_hz.iter().map(|f| clock * f).collect();
        let assembly = Assembly::draw(&real, &made_hz, &mut stream(seed, &Stream::Cable));
        let mut rng = again(&Stream::Analyser);
        let analyser = Analyser::calibrated(&mut rng, self.instrument, &kit, &self.freq_hz)
            .departing(departures);
        let mut sweeps = Vec::new();
        for &far_end in &self.far_ends {
            let seen = assembly.reflection(&made_hz, &truth.far_kit(), far_end);
            let mut rng = again(&Stream::Connection(far_end));
            let number = 16 * visit + far_end as u64;
            let reading = analyser.measure_sweep(&mut rng, number, &seen);
            let sweep = Sweep::new(self.freq_hz.clone(), reading, REFERENCE_OHM)?;
            sweeps.push((far_end, sweep));
        }
        let through = self
            .through
            .then(|| self.sweep_through(&mut again(&Stream::Through), &analyser, &assembly))
            .transpose()?;
        Ok(Simulation {
            sweeps,
            through,
            truth,
        })
    }

    pub(crate) fn kit_of(&self, seed: u64) -> Kit {
        self.kit.unwrap_or_else(|| {
            let mut rng = stream(seed, &Stream::Kit);
            let instrument = &self.instrument;
            Kit::draw(
                &mut rng,
                instrument.load_tolerance,
                instrument.kit_parasitics,
            )
        })
    }

    pub(crate) fn truth(&self, kit: Kit, far_parts: FarParts) -> Truth {
        Truth {
            cable: self.cable,
            body: self.body.clone(),
            connector: self.connector,
            kit,
            load_ohm: kit.load_ohm,
            far_load_ohm: far_parts
                .load_ohm
                .or(self.far_load_ohm)
                .unwrap_or(kit.load_ohm),
            far_parts,
            length_m: self.body.length_m(),
        }
    }

    /// Port 2 is matched only so well, and transmission tracks only so well.
    fn sweep_through(
        &self,
        rng: &mut ChaCha8Rng,
        analyser: &Analyser<'_>,
        assembly: &Assembly,
    ) -> Result<ThroughSweep, SweepError> {
        let freq_hz = &self.freq_hz;
        let port_2 = echoes::draw(rng, freq_hz, self.through_error(PORT_2_MATCH));
        let tracking = echoes::draw(rng, freq_hz, self.through_error(TRANSMISSION_TRACKING));
        let mut columns = [const { Vec::<Complex64>::new() }; 4];
        for (i, (match_2, track)) in port_2.iter().zip(&tracking).enumerate() {
            let s = mismatched(assembly.s_parameters(i), *match_2, 1.0 + track);
            for (column, value) in columns.iter_mut().zip(s) {
                column.push(value);
            }
        }
        let [s11, s21, s12, s22] = columns;
        let s11 = analyser.measure(rng, &s11);
        let [s21, s12, s22] = [s21, s12, s22].map(|s| analyser.noisy(rng, s));
        let reverse = Some(Reverse { s12, s22 });
        ThroughSweep::new(freq_hz.clone(), s11, s21, reverse, REFERENCE_OHM)
    }

    /// A perfect instrument has a perfect second port too.
    fn through_error(&self, usual: f64) -> f64 {
        if self.instrument == Instrument::PERFECT {
            0.0
        } else {
            usual
        }
    }
}

/// S₁₁, S₂₁, S₁₂, S₂₂ as measured into a second port that reflects `port_2`.
fn mismatched(
    [s11, s21, s12, s22]: [Complex64; 4],
    port_2: Complex64,
    tracking: Complex64,
) -> [Complex64; 4] {
    let again = 1.0 / (1.0 - s22 * port_2);
    [
        s11 + s12 * s21 * port_2 * again,
        s21 * again * tracking,
        s12 * again * tracking,
        s22 + port_2,
    ]
}
