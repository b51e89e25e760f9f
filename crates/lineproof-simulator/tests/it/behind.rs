//! A 75-ohm cable on a 50-ohm analyser through a matching pad, which is de-embedded before the estimate.

use std::ops::Range;

use lineproof_core::bench::{Load, Plane};
use lineproof_core::calibration::Corrected;
use lineproof_core::calibration::fixture::without_two_port;
use lineproof_core::estimate::estimate;
use lineproof_core::network::conversion::TwoPort;
use lineproof_core::network::{Chain, Scattering};
use lineproof_core::sweep::{Reverse, ThroughSweep};
use lineproof_simulator::{Cable, Scenario, linear_grid};

use crate::bench;

const AT_HZ: f64 = 100e6;

/// Minimum-loss pad of 50 to 75 ohm: shunt 50/√(1 − 50/75), series 75 √(1 − 50/75), 5.72 dB (any
/// handbook on attenuators; from memory), with 0.5 nH and 0.1 pF of its housing.
fn pad(freq_hz: f64) -> Scattering {
    let s = num_complex::Complex64::new(0.0, std::f64::consts::TAU * freq_hz);
    let root = (1.0 - 50.0 / 75.0f64).sqrt();
    let shunt = Chain::shunt(root / 50.0 + s * 0.1e-12);
    let series = Chain::series(75.0 * root + s * 0.5e-9);
    let chain = shunt * series;
    chain.scattering([50.0; 2]).expect("a resistive pad")
}

fn pad_file(freq_hz: &[f64]) -> ThroughSweep {
    let s: Vec<Scattering> = freq_hz.iter().map(|&f| pad(f)).collect();
    let column = |of: fn(&Scattering) -> num_complex::Complex64| s.iter().map(of).collect();
    let reverse = Reverse {
        s12: column(|s| s.s12),
        s22: column(|s| s.s22),
    };
    let (s11, s21) = (column(|s| s.s11), column(|s| s.s21));
    ThroughSweep::new(freq_hz.to_vec(), s11, s21, Some(reverse), 50.0).expect("a rising grid")
}

/// The pad loses 5.7 dB each way, so errors before it are nearly four times as large behind it.
#[test]
fn matched_to_75_ohm_by_a_pad_most_intervals_hold() {
    // of 18 intervals, not independent, 17.1 ± 0.9 are expected to hold
    let inside = intervals_that_hold(61_000..61_006);
    assert!(inside >= 15, "{inside} of 18 hold");
}

/// Of 144 intervals 136.8 ± 2.6 are expected to hold.
#[test]
#[ignore = "minutes, in release only: a step of its own in ./check"]
fn matched_to_75_ohm_by_a_pad_intervals_hold() {
    let inside = intervals_that_hold(61_000..61_048);
    assert!(inside >= 130, "{inside} of 144 hold");
}

/// Impedance, delay and loss of each seed.
fn intervals_that_hold(seeds: Range<u64>) -> usize {
    let scenario = Scenario::new(Cable::solid_pe_75(), 1.5).on_grid(linear_grid(1e6, 400e6, 151));
    let file = pad_file(&linear_grid(0.5e6, 401e6, 401));
    let mut inside = 0;
    for seed in seeds {
        let simulation = scenario.simulate_behind(seed, |f| {
            let s = pad(f);
            [s.s11, s.s21, s.s12, s.s22]
        });
        let simulation = simulation.expect("a rising grid");
        let truth = &simulation.truth;
        let load = Load::by_ohmmeter(truth.load_ohm);
        // in units of the load first: the pad's file refers to what is true
        let seen = bench::of(&simulation, load);
        let left = seen.sweeps().iter().map(|ended| {
            let seen = Corrected::of_sweep(&ended.sweep, |_, _| 0.0);
            let left = without_two_port(&seen, &file).expect("the same frequencies");
            (ended.far_end, left.sweep())
        });
        let plane = Plane {
            de_embedded: true,
            ..Plane::default()
        };
        let bench = bench::of_sweeps(load, left).with_plane(plane);
        let bench = bench.expect("a plane without sweeps");
        let found = estimate(&bench).expect("an ordinary cable");
        let pairs = [
            (found.impedance_ohm(AT_HZ), truth.impedance_ohm(AT_HZ)),
            (
                found.one_way_delay_s(AT_HZ),
                truth.connected_one_way_delay_s(AT_HZ),
            ),
            (found.loss_db(AT_HZ), truth.loss_db(AT_HZ)),
        ];
        println!("{seed}: {pairs:?}");
        let holds = |(found, truth): &(lineproof_core::uncertain::Uncertain, f64)| {
            (found.value - truth).abs() <= found.u95()
        };
        inside += pairs.iter().filter(|p| holds(p)).count();
    }
    inside
}
