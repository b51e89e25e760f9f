//! An analyser of one path measures S11 and S21 and writes zeros for S12 and S22, and port 2 is
//! not corrected. What such a file tells of cables whose truth is known.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use lineproof_core::bench::{Bench, Load};
use lineproof_core::estimate::estimate;
use lineproof_core::formats::{Network, ReadOptions, read, touchstone};
use lineproof_core::sweep::ThroughSweep;
use lineproof_core::uncertain::Uncertain;
use lineproof_simulator::{Scenario, Simulation};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// Cables; three quantities each, so that a coverage of 95 % is uncertain by 2.0 %.
const SEEDS: std::ops::Range<u64> = 40_000..40_040;
/// Two and a half of these below 95 %.
const LEAST_COVERAGE: f64 = 0.90;
/// Largest median errors: what the project asks of two-port sweeps for impedance and loss
/// (relative) and for delay, s.
const MEDIANS: [f64; 3] = [0.002, 20e-12, 0.04];
/// What an ohmmeter is off by, relative (standard deviation).
const OHMMETER_REL: f64 = 0.0005;

/// The sweep as a file of one path, read again.
fn one_path(through: &ThroughSweep) -> ThroughSweep {
    let (freq_hz, z_ref_ohm) = (through.freq_hz().to_vec(), through.z_ref_ohm());
    let (s11, s21) = (through.s11().to_vec(), through.s21().to_vec());
    let forward = ThroughSweep::new(freq_hz, s11, s21, None, z_ref_ohm).unwrap();
    let text = touchstone::two_port(&forward, &["invented"]);
    let measurement = read(text.as_bytes(), "cable.s2p", &ReadOptions::default()).unwrap();
    match measurement.network {
        Network::TwoPort(sweep) => sweep,
        Network::OnePort(_) => panic!("S21 is there"),
    }
}

fn bench(simulation: &Simulation, seed: u64) -> Bench {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let off: f64 = StandardNormal.sample(&mut rng);
    let load = Load::by_ohmmeter(simulation.truth.load_ohm * (1.0 + OHMMETER_REL * off));
    let through = one_path(simulation.through.as_ref().unwrap());
    let mut bench = Bench::new(load).unwrap();
    bench.add_through(through, "through").unwrap();
    bench
}

fn median(mut errors: Vec<f64>) -> f64 {
    errors.sort_by(f64::total_cmp);
    errors[errors.len() / 2]
}

#[test]
fn one_direction_alone_gives_answers_that_hold() {
    let mut errors = [const { Vec::new() }; 3];
    let mut held = 0;
    for seed in SEEDS {
        let scenario = Scenario {
            through: true,
            far_ends: Vec::new(),
            ..Scenario::random(seed)
        };
        let simulation = scenario.simulate(seed).unwrap();
        let found = estimate(&bench(&simulation, seed)).unwrap();
        let truth = &simulation.truth;
        let freq_hz = scenario.freq_hz.last().unwrap().min(100e6);
        let delay_s = truth.connected_one_way_delay_s(300e6);
        let wanted: [(Uncertain, f64, f64); 3] = [
            (
                found.impedance_ohm(freq_hz),
                truth.impedance_ohm(freq_hz),
                truth.impedance_ohm(freq_hz),
            ),
            (found.one_way_delay_s(300e6), delay_s, 1.0),
            (
                found.loss_db(freq_hz),
                truth.loss_db(freq_hz),
                truth.loss_db(freq_hz),
            ),
        ];
        for (list, (got, truth, unit)) in errors.iter_mut().zip(wanted) {
            let error = (got.value - truth).abs();
            held += usize::from(error <= got.u95());
            list.push(error / unit);
        }
    }
    let coverage = held as f64 / (3 * SEEDS.count()) as f64;
    let medians = errors.map(median);
    println!("coverage {coverage:.3}; median errors {medians:?}");
    assert!(coverage >= LEAST_COVERAGE, "{coverage}");
    for (what, (got, most)) in ["impedance", "delay", "loss"]
        .iter()
        .zip(medians.iter().zip(MEDIANS))
    {
        assert!(
            *got <= most,
            "{what}: median error {got:e}, wanted at most {most:e}"
        );
    }
}
