//! `lineproof compare`: two sets of sweeps of one cable.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::bench::Marking;
use lineproof_core::quantity::{self, Reading};

use super::read::ReadArgs;
use super::values;
use crate::workflow::assay::{Input, Role};
use crate::workflow::compare::CompareRequest;
use crate::workflow::knowledge::Knowledge;

/// Examples under the help of the verb.
pub const EXAMPLES: &str = "\
Examples:
  lineproof compare --before old/open.s1p old/load.s1p --after open.s1p load.s1p
  lineproof compare --before still.s1p --after flexed.s1p --length 12.40m --json
  lineproof compare --before open:a.s1p --after open:b.s1p --load-ohms 49.97

Far ends are judged from data and name; open:FILE, short:FILE, load:FILE and through:FILE say them.
Sweeps with the same far end are compared point by point.";

/// Arguments of `compare`.
#[derive(Args, Debug)]
pub struct CompareArgs {
    /// Sweeps of the first time
    #[arg(long, value_name = "FILE", num_args = 1.., required = true)]
    before: Vec<String>,
    /// Sweeps of the second time
    #[arg(long, value_name = "FILE", num_args = 1.., required = true)]
    after: Vec<String>,
    /// Resistance of the calibration load by ohmmeter, ohm
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    load_ohms: Option<Reading>,
    /// Resistance at the far end of the load sweeps, ohm, if it is not the calibration load
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    far_load_ohms: Option<Reading>,
    /// The two were calibrated with different loads, so the load's error does not cancel
    #[arg(long)]
    other_load: bool,
    /// The cable had the same temperature both times; else 5 K are allowed for
    #[arg(long)]
    same_temperature: bool,
    /// Length of the cable by tape, between its plugs
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    length: Option<Reading>,
    /// Velocity factor for distances, if no length gives it
    #[arg(long, value_name = "RATIO", value_parser = values::velocity_factor)]
    velocity_factor: Option<Reading>,
    /// Frequencies at which loss is compared besides the usual ones
    #[arg(long, value_name = "FREQUENCY", value_delimiter = ',', value_parser = quantity::parse_frequency_hz)]
    frequency: Vec<Reading>,
    #[command(flatten)]
    read: ReadArgs,
    /// Print JSON for programs
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

impl CompareArgs {
    /// The request that the arguments make.
    pub fn request(&self) -> CompareRequest {
        CompareRequest {
            before: self.before.iter().map(|f| input(f)).collect(),
            after: self.after.iter().map(|f| input(f)).collect(),
            read: self.read.options(),
            knowledge: Knowledge {
                load_ohm: self.load_ohms,
                far_load_ohm: self.far_load_ohms,
                length_m: self.length,
                marking: Marking {
                    velocity_factor: self.velocity_factor.map(|r| r.value),
                    ..Marking::default()
                },
                ..Knowledge::default()
            },
            other_load: self.other_load,
            same_temperature: self.same_temperature,
            frequencies_hz: self.frequency.iter().map(|r| r.value).collect(),
        }
    }
}

/// A file with its far end, if that is said before a colon.
fn input(text: &str) -> Input {
    let roles = [
        ("open:", Role::Open),
        ("short:", Role::Short),
        ("load:", Role::Load),
        ("through:", Role::Through),
    ];
    let said = roles
        .iter()
        .find_map(|(word, role)| Some((text.strip_prefix(word)?, *role)));
    let (path, role) = said.unwrap_or((text, Role::Judge));
    Input {
        path: PathBuf::from(path),
        role,
    }
}
