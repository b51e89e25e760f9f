//! The sweeps that the fit predicts are those that were read, and what it removes is what a method
//! did not know of.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use lineproof_core::bench::{Bench, FarEnd, Load};
use lineproof_core::estimate::{Part, estimate};
use lineproof_core::method::eighth_wave;
use lineproof_simulator::{Cable, Scenario, Truth};

use crate::bench;

/// Complex rms. Chosen, no source: three times the raw noise of `Instrument::POCKET` at total
/// reflection, 4.7·10⁻⁴; a wrong prediction is off by hundredths.
const LEFT_TOL: f64 = 1.5e-3;
/// Of the truth at the eighth wave, relative. Chosen, no source: what the pocket analyser's errors,
/// the far end and wander move there besides the plugs.
const EIGHTH_WAVE_TOL_REL: f64 = 3e-3;

fn bench() -> (Bench, Truth) {
    let scenario = Scenario::new(Cable::solid_pe_75(), 1.2);
    let simulation = scenario.simulate(6).unwrap();
    let load = Load::by_ohmmeter(simulation.truth.load_ohm);
    (bench::of(&simulation, load), simulation.truth)
}

#[test]
fn the_predicted_sweeps_are_those_that_were_read() {
    let (bench, _) = bench();
    let predicted = estimate(&bench).unwrap().predicted(&bench, None).unwrap();
    for (read, predicted) in bench.sweeps().iter().zip(predicted.sweeps()) {
        let pairs = read
            .sweep
            .reflection()
            .iter()
            .zip(predicted.sweep.reflection());
        let squares: f64 = pairs.map(|(a, b)| (a - b).norm_sqr()).sum();
        let rms = (squares / read.sweep.len() as f64).sqrt();
        assert!(rms < LEFT_TOL, "{}: {rms}", read.label);
    }
}

/// Two 50-ohm plugs make a 75-ohm piece of 1.2 m read near a per cent low; nothing else on this
/// bench does.
#[test]
fn taking_the_plugs_off_puts_the_eighth_wave_right() {
    let (bench, truth) = bench();
    let estimate = estimate(&bench).unwrap();
    let off = |without| {
        let predicted = estimate.predicted(&bench, without).unwrap();
        let report = eighth_wave::from_bench(&predicted, FarEnd::Open).unwrap();
        let truth_ohm = truth.impedance_ohm(report.at_hz.unwrap());
        report.impedance_ohm.unwrap().value / truth_ohm - 1.0
    };
    let as_found = off(None);
    assert!(as_found < -2.0 * EIGHTH_WAVE_TOL_REL, "{as_found}");
    let without = off(Some(Part::Plugs));
    assert!(without.abs() < EIGHTH_WAVE_TOL_REL, "{without}");
    for part in [Part::Unevenness, Part::Points, Part::FarEnd] {
        let without = off(Some(part));
        assert!(without < 0.7 * as_found, "{part:?}: {without}");
    }
}
