//! `lineproof compare`: two sets of sweeps of one cable.

use std::path::PathBuf;

use clap::Args;

use super::facts::{Compare, SaidArgs};
use crate::facts::table;
use crate::workflow::assay::{Input, Role};
use crate::workflow::compare::CompareRequest;

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
    /// The two were calibrated with different loads, so the load's error does not cancel
    #[arg(long)]
    other_load: bool,
    /// The cable had the same temperature both times; else 5 K are allowed for
    #[arg(long)]
    same_temperature: bool,
    #[command(flatten)]
    facts: SaidArgs<Compare>,
    /// Print JSON for programs
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

impl CompareArgs {
    /// The request that the arguments make.
    pub fn request(&self) -> CompareRequest {
        let mut said = self.facts.request();
        let velocity_factor = self.facts.read(|typed| typed.get(&table::VELOCITY_FACTOR));
        said.knowledge.marking.velocity_factor = velocity_factor.map(|r| r.value);
        CompareRequest {
            before: self.before.iter().map(|f| input(f)).collect(),
            after: self.after.iter().map(|f| input(f)).collect(),
            read: said.read,
            knowledge: said.knowledge,
            other_load: self.other_load,
            same_temperature: self.same_temperature,
            frequencies_hz: said.asked.frequencies_hz,
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
