//! What a further sweep would do is foretold before it is taken; here it is taken as well.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use lineproof_core::bench::{Bench, FarEnd, Load};
use lineproof_core::estimate::{Estimate, Measure, Quantity, QuantityFrequencies, estimate};
use lineproof_simulator::{Cable, Instrument, Scenario, Simulation, linear_grid};

use crate::bench;

/// Relative. Predicted at the place and with the hyperparameters of the first fit; the second fit moves both.
const FORETOLD_TOL: f64 = 0.25;

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
fn foretold_and_found(scenario: Scenario, seed: u64, ends: &[FarEnd], quantities: &[Quantity]) {
    let simulation = scenario
        .ended_by(&[FarEnd::Open, FarEnd::Short, FarEnd::Load])
        .simulate(seed)
        .unwrap();
    let before = estimate(&bench(&simulation, ends)).unwrap();
    let after = estimate(&bench(&simulation, &[ends, &[FarEnd::Short]].concat())).unwrap();
    let further = before.further(WANTED);
    for &quantity in quantities {
        let foretold = further
            .iter()
            .find(|f| f.quantity == quantity && f.measure == Measure::Sweep(FarEnd::Short))
            .unwrap();
        let found = u(&after, quantity);
        assert_eq!(foretold.u_now, u(&before, quantity));
        assert!(
            (foretold.u_then / found - 1.0).abs() < FORETOLD_TOL,
            "{quantity:?}: foretold {:e}, found {found:e}, before {:e}",
            foretold.u_then,
            foretold.u_now,
        );
    }
}

#[test]
fn a_short_after_open_and_load_does_what_was_foretold() {
    let scenario = Scenario::new(Cable::solid_pe_75(), 2.0);
    let ends = [FarEnd::Open, FarEnd::Load];
    foretold_and_found(scenario, 3, &ends, &ALL);
}

#[test]
fn a_short_after_both_of_a_long_piece_does_what_was_foretold() {
    let grid = linear_grid(1e6, 300e6, 801);
    let scenario = Scenario::new(Cable::solid_pe_50(), 20.0).on_grid(grid);
    let ends = [FarEnd::Open, FarEnd::Load];
    foretold_and_found(scenario, 2, &ends, &ALL);
}

/// The loss is left out: one sweep alone can't share its errors between calibration and connection,
/// so what a second one does for the loss is foretold half again too wide.
#[test]
fn a_short_after_a_load_does_what_was_foretold() {
    let scenario = Scenario::new(Cable::solid_pe_50(), 2.0);
    let two = [Quantity::Impedance, Quantity::Delay];
    foretold_and_found(scenario, 1, &[FarEnd::Load], &two);
}

/// On an analyser that drifts much, what the calibration's short would say of a swept cable, before
/// anyone sweeps it.
#[test]
fn a_check_after_open_and_load_does_what_was_foretold() {
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
    let foretold = further
        .iter()
        .find(|f| f.quantity == Quantity::Loss && f.measure == Measure::Check(FarEnd::Short))
        .unwrap();
    println!("{foretold:?}, found {found:e}");
    assert!(
        (foretold.u_then / found - 1.0).abs() < FORETOLD_TOL,
        "foretold {:e}, found {found:e}, before {:e}",
        foretold.u_then,
        foretold.u_now
    );
    assert!(foretold.u_then < foretold.u_now);
}
