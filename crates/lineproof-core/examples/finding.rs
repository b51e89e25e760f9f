//! From a bench to a finding: what the cable is, whether it is sound, what to do with it.

mod common;

use std::error::Error;

use lineproof_core::finding::Condition;
use lineproof_core::finding::judge::{Asked, find};
use lineproof_core::line::input_impedance::Termination;
use lineproof_core::{Bench, FarEnd, Load, Marking, Uncertain};

fn main() -> Result<(), Box<dyn Error>> {
    let mut bench = Bench::new(Load::by_ohmmeter(50.0))?;
    let loaded = Termination::resistance(50.0);
    bench.add_sweep(FarEnd::Open, common::cable(Termination::Open), "open")?;
    bench.add_sweep(FarEnd::Load, common::cable(loaded), "load")?;
    let bench = bench
        .with_length(Some(Uncertain::new(3.0, 0.003)))?
        .with_marking(Marking {
            impedance_ohm: Some(50.0),
            ..Marking::default()
        });

    let finding = find(&bench, Vec::new(), &Asked::default());
    println!("condition: {:?}", finding.condition);
    if let Some(marking) = &finding.marking {
        println!("is what the jacket says: {:?}", marking.agrees);
    }
    if let Some(likeliest) = finding.types.first() {
        println!(
            "type: {}, probability {:.2}",
            likeliest.designation, likeliest.probability
        );
    }
    println!("do: {:?}", finding.verdict);
    for warning in &finding.warnings {
        println!("warning: {}", warning.text);
    }
    assert_ne!(finding.condition, Condition::Faulty);
    Ok(())
}
