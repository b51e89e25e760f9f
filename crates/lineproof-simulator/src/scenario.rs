//! One cable on one bench, and the sweeps that come of it.

use lineproof_core::bench::FarEnd;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use crate::body::Body;
use crate::cable::Cable;
use crate::connector::Connector;
use crate::departure::Departure;
use crate::instrument::Instrument;
use crate::kit::Kit;

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
    /// Adapter between the far plug and what ends the cable, if any.
    pub far_adapter: Option<Connector>,
    /// Contact resistance in series at the near and the far plug, ohm.
    pub contact_ohm: [f64; 2],
    /// Relative change of the impedance from the near to the far end.
    pub taper: f64,
    /// Ways in which the bench departs from the usual one.
    pub departures: Vec<Departure>,
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
            far_adapter: None,
            contact_ohm: [0.0; 2],
            taper: 0.0,
            departures: Vec::new(),
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

    /// With these departures from the usual bench.
    #[must_use]
    pub fn departing(self, departures: &[Departure]) -> Self {
        Self {
            departures: departures.to_vec(),
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

pub(crate) fn stream_of(seed: u64, part: &Stream, visit: u64) -> ChaCha8Rng {
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
