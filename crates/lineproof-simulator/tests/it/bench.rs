//! Simulated sweeps as a bench, with what is known of the calibration load.

use lineproof_core::bench::{Bench, FarEnd, Load};
use lineproof_core::sweep::Sweep;
use lineproof_simulator::Simulation;

/// All reflection sweeps.
pub(crate) fn of(simulation: &Simulation, load: Load) -> Bench {
    of_sweeps(load, simulation.sweeps.iter().cloned())
}

/// Sweeps that were read against the nominal reference.
pub(crate) fn of_sweeps(load: Load, sweeps: impl IntoIterator<Item = (FarEnd, Sweep)>) -> Bench {
    let mut bench = Bench::new(load).expect("a positive load");
    for (far_end, sweep) in sweeps {
        let added = bench.add_sweep(far_end, sweep, far_end.to_string());
        added.expect("one reference");
    }
    bench
}
