//! Which sweep to take of a cable of which only the rough length is known, and what it cannot show.

use std::error::Error;

use lineproof_core::plan::{Dielectric, PlanRequest, Range, plan};
use lineproof_core::quantity::format_frequency;

fn main() -> Result<(), Box<dyn Error>> {
    let plan = plan(&PlanRequest {
        length_m: Range::about(20.0, 0.1),
        velocity_factor: Dielectric::SolidPolyethylene.velocity_factor(),
        points: 401,
        analyser_hz: Range {
            low: 50e3,
            high: 900e6,
        },
        resolution_m: None,
        frequencies_hz: vec![145e6],
    })?;
    for sweep in &plan.sweeps {
        let (start, stop) = (
            format_frequency(sweep.start_hz),
            format_frequency(sweep.stop_hz),
        );
        println!("{start} to {stop}, {} points", sweep.points);
    }
    for sentence in plan.reasons.iter().chain(&plan.blind) {
        println!("{sentence}");
    }
    Ok(())
}
