//! What the estimate says beyond the sweep, at its limit and of the loss's parts.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use lineproof_core::bench::{FarEnd, Load};
use lineproof_core::constants::ETA_0_OVER_2PI_OHM;
use lineproof_core::estimate::{Estimate, estimate};
use lineproof_core::uncertain::Uncertain;
use lineproof_simulator::{Cable, Scenario};

use crate::bench;

/// Estimate from an open and a loaded sweep to 300 MHz.
fn estimated(cable: Cable, length_m: f64, seed: u64) -> Estimate {
    let simulation = Scenario::new(cable, length_m).simulate(seed).unwrap();
    let load = Load::by_ohmmeter(simulation.truth.load_ohm);
    let bench = bench::of(&simulation, load);
    assert!(bench.first(FarEnd::Open).is_some());
    estimate(&bench).unwrap()
}

/// How many of the intervals hold their truth.
fn held(found: &[(Uncertain, f64)]) -> usize {
    let holds = |(found, truth): &&(Uncertain, f64)| (found.value - truth).abs() <= found.u95();
    found.iter().filter(holds).count()
}

const SEEDS: std::ops::Range<u64> = 1..13;

#[test]
fn beyond_the_sweep_the_interval_of_the_loss_grows_and_holds() {
    let (cable, length_m) = (Cable::solid_pe_75(), 3.0);
    let mut found = Vec::new();
    for seed in SEEDS {
        let estimate = estimated(cable, length_m, seed);
        let relative = [300e6, 600e6, 1.2e9].map(|f| estimate.loss_db(f).relative());
        assert!(
            relative[0] < relative[1] && relative[1] < relative[2],
            "{relative:?}"
        );
        for freq_hz in [600e6, 1.2e9] {
            found.push((
                estimate.loss_db(freq_hz),
                cable.loss_db_m(freq_hz) * length_m,
            ));
        }
    }
    let (held, all) = (held(&found), found.len());
    println!("beyond the sweep: {held} of {all}");
    assert!(10 * held >= 9 * all, "{held} of {all} hold");
}

/// The parts from the cable's own theory without the loss tangent; the limit from the
/// geometry, 59.96 ohm·ln(D/d)/√ε (Pozar, table 2.1).
#[test]
fn the_parts_of_the_loss_and_the_limit_of_the_impedance_hold() {
    let (cable, length_m) = (Cable::solid_pe_75(), 3.0);
    let without = Cable {
        tan_delta: 0.0,
        ..cable
    };
    let ratio = cable.outer_diameter_m / cable.inner_diameter_m;
    let limit_ohm = ETA_0_OVER_2PI_OHM * ratio.ln() / cable.eps_r.sqrt();
    let (mut parts, mut limits) = (Vec::new(), Vec::new());
    for seed in SEEDS {
        let estimate = estimated(cable, length_m, seed);
        let conductor = without.loss_db_m(1e8) * length_m;
        let dielectric = cable.loss_db_m(1e8) * length_m - conductor;
        let found = estimate.loss_parts_db(1e8);
        parts.extend([(found.conductor, conductor), (found.dielectric, dielectric)]);
        limits.push((estimate.impedance_limit_ohm(), limit_ohm));
    }
    println!(
        "parts {} of {}, limits {} of {}",
        held(&parts),
        parts.len(),
        held(&limits),
        limits.len()
    );
    assert!(10 * held(&parts) >= 9 * parts.len(), "{parts:?}");
    assert!(10 * held(&limits) >= 9 * limits.len(), "{limits:?}");
}
