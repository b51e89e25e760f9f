//! Sweeps that do not say what cable they are of, or whether of one: nothing is stated that they leave open.
//!
//! Cables that turn the phase by more than the points follow, and no cable at all: the calibration's load screwed on
//! again. The simulator is the source of truth.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use lineproof_core::bench::{Bench, FarEnd, Load};
use lineproof_core::finding::judge::asked::Asked;
use lineproof_core::finding::judge::find;
use lineproof_core::finding::{Condition, Finding};
use lineproof_core::sweep::Sweep;
use lineproof_core::uncertain::Uncertain;
use lineproof_simulator::{Cable, Connector, Scenario, linear_grid};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardUniform};

use crate::bench;

/// Half-widths of a 95 % interval beyond which an error is none of the interval's: six standard deviations.
const GROSS: f64 = 3.0;

struct Draw(ChaCha8Rng);

impl Draw {
    fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        let share: f64 = StandardUniform.sample(&mut self.0);
        low + share * (high - low)
    }

    fn one_of<T: Clone>(&mut self, choices: &[T]) -> T {
        let index = self.between(0.0, choices.len() as f64) as usize;
        choices[index.min(choices.len() - 1)].clone()
    }
}

fn found(bench: &Bench) -> Finding {
    find(bench, Vec::new(), &Asked::default())
}

/// A cable of 20 to 200 m whose phase turns 0.4 to 3 times between points.
fn on_a_coarse_grid(seed: u64) -> (Scenario, Option<f64>) {
    let mut draw = Draw::new(seed);
    let length_m = 20.0 * 10.0_f64.powf(draw.between(0.0, 1.0));
    let cable = Scenario::random(seed).cable;
    let delay_s = length_m / (2.998e8 * cable.velocity_factor(1e8));
    let step_hz = draw.between(0.4, 3.0) / (2.0 * delay_s);
    let points = draw.one_of(&[51_usize, 101, 201, 401]);
    let start_hz = draw.one_of(&[50e3, 1e6, step_hz, 2.0 * step_hz, 10e6]);
    let grid = linear_grid(start_hz, start_hz + step_hz * (points - 1) as f64, points);
    let ends: &[FarEnd] = draw.one_of(&[
        &[FarEnd::Open][..],
        &[FarEnd::Open, FarEnd::Load],
        &[FarEnd::Open, FarEnd::Short],
        &[FarEnd::Short, FarEnd::Load],
    ]);
    let plug = draw.one_of(&[Connector::BNC, Connector::N]);
    let scenario = Scenario::new(cable, length_m)
        .plugged_with(Some(plug))
        .on_grid(grid)
        .ended_by(ends);
    (scenario, seed.is_multiple_of(2).then_some(length_m))
}

/// What is stated of a long cable on a coarse grid beyond its interval, and how many delays were stated.
fn coarse(seeds: std::ops::Range<u64>) -> (Vec<String>, usize) {
    let (mut wrong, mut stated) = (Vec::new(), 0);
    for seed in seeds {
        let (scenario, tape_m) = on_a_coarse_grid(seed);
        let simulation = scenario.simulate(seed).unwrap();
        let truth = &simulation.truth;
        let load = Load::by_ohmmeter(truth.load_ohm);
        let tape = tape_m.map(|m| Uncertain::new(m, 0.003));
        let bench = bench::of(&simulation, load).with_length(tape).unwrap();
        let finding = found(&bench);
        if let Some(d) = finding.delay {
            stated += 1;
            let error_s = d.one_way_s - truth.connected_one_way_delay_s(d.at_hz);
            if error_s.abs() > GROSS * d.u95_s {
                wrong.push(format!("{seed}: delay {d:?}, off by {error_s:e} s"));
            }
        }
        if let Some(z) = finding.impedance {
            let error_ohm = z.ohm - truth.impedance_ohm(z.at_hz);
            if error_ohm.abs() > GROSS * z.u95_ohm {
                wrong.push(format!("{seed}: impedance {z:?}, off by {error_ohm} ohm"));
            }
        }
    }
    (wrong, stated)
}

