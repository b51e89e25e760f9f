//! A far load that is another part than the calibration's: declared to be the same, or an ordinary resistor with leads
//! whose value was measured. The simulator is the source of truth.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use lineproof_core::bench::Load;
use lineproof_core::finding::judge::asked::Asked;
use lineproof_core::finding::judge::find;
use lineproof_core::finding::{Condition, Finding, WarningCode};
use lineproof_simulator::{Body, Departure, Scenario, Truth};

use crate::bench;

/// Half-widths of a 95 % interval beyond which an error is none of the interval's: six standard deviations.
const GROSS: f64 = 3.0;

fn found(departure: Departure, seed: u64, far_load_is_measured: bool) -> (Finding, Truth) {
    let scenario = Scenario::random_short(seed).departing(&[departure]);
    let simulation = scenario.simulate(seed).unwrap();
    let truth = simulation.truth.clone();
    let mut bench = bench::of(&simulation, Load::by_ohmmeter(truth.load_ohm));
    if far_load_is_measured {
        let far_load = Load::by_ohmmeter(truth.far_load_ohm);
        bench = bench.with_far_load(far_load).unwrap();
    }
    (find(&bench, Vec::new(), &Asked::default()), truth)
}

fn is_right(finding: &Finding, truth: &Truth) -> bool {
    let impedance = finding.impedance.unwrap();
    let delay = finding.delay.unwrap();
    let off_ohm = impedance.ohm - truth.impedance_ohm(impedance.at_hz);
    let off_s = delay.one_way_s - truth.connected_one_way_delay_s(delay.at_hz);
    off_ohm.abs() < GROSS * impedance.u95_ohm && off_s.abs() < GROSS * delay.u95_s
}

/// Impedance was wrong by up to 21 half-widths, and good cables were to be repaired.
#[test]
fn a_load_of_another_value_is_told_from_the_calibrations() {
    let mut told = 0;
    for seed in 300..306 {
        let (finding, truth) = found(Departure::OtherLoad, seed, false);
        assert_eq!(finding.condition, Condition::Sound, "{seed}");
        let differs = truth.far_load_ohm / truth.load_ohm - 1.0;
        assert!(
            is_right(&finding, &truth),
            "{seed}: {differs:.4} {finding:#?}"
        );
        let is_of_load = |code: &WarningCode| *code == WarningCode::FarLoadDiffers;
        told += usize::from(finding.warnings.iter().any(|w| is_of_load(&w.code)));
    }
    assert!(told >= 3, "{told}");
}

/// The delay was off by 50 ps, 13.7 half-widths.
#[test]
fn a_resistor_with_leads_shifts_no_delay() {
    for seed in 310..314 {
        let (finding, truth) = found(Departure::LeadedLoad, seed, true);
        assert_eq!(finding.condition, Condition::Sound, "{seed}");
        assert!(is_right(&finding, &truth), "{seed}: {finding:#?}");
    }
}

/// A bad joint in the far plug adds to the load as another load would: without a shorted sweep nothing tells them
/// apart, so the cable is not called sound.
#[test]
fn a_joint_in_the_far_plug_is_not_sound() {
    for (seed, ohm) in [(320, 5.0), (321, 8.0), (322, 15.0)] {
        let mut scenario = Scenario::random_short(seed);
        let length_m = scenario.body.length_m();
        scenario.body = Body::with_joint(scenario.cable, length_m, length_m, ohm, 0.5e-9);
        let simulation = scenario.simulate(seed).unwrap();
        let load = Load::by_ohmmeter(simulation.truth.load_ohm);
        let finding = find(&bench::of(&simulation, load), Vec::new(), &Asked::default());
        let condition = finding.condition;
        assert!(
            matches!(condition, Condition::Suspect | Condition::Faulty),
            "{seed}: {condition:?} {:?} {:?}",
            finding.warnings,
            finding.condition_reasons
        );
    }
}
