//! Ways in which a real bench departs from the simulator's usual one, each a switch of its own.
//!
//! They are written from what happens on a bench, so that they share no term with whatever reads the
//! sweeps. Sizes are common practice with small analysers, cables and hands; where a standard or a
//! textbook stands behind a form, it is named where the form is.

mod bench;
mod sweep;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal, StandardUniform};

pub(crate) use bench::FarParts;
pub(crate) use sweep::{Disturbed, behind_s, interpolated};

/// One way in which a bench departs from the usual one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Departure {
    /// The receiver's gain and phase drift while a sweep runs.
    DriftDuringSweep,
    /// They differ from sweep to sweep.
    DriftBetweenSweeps,
    /// They step where the instrument changes its band.
    BandSteps,
    /// The lead between the analyser and the plane has been moved since calibration.
    MovedLead,
    /// The calibration was taken on a coarser grid and interpolated.
    InterpolatedCalibration,
    /// Conductors are rough.
    RoughConductors,
    /// The loss tangent of a foam rises with frequency.
    RisingLossTangent,
    /// The inner conductor is copper-clad steel.
    SteelCore,
    /// Either plug has a contact resistance.
    PlugContacts,
    /// An adapter at the near end was forgotten.
    ForgottenAdapter,
    /// The same at both ends.
    ForgottenAdapters,
    /// The far load is another part than the calibration's, of another value.
    OtherLoad,
    /// The far load is an ordinary resistor with leads.
    LeadedLoad,
    /// The open far end is nothing screwed on.
    BareOpen,
    /// One or two points of each sweep are far off.
    BadPoints,
    /// Noise is 10 to 20 dB worse in the upper bands.
    NoisyUpperBands,
    /// Values are saved with three digits.
    ThreeDigits,
    /// The analyser's frequency is off by some parts per million.
    FrequencyOff,
    /// The cable's impedance slopes from end to end.
    Taper,
    /// The cable ends in pigtails instead of plugs.
    Pigtails,
    /// Several of them at once, as in life; which, the seed says.
    Several,
}

impl Departure {
    /// All of them.
    pub const ALL: [Self; 21] = [
        Self::DriftDuringSweep,
        Self::DriftBetweenSweeps,
        Self::BandSteps,
        Self::MovedLead,
        Self::InterpolatedCalibration,
        Self::RoughConductors,
        Self::RisingLossTangent,
        Self::SteelCore,
        Self::PlugContacts,
        Self::ForgottenAdapter,
        Self::ForgottenAdapters,
        Self::OtherLoad,
        Self::LeadedLoad,
        Self::BareOpen,
        Self::BadPoints,
        Self::NoisyUpperBands,
        Self::ThreeDigits,
        Self::FrequencyOff,
        Self::Taper,
        Self::Pigtails,
        Self::Several,
    ];

    /// Those that are of one bench in three each, where several come together.
    const COMMON: [Self; 11] = [
        Self::DriftDuringSweep,
        Self::DriftBetweenSweeps,
        Self::BandSteps,
        Self::InterpolatedCalibration,
        Self::RoughConductors,
        Self::RisingLossTangent,
        Self::PlugContacts,
        Self::OtherLoad,
        Self::BareOpen,
        Self::NoisyUpperBands,
        Self::ThreeDigits,
    ];
}

/// First of the streams of random numbers that departures draw from: beyond those of any visit.
const FIRST_STREAM: u64 = 1 << 40;

/// Departures of one bench, those that [`Departure::Several`] stands for included.
#[derive(Clone, Debug)]
pub(crate) struct Departures {
    on: Vec<Departure>,
    seed: u64,
}

impl Departures {
    pub(crate) fn of(asked: &[Departure], seed: u64) -> Self {
        let mut departures = Self {
            on: asked.to_vec(),
            seed,
        };
        if departures.has(Departure::Several) {
            let mut draw = departures.draw(Departure::Several, 0);
            let drawn = Departure::COMMON
                .into_iter()
                .filter(|_| draw.share() < 1.0 / 3.0);
            departures.on.extend(drawn);
        }
        departures
    }

    pub(crate) fn has(&self, departure: Departure) -> bool {
        self.on.contains(&departure)
    }

    /// Random numbers for one departure, `number` for its parts or sweeps, if it is on.
    pub(crate) fn drawn(&self, departure: Departure, number: u64) -> Option<Draw> {
        self.has(departure).then(|| self.draw(departure, number))
    }

    fn draw(&self, departure: Departure, number: u64) -> Draw {
        let mut rng = ChaCha8Rng::seed_from_u64(self.seed);
        rng.set_stream(FIRST_STREAM + 1024 * departure as u64 + number);
        Draw(rng)
    }
}

/// Random numbers of one departure.
pub(crate) struct Draw(ChaCha8Rng);

impl Draw {
    pub(crate) fn share(&mut self) -> f64 {
        StandardUniform.sample(&mut self.0)
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    pub(crate) fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.0)
    }
}
