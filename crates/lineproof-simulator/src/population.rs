//! Random scenarios: what may lie in a box of cables, for tests over many seeds.

use lineproof_core::bench::FarEnd;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal, StandardUniform};

use crate::cable::{Cable, Dielectric};
use crate::connector::Connector;
use crate::instrument::Instrument;
use crate::scenario::{Scenario, linear_grid};

/// Keeps these draws apart from those that [`Scenario::simulate`] makes of the same seed.
const STREAM: u64 = 1000;

impl Scenario {
    /// A good piece of 0.3 to 2.5 m, open and loaded: the everyday case.
    pub fn random_short(seed: u64) -> Self {
        Draw::new(seed).scenario(0.3, 2.5)
    }

    /// A good piece of 0.3 to 60 m, open and loaded.
    pub fn random(seed: u64) -> Self {
        Draw::new(seed).scenario(0.3, 60.0)
    }
}

struct Draw(ChaCha8Rng);

impl Draw {
    fn new(seed: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(STREAM);
        Self(rng)
    }

    fn scenario(mut self, shortest_m: f64, longest_m: f64) -> Scenario {
        let cable = self.cable();
        let length_m = shortest_m * (longest_m / shortest_m).powf(self.share());
        let plugs = [
            Some(Connector::BNC),
            Some(Connector::SMA),
            Some(Connector::N),
            Some(Connector::UHF),
            Some(Connector::F),
            None,
        ];
        let grades = [
            Instrument::POCKET,
            Instrument::POCKET,
            Instrument::POCKET,
            Instrument::GOOD,
            Instrument::POOR,
        ];
        let grid = self.grid(length_m / (cable.velocity_factor(100e6) * 2.998e8));
        Scenario::new(cable, length_m)
            .plugged_with(self.one_of(&plugs))
            .measured_with(self.one_of(&grades))
            .ended_by(&[FarEnd::Open, FarEnd::Load])
            .on_grid(grid)
    }

    fn cable(&mut self) -> Cable {
        let dielectrics = [
            Dielectric::SolidPe,
            Dielectric::SolidPe,
            Dielectric::FoamPe,
            Dielectric::FoamPe,
            Dielectric::Ptfe,
            Dielectric::AirSpacedPe,
        ];
        let nominal_ohm = self.one_of(&[50.0, 50.0, 50.0, 75.0, 75.0, 60.0, 93.0]);
        let z0_ohm = nominal_ohm * (1.0 + 0.02 * self.normal());
        let outer_m = self.one_of(&[1.5e-3, 2.95e-3, 3.7e-3, 4.6e-3, 7.25e-3]);
        let made = Cable::of_impedance(z0_ohm, self.one_of(&dielectrics), outer_m);
        Cable {
            tan_delta: made.tan_delta * (0.7 + 1.1 * self.share()),
            braid_factor: 1.0 + 1.2 * self.share(),
            ..made
        }
    }

    /// Past the quarter wave with some room, and not so far that the phase can't be followed.
    fn grid(&mut self, one_way_delay_s: f64) -> Vec<f64> {
        let points = self.one_of(&[101, 201, 401, 801]);
        let wished_hz = self.one_of(&[100e6, 200e6, 300e6, 500e6, 900e6, 1500e6]);
        let quarter_wave_hz = 0.25 / one_way_delay_s;
        let finest_hz = (points - 1) as f64 / (5.0 * one_way_delay_s);
        let stop_hz = f64::max(wished_hz, 1.3 * quarter_wave_hz).min(finest_hz);
        let start_hz = self.one_of(&[10e3, 50e3, 1e6, 2e6]);
        linear_grid(start_hz, stop_hz.max(10.0 * start_hz), points)
    }

    fn share(&mut self) -> f64 {
        StandardUniform.sample(&mut self.0)
    }

    fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.0)
    }

    fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        let index = (self.share() * choices.len() as f64) as usize;
        choices[index.min(choices.len() - 1)]
    }
}
