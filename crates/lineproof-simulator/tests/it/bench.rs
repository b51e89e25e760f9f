//! Simulated sweeps as a bench, with what is known of the calibration load.

use lineproof_core::bench::{Analyser, Bench, EndedSweep, FarEnd, Load, Marking, Plane};
use lineproof_core::sweep::Sweep;
use lineproof_simulator::Simulation;

/// All reflection sweeps.
pub(crate) fn of(simulation: &Simulation, load: Load) -> Bench {
    of_sweeps(load, simulation.sweeps.iter().cloned())
}

/// Sweeps that were read against the nominal reference.
pub(crate) fn of_sweeps(load: Load, sweeps: impl IntoIterator<Item = (FarEnd, Sweep)>) -> Bench {
    let ended = |(far_end, sweep): (FarEnd, Sweep)| EndedSweep {
        far_end,
        sweep: sweep
            .with_reference(load.ohm.value)
            .expect("a positive reference"),
        label: far_end.to_string(),
    };
    Bench {
        sweeps: sweeps.into_iter().map(ended).collect(),
        throughs: Vec::new(),
        kit_load: load,
        far_load: load,
        length_m: None,
        marking: Marking::default(),
        analyser: Analyser::POCKET,
        shorter: None,
        plane: Plane::default(),
    }
}
