//! What the jacket claims, shared by the verbs that compare with it.

use clap::Args;
use lineproof_core::bench::{MarkedLoss, Marking};
use lineproof_core::quantity::{AttenuationReading, Reading};

use super::values;

/// Arguments that say what the jacket claims.
#[derive(Args, Debug)]
#[command(next_help_heading = "What the jacket claims")]
pub(crate) struct MarkingArgs {
    /// Type printed on it
    #[arg(long, value_name = "TYPE")]
    marked: Option<String>,
    /// Impedance, ohm
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    marked_impedance: Option<Reading>,
    /// Velocity factor
    #[arg(long, value_name = "RATIO", value_parser = values::velocity_factor)]
    marked_velocity_factor: Option<Reading>,
    /// Attenuation, for example 8.2dB/100m@100MHz
    #[arg(long, value_name = "LOSS", value_parser = values::attenuation_at)]
    marked_loss: Option<AttenuationReading>,
}

impl MarkingArgs {
    pub(crate) fn marking(&self) -> Marking {
        Marking {
            designation: self.marked.clone(),
            impedance_ohm: self.marked_impedance.map(|r| r.value),
            velocity_factor: self.marked_velocity_factor.map(|r| r.value),
            loss: self.marked_loss.and_then(marked_loss),
        }
    }
}

fn marked_loss(reading: AttenuationReading) -> Option<MarkedLoss> {
    reading.at_hz.map(|at| MarkedLoss {
        db_per_100m: reading.db_per_100m.value,
        at_hz: at.value,
    })
}
