//! What a further sweep would do is predicted before it is taken; here it is taken as well.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use lineproof_core::bench::{Bench, FarEnd, Load};
use lineproof_core::estimate::{Estimate, Measure, Quantity, QuantityFrequencies, estimate};
use lineproof_simulator::{Cable, Instrument, Scenario, Simulation, linear_grid};

use crate::bench;

/// Relative. Predicted at the place and with the hyperparameters of the first fit; the second fit moves both.
const PREDICTED_TOL: f64 = 0.25;

const WANTED: QuantityFrequencies = QuantityFrequencies {
    impedance_hz: 100e6,
    delay_hz: 300e6,
    loss_hz: 100e6,
};

const ALL: [Quantity; 3] = [Quantity::Impedance, Quantity::Delay, Quantity::Loss];

fn bench(simulation: &Simulation, ends: &[FarEnd]) -> Bench {
    let load = Load::by_ohmmeter(simulation.truth.load_ohm);
    let sweep = |&end: &FarEnd| (end, simulation.sweep(end).unwrap().clone());
    bench::of_sweeps(load, ends.iter().map(sweep))
}

fn u(estimate: &Estimate, quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Impedance => estimate.impedance_ohm(WANTED.impedance_hz).u,
        Quantity::Delay => estimate.one_way_delay_s(WANTED.delay_hz).u,
        Quantity::Loss => estimate.loss_db(WANTED.loss_hz).u,
    }
}

/// Foretells what a short sweep would do to the sweeps of `ends`, then adds it.
#[track_caller]
fn predicted_and_found(scenario: Scenario, seed: u64, ends: &[FarEnd], quantities: &[Quantity]) {
    let simulation = scenario
        .ended_by(&[FarEnd::Open, FarEnd::Short, FarEnd::Load])
        .simulate(seed)
        .unwrap();
    let before = estimate(&bench(&simulation, ends)).unwrap();
    let after = estimate(&bench(&simulation, &[ends, &[FarEnd::Short]].concat())).unwrap();
    let further = before.further(WANTED);
    for &quantity in quantities {
        let predicted = further
            .iter()
            .find(|f| f.quantity == quantity && f.measure == Measure::Sweep(FarEnd::Short))
            .unwrap();
        let found = u(&after, quantity);
        assert_eq!(predicted.u_now, u(&before, quantity));
        assert!(
            (predicted.u_then / found - 1.0).abs() < PREDICTED_TOL,
            "{quantity:?}: predicted {:e}, found {found:e}, before {:e}",
            predicted.u_then,
            predicted.u_now,
        );
    }
}

#[test]
fn a_short_after_open_and_load_does_what_was_predicted() {
    let scenario = Scenario::new(Cable::solid_pe_75(), 2.0);
    let ends = [FarEnd::Open, FarEnd::Load];
    predicted_and_found(scenario, 3, &ends, &ALL);
}

#[test]
fn a_short_after_both_of_a_long_piece_does_what_was_predicted() {
    let grid = linear_grid(1e6, 300e6, 801);
    let scenario = Scenario::new(Cable::solid_pe_50(), 20.0).on_grid(grid);
    let ends = [FarEnd::Open, FarEnd::Load];
    predicted_and_found(scenario, 2, &ends, &ALL);
}

/// The loss is left out: one sweep alone can't share its errors between calibration and connection,
/// so what a second one does for the loss is predicted half again too wide.
#[test]
fn a_short_after_a_load_does_what_was_predicted() {
    let scenario = Scenario::new(Cable::solid_pe_50(), 2.0);
    let two = [Quantity::Impedance, Quantity::Delay];
    predicted_and_found(scenario, 1, &[FarEnd::Load], &two);
}

/// On an analyser that drifts much, what the calibration's short would say of a swept cable, before
/// anyone sweeps it.
#[test]
fn a_check_after_open_and_load_does_what_was_predicted() {
    let scenario = Scenario::new(Cable::solid_pe_50(), 1.4)
        .measured_with(Instrument::POOR)
        .on_grid(linear_grid(1e6, 400e6, 151));
    let simulation = scenario.simulate(4).unwrap();
    let ends = [FarEnd::Open, FarEnd::Load];
    let without = bench(&simulation, &ends);
    let mut with = without.clone();
    for (far_end, sweep) in scenario.simulate_checks(4, &[FarEnd::Short]).unwrap() {
        with.add_check(far_end, sweep, "check").unwrap();
    }
    let before = estimate(&without).unwrap();
    let found = u(&estimate(&with).unwrap(), Quantity::Loss);
    let further = before.further(WANTED);
    let predicted = further
        .iter()
        .find(|f| f.quantity == Quantity::Loss && f.measure == Measure::Check(FarEnd::Short))
        .unwrap();
    println!("{predicted:?}, found {found:e}");
    assert!(
        (predicted.u_then / found - 1.0).abs() < PREDICTED_TOL,
        "predicted {:e}, found {found:e}, before {:e}",
        predicted.u_then,
        predicted.u_now
    );
    assert!(predicted.u_then < predicted.u_now);
}
