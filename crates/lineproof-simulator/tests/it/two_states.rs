//! Sweeps of two cables, or of one that was not the same in both: no number is stated, and the reason is said.
//!
//! A good cable whose sweeps differ by what an analyser does must not be taken for two. The simulator is the source
//! of truth.

use lineproof_core::bench::{FarEnd, Load};
use lineproof_core::finding::judge::{Asked, find};
use lineproof_core::finding::{Condition, Finding, Warning, WarningCode};
use lineproof_simulator::{Body, Cable, Connector, Instrument, Scenario, linear_grid};

use super::bench;

/// Length, and where a joint is, m.
const LENGTH_M: f64 = 6.0;
const AT_M: f64 = 2.3;

/// A bench with these plugs and this analyser.
fn scenario(body: Body, instrument: Instrument) -> Scenario {
    Scenario::new(Cable::solid_pe_50(), body.length_m())
        .with_body(body)
        .plugged_with(Some(Connector::BNC))
        .measured_with(instrument)
        .on_grid(linear_grid(1e6, 300e6, 401))
}

/// What is found of the open sweep of one body and the loaded sweep of another, by one analyser.
fn found([open, load]: [Body; 2], instrument: Instrument, seed: u64) -> Finding {
    let swept = |body, far_end| {
        let scenario = scenario(body, instrument).ended_by(&[far_end]);
        scenario.simulate(seed).expect("a sweep comes out")
    };
    let (open, load) = (swept(open, FarEnd::Open), swept(load, FarEnd::Load));
    let known = Load::by_ohmmeter(open.truth.load_ohm);
    let sweeps = open.sweeps.into_iter().chain(load.sweeps);
    find(
        &bench::of_sweeps(known, sweeps),
        Vec::new(),
        &Asked::default(),
    )
}

/// Whether it says so, by what two fits would be or because one fit leaves far too much.
fn is_two(finding: &Finding) -> bool {
    let said = |w: &Warning| {
        let codes = [WarningCode::SweepsContradict, WarningCode::NoEstimate];
        codes.contains(&w.code) && w.text.contains("sweeps of two cables")
    };
    let is_undetermined = finding.condition == Condition::Undetermined;
    finding.warnings.iter().any(said) && is_undetermined && finding.delay.is_none()
}

/// Both of 50 ohm: the loaded sweep shows next to nothing of its cable, and passed for one with the open sweep's.
#[test]
fn two_cables_of_one_impedance_are_two() {
    let thick = Cable {
        outer_diameter_m: 2.4 * Cable::solid_pe_50().outer_diameter_m,
        inner_diameter_m: 2.4 * Cable::solid_pe_50().inner_diameter_m,
        ..Cable::solid_pe_50()
    };
    for (seed, [open_m, load_m]) in (700..).zip([[3.0, 8.0], [6.0, 5.0]]) {
        let bodies = [
            Body::sound(Cable::solid_pe_50(), open_m),
            Body::sound(thick, load_m),
        ];
        let finding = found(bodies, Instrument::POCKET, seed);
        assert!(
            is_two(&finding),
            "{open_m} and {load_m} m: {:?} {:#?}",
            finding.condition,
            finding.warnings
        );
    }
}

/// A joint that is bad in one of two sweeps was taken for errors of the analyser: the cable was sound.
#[test]
fn a_joint_that_comes_and_goes_is_no_one_cable() {
    let good = || Body::sound(Cable::solid_pe_50(), LENGTH_M);
    let bad = |ohm| Body::with_joint(Cable::solid_pe_50(), LENGTH_M, AT_M, ohm, 1e-9);
    let cases = [
        (710, 5.0, [bad(5.0), good()]),
        (711, 20.0, [good(), bad(20.0)]),
        (712, 60.0, [bad(60.0), good()]),
    ];
    for (seed, ohm, bodies) in cases {
        let finding = found(bodies, Instrument::POCKET, seed);
        assert!(
            is_two(&finding),
            "{ohm} ohm: {:?} {:#?}",
            finding.condition,
            finding.warnings
        );
    }
}

/// What an analyser leaves, a poor one too, makes no two cables of one.
#[test]
fn one_cable_stays_one() {
    let good = Body::sound(Cable::solid_pe_50(), LENGTH_M);
    let bad = Body::with_joint(Cable::solid_pe_50(), LENGTH_M, AT_M, 20.0, 1e-9);
    let cases = [
        (720, Instrument::POCKET, &bad),
        (721, Instrument::POOR, &good),
        (723, Instrument::POOR, &bad),
    ];
    for (seed, instrument, body) in cases {
        let finding = found([body.clone(), body.clone()], instrument, seed);
        assert_ne!(
            finding.condition,
            Condition::Undetermined,
            "{:#?}",
            finding.warnings
        );
    }
}
