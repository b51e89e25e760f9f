//! Which types of cable have what was measured.

use std::error::Error;

use lineproof_core::identify::{LossSeen, Observed, Per, identify};
use lineproof_core::{Catalogue, Uncertain};

fn main() -> Result<(), Box<dyn Error>> {
    let catalogue = Catalogue::built_in();
    let known = catalogue.find("rg59b")?;
    println!("{}: {} ohm", known.designation, known.z0_ohm.value);

    let observed = Observed {
        impedance_ohm: Some(Uncertain::new(75.0, 0.2)),
        velocity_factor: Some(Uncertain::new(0.66, 0.003)),
        loss: vec![LossSeen {
            freq_hz: 100e6,
            per: Per::Metre,
            db: Uncertain::new(0.112, 0.002),
        }],
        ..Observed::default()
    };
    let identification = identify(catalogue, &observed).ok_or("nothing was observed")?;
    for candidate in identification.candidates.iter().take(3) {
        let names: Vec<_> = candidate
            .members
            .iter()
            .map(|(name, _)| name.as_str())
            .collect();
        println!("{:.2} {}", candidate.probability, names.join(", "));
    }
    println!("{:.2} none of these", identification.none);
    Ok(())
}
