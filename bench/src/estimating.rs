//! Simulated cables to estimate.

use lineproof_core::bench::{Analyser, Bench, EndedSweep, Load, Marking, Plane};
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
    let sweeps = simulation.sweeps.iter().map(|(far_end, sweep)| EndedSweep {
        far_end: *far_end,
        sweep: sweep
            .clone()
            .with_reference(kit_load.ohm.value)
            .expect("a positive reference"),
        label: far_end.to_string(),
    });
    Bench {
        sweeps: sweeps.collect(),
        throughs: Vec::new(),
        kit_load,
        far_load: kit_load,
        length_m: None,
        marking: Marking::default(),
        analyser: Analyser::POCKET,
        shorter: None,
        plane: Plane::default(),
    }
}

/// Our estimate, from readings to intervals.
pub fn assay(bench: &Bench) -> Estimate {
    estimate(bench).expect("a sound cable")
}
