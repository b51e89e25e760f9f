//! Simulated cables to estimate.

use lineproof_core::bench::{Bench, Load};
use lineproof_core::estimate::{Estimate, estimate};
use lineproof_simulator::{Cable, Scenario, Simulation};

/// The everyday case: 1.5 m, open and loaded, 401 points each on a pocket analyser.
pub fn everyday(seed: u64) -> Simulation {
    let scenario = Scenario::new(Cable::solid_pe_75(), 1.5);
    scenario.simulate(seed).expect("a rising grid")
}

/// What the program gets of it: the load's value by ohmmeter.
pub fn bench(simulation: &Simulation) -> Bench {
    let kit_load = Load::by_ohmmeter(simulation.truth.load_ohm);
    let mut bench = Bench::new(kit_load).expect("a positive load");
    for (far_end, sweep) in &simulation.sweeps {
        let added = bench.add_sweep(*far_end, sweep.clone(), far_end.to_string());
        added.expect("one reference");
    }
    bench
}

/// Our estimate, from readings to intervals.
pub fn assay(bench: &Bench) -> Estimate {
    estimate(bench).expect("a sound cable")
}
