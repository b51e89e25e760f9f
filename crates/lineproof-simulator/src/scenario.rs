//! One cable on one bench, and the sweeps that come of it.

use lineproof_core::bench::FarEnd;
use lineproof_core::sweep::{Reverse, Sweep, SweepError, ThroughSweep};
use num_complex::Complex64;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::REFERENCE_OHM;
use crate::assembly::Assembly;
use crate::body::Body;
use crate::cable::Cable;
use crate::connector::Connector;
use crate::echoes;
use crate::instrument::{Analyser, Instrument};
use crate::kit::Kit;
use crate::truth::Truth;

/// What is left of the second port's match and of transmission tracking after calibration, rms.
const PORT_2_MATCH: f64 = 0.0126;
const TRANSMISSION_TRACKING: f64 = 2e-3;

/// What is on the bench and how it is swept.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// The cable that the question is about; for a sound body the one that it is made of.
    pub cable: Cable,
    /// What lies between the plugs.
    pub body: Body,
    /// The plug at either end, if the ends are not soldered straight to the analyser's plane.
    pub connector: Option<Connector>,
    /// Adapter between the analyser's plane and the near plug, if any, as it really is.
    pub adapter: Option<Connector>,
    /// Grade of the analyser.
    pub instrument: Instrument,
    /// Kit to calibrate with and to end the cable with; drawn for the grade if absent.
    pub kit: Option<Kit>,
    /// Resistor at the far end of `load` sweeps, if it is not the kit's load, ohm.
    pub far_load_ohm: Option<f64>,
    /// Reflection sweeps to take.
    pub far_ends: Vec<FarEnd>,
    /// Whether to sweep through to a second port as well.
    pub through: bool,
    /// Frequencies, Hz, rising.
    pub freq_hz: Vec<f64>,
    /// Rms of the relative wander of impedance along a good cable.
    pub roughness: f64,
}

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

/// `points` frequencies, equally spaced from `start_hz` to `stop_hz`, both included.
pub fn linear_grid(start_hz: f64, stop_hz: f64, points: usize) -> Vec<f64> {
    let steps = points.saturating_sub(1).max(1) as f64;
    (0..points)
        .map(|i| start_hz + (stop_hz - start_hz) * i as f64 / steps)
        .collect()
}

impl Scenario {
    /// A good piece of `cable` with BNC plugs, open and loaded, on a pocket analyser from 1 to
    /// 300 MHz in 401 points.
    pub fn new(cable: Cable, length_m: f64) -> Self {
        Self {
            cable,
            body: Body::sound(cable, length_m),
            connector: Some(Connector::BNC),
            adapter: None,
            instrument: Instrument::POCKET,
            kit: None,
            far_load_ohm: None,
            far_ends: vec![FarEnd::Open, FarEnd::Load],
            through: false,
            freq_hz: linear_grid(1e6, 300e6, 401),
            roughness: 0.002,
        }
    }

    /// With another body, usually a faulty one.
    #[must_use]
    pub fn with_body(self, body: Body) -> Self {
        Self { body, ..self }
    }

    /// With these plugs, or without any.
    #[must_use]
    pub fn plugged_with(self, connector: Option<Connector>) -> Self {
        Self { connector, ..self }
    }

    /// With an adapter before the near plug.
    #[must_use]
    pub fn behind(self, adapter: Connector) -> Self {
        Self {
            adapter: Some(adapter),
            ..self
        }
    }

    /// On another analyser.
    #[must_use]
    pub fn measured_with(self, instrument: Instrument) -> Self {
        Self { instrument, ..self }
    }

    /// With these far ends, one sweep each.
    #[must_use]
    pub fn ended_by(self, far_ends: &[FarEnd]) -> Self {
        Self {
            far_ends: far_ends.to_vec(),
            ..self
        }
    }

    /// At these frequencies, Hz.
    #[must_use]
    pub fn on_grid(self, freq_hz: Vec<f64>) -> Self {
        Self { freq_hz, ..self }
    }

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
        let truth = self.truth(kit);
        let assembly = Assembly::draw(self, &mut stream(seed, &Stream::Cable));
        let mut rng = again(&Stream::Analyser);
        let analyser = Analyser::calibrated(&mut rng, self.instrument, &kit, &self.freq_hz);
        let mut sweeps = Vec::new();
        for &far_end in &self.far_ends {
            let seen = assembly.reflection(&self.freq_hz, &truth.far_kit(), far_end);
            let mut rng = again(&Stream::Connection(far_end));
            let reading = analyser.measure(&mut rng, &seen);
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
        self.kit
            .unwrap_or_else(|| Kit::draw(&mut stream(seed, &Stream::Kit), &self.instrument))
    }

    pub(crate) fn truth(&self, kit: Kit) -> Truth {
        Truth {
            cable: self.cable,
            body: self.body.clone(),
            connector: self.connector,
            kit,
            load_ohm: kit.load_ohm,
            far_load_ohm: self.far_load_ohm.unwrap_or(kit.load_ohm),
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

/// Which part of the bench a stream of random numbers is for.
pub(crate) enum Stream {
    Cable,
    Kit,
    Analyser,
    Through,
    Connection(FarEnd),
    Standard(FarEnd),
    Check(FarEnd),
    /// A part at the plane, up to three.
    Part(u8),
}

/// Streams between those of two visits.
const STREAMS: u64 = 16;

pub(crate) fn stream(seed: u64, part: &Stream) -> ChaCha8Rng {
    stream_of(seed, part, 0)
}

fn stream_of(seed: u64, part: &Stream, visit: u64) -> ChaCha8Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let number = match *part {
        Stream::Cable => 0,
        Stream::Kit => 1,
        Stream::Analyser => 2,
        Stream::Through => 3,
        Stream::Connection(FarEnd::Open) => 4,
        Stream::Connection(FarEnd::Short) => 5,
        Stream::Connection(FarEnd::Load) => 6,
        Stream::Standard(far_end) => 7 + far_end as u64,
        Stream::Check(far_end) => 10 + far_end as u64,
        Stream::Part(number) => 13 + u64::from(number % 3),
    };
    rng.set_stream(STREAMS * visit + number);
    rng
}