/// The calibration's load on the port, once or twice, with and without a tape.
fn no_cable(seeds: std::ops::Range<u64>) -> Vec<String> {
    let mut wrong = Vec::new();
    for seed in seeds {
        let scenario = Scenario::random(seed);
        let count = 1 + (seed % 2) as usize;
        let checks = scenario
            .simulate_checks(seed, &[FarEnd::Load, FarEnd::Load][..count])
            .unwrap();
        let load = Load::by_ohmmeter(scenario.simulate(seed).unwrap().truth.load_ohm);
        let tape = (seed % 4 < 2).then_some(Uncertain::new(5.0, 0.003));
        let bench = bench::of_sweeps(load, checks).with_length(tape).unwrap();
        let finding = found(&bench);
        let states = finding.delay.is_some() || finding.impedance.is_some();
        if states || finding.condition != Condition::Undetermined {
            let (delay, ohm) = (finding.delay, finding.impedance);
            wrong.push(format!(
                "{seed}: {:?}, {delay:?}, {ohm:?}",
                finding.condition
            ));
        }
    }
    wrong
}

/// Of 60 long cables on coarse grids 19 stated a delay thousands of half-widths off.
#[test]
fn coarse_grids_state_nothing_that_is_outside_its_interval() {
    let (wrong, stated) = coarse(0..6);
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(stated > 1, "{stated}");
}

/// A load and noise were "sound, keep", with a delay, in 55 of 60.
#[test]
fn a_load_on_the_port_is_no_cable() {
    let wrong = no_cable(0..12);
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Readings that were halved on the way are of no cable: an open end reflects everything at low frequency.
#[test]
fn halved_readings_are_no_cable() {
    for (seed, cable) in (90..).zip([Cable::solid_pe_50(), Cable::foam_pe_75()]) {
        let scenario = Scenario::new(cable, 2.4).on_grid(linear_grid(1e6, 300e6, 301));
        let simulation = scenario
            .ended_by(&[FarEnd::Open, FarEnd::Load])
            .simulate(seed)
            .unwrap();
        let halved = simulation.sweeps.iter().map(|(far_end, sweep)| {
            let half: Vec<_> = sweep.reflection().iter().map(|r| 0.5 * r).collect();
            let freq_hz = sweep.freq_hz().to_vec();
            (
                *far_end,
                Sweep::new(freq_hz, half, sweep.z_ref_ohm()).unwrap(),
            )
        });
        let load = Load::by_ohmmeter(simulation.truth.load_ohm);
        let finding = found(&bench::of_sweeps(load, halved));
        assert_eq!(
            finding.condition,
            Condition::Undetermined,
            "{:#?} {:#?}",
            finding.events,
            finding.impedance
        );
        assert!(finding.impedance.is_none() && finding.delay.is_none());
    }
}

/// Twenty coarse grids and sixty loads; sixty and two hundred with `LINEPROOF_ALL` set, which takes ten
/// minutes.
#[test]
#[ignore = "minutes; a step of its own in ./check"]
fn many_coarse_grids_and_loads_on_the_port() {
    let all = std::env::var_os("LINEPROOF_ALL").is_some();
    let (grids, loads) = if all { (60, 200) } else { (20, 60) };
    let (wrong, stated) = coarse(1000..1000 + grids);
    println!(
        "coarse grids: {stated} of {grids} delays stated, {} outside",
        wrong.len()
    );
    assert!(wrong.is_empty(), "{wrong:#?}");
    let wrong = no_cable(1000..1000 + loads);
    println!(
        "loads on the port: {} of {loads} taken for a cable",
        wrong.len()
    );
    assert!(wrong.is_empty(), "{wrong:#?}");
}
