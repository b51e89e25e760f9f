//! Two visits to one cable: what changed is found and nothing else is.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use lineproof_core::bench::{Analyser, FarEnd};
use lineproof_core::difference::{Difference, Whereabouts, difference};
use lineproof_simulator::{Body, Cable, Instrument, Scenario, Water, linear_grid};

const LENGTH_M: f64 = 8.0;
const END: FarEnd = FarEnd::Load;

fn scenario() -> Scenario {
    Scenario::new(Cable::solid_pe_50(), LENGTH_M)
        .ended_by(&[END])
        .on_grid(linear_grid(1e6, 900e6, 401))
}

fn compared(before: &Scenario, after: &Scenario, seed: u64) -> Difference {
    let first = before.visited(seed, 0).unwrap();
    let then = after.visited(seed, 1).unwrap();
    difference(
        first.sweep(END).unwrap(),
        then.sweep(END).unwrap(),
        first.truth.connected_one_way_delay_s(300e6),
        false,
        &Analyser::POCKET,
    )
    .unwrap()
}

/// Metres along the cable without its plug.
fn place_m(scenario: &Scenario, two_way_s: f64) -> f64 {
    let truth = scenario.simulate(1).unwrap().truth;
    let plug_s = 0.5 * (truth.connected_one_way_delay_s(300e6) - truth.one_way_delay_s(300e6));
    (0.5 * two_way_s - plug_s) * truth.velocity_factor(300e6) * 299_792_458.0
}

#[test]
fn the_same_cable_on_two_days_has_not_changed() {
    for instrument in [Instrument::POCKET, Instrument::GOOD, Instrument::POOR] {
        let scenario = scenario().measured_with(instrument);
        let noticed = (1..=25).filter(|&seed| {
            let along =
                |d: &Difference| d.places.iter().any(|p| p.whereabouts == Whereabouts::Along);
            along(&compared(&scenario, &scenario, seed))
        });
        assert_eq!(noticed.count(), 0, "{instrument:?}");
    }
}

#[test]
fn a_joint_that_moved_is_found_where_it_is() {
    let good = scenario();
    let body = |ohm| Body::with_joint(Cable::solid_pe_50(), LENGTH_M, 3.0, ohm, 0.2e-9);
    for seed in 1..=5 {
        let before = scenario().with_body(body(0.3));
        let after = scenario().with_body(body(3.0));
        let found = compared(&before, &after, seed);
        let first = found.places[0];
        assert_eq!(first.whereabouts, Whereabouts::Along, "{found:?}");
        assert_eq!(first.sign, Some(1.0), "{found:?}");
        let at_m = place_m(&good, first.two_way_s);
        // a peak far above its tolerance: a twentieth of the cell of 11 cm, twice
        assert!((at_m - 3.0).abs() < 0.03, "{at_m}");
    }
}

#[test]
fn water_since_then_is_found_where_it_begins() {
    let water = Water {
        eps_r_factor: 1.15,
        added_tan_delta: 0.01,
        corrosion_factor: 1.2,
    };
    let wet = Body::wet(Cable::solid_pe_50(), LENGTH_M, 5.0, 1.0, water);
    let found = compared(&scenario(), &scenario().with_body(wet), 3);
    let first = found.places[0];
    assert_eq!(first.sign, Some(-1.0), "{found:?}");
    let at_m = place_m(&scenario(), first.two_way_s);
    assert!((at_m - 5.0).abs() < 0.05, "{at_m}");
}
