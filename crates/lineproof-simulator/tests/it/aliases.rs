//! A step that folds the delay is noticed: by the aliases that its points allow, and by the tape.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use lineproof_core::bench::{FarEnd, Load};
use lineproof_core::estimate::{Estimate, estimate};
use lineproof_simulator::{Cable, Scenario, Truth};

use crate::bench;

const ENDS: [FarEnd; 2] = [FarEnd::Open, FarEnd::Load];

/// Estimate from the sweeps of a piece, and the truth.
fn estimated(length_m: f64, freq_hz: Vec<f64>) -> (Estimate, Truth) {
    let simulation = Scenario::new(Cable::solid_pe_50(), length_m)
        .on_grid(freq_hz)
        .ended_by(&ENDS)
        .simulate(4)
        .unwrap();
    let load = Load::by_ohmmeter(simulation.truth.load_ohm);
    (
        estimate(&bench::of(&simulation, load)).unwrap(),
        simulation.truth,
    )
}

/// Multiples of the step, so that nothing but loss and tape tells the aliases apart.
fn multiples(step_hz: f64, points: usize) -> Vec<f64> {
    (1..=points).map(|k| step_hz * k as f64).collect()
}

/// 40 m turn the phase 3.6 times from point to point: 200 ns look like 33 ns.
#[test]
fn a_folded_delay_is_one_of_several() {
    let (estimate, truth) = estimated(40.0, multiples(9e6, 100));
    let true_s = truth.connected_one_way_delay_s(3e8);
    let possible = estimate.possible_delays_s();
    assert!(possible.len() > 1, "{possible:?}");
    let near = |&delay_s: &f64| (delay_s / true_s - 1.0).abs() < 0.01;
    assert!(possible.iter().any(near), "{possible:?}, truth {true_s}");
}

#[test]
fn a_fine_step_leaves_one_delay() {
    for (length_m, step_hz) in [(2.0, 0.75e6), (40.0, 0.25e6)] {
        let (estimate, truth) = estimated(length_m, multiples(step_hz, 401));
        let possible = estimate.possible_delays_s();
        assert_eq!(possible.len(), 1, "{possible:?}");
        let true_s = truth.connected_one_way_delay_s(1e8);
        assert!(
            (possible[0] / true_s - 1.0).abs() < 1e-3,
            "{possible:?}, truth {true_s}"
        );
    }
}

/// A grid that starts off its multiples tells the aliases apart at its first points.
#[test]
fn a_start_between_multiples_tells_aliases_apart() {
    let grid = (0..401).map(|k| 0.4e6 + 1e6 * f64::from(k)).collect();
    let (estimate, _) = estimated(20.0, grid);
    assert_eq!(estimate.possible_delays_s().len(), 1);
}
