//! Which two sets of sweeps.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::comparison::Compare as Asked;
use lineproof_core::gather::GatherError;

use super::read::{CompareRequest, Compared, compare};
use crate::cli::facts::{Compare, SaidArgs};
use crate::facts::table::{self, compare as of_compare};
use crate::facts::{Fact, Help, Surface};
use crate::questions::ask::Ask;
use crate::questions::unanswered::Unanswered;
use crate::workflow::assay::{Input, Role};
use crate::workflow::worded::AssayError;
use crate::{diagnostics, exit, output};

/// Examples under the help of the verb.
pub(super) const EXAMPLES: &str = "\
Examples:
  lineproof compare --before old/open.s1p old/load.s1p --after open.s1p load.s1p
  lineproof compare --before still.s1p --after flexed.s1p --length 12.40m --json
  lineproof compare --before open:a.s1p --after open:b.s1p --load-ohms 49.97

Data and name show the far end; open:FILE, short:FILE, load:FILE and through:FILE state it.
Sweeps with the same far end are compared point by point.";

/// Arguments of `compare`.
#[derive(Args, Debug)]
pub(crate) struct CompareArgs {
    /// Earlier sweeps
    #[arg(long, value_name = "FILE", num_args = 1.., required = true)]
    before: Vec<String>,
    /// Later sweeps
    #[arg(long, value_name = "FILE", num_args = 1.., required = true)]
    after: Vec<String>,
    #[command(flatten)]
    facts: SaidArgs<Compare>,
    /// Print JSON
    #[arg(long, help_heading = "Output")]
    json: bool,
}

impl Ask for CompareArgs {
    type Answer = Compared;

    fn ask(&self) -> Result<Compared, Unanswered> {
        let outcome = compare(&self.request());
        let unread = outcome.unread.iter().map(diagnostics::load_error);
        let refused = outcome.refused.iter();
        let refused = refused.map(|e| output::error_text(e, e.help(Surface::Terminal).as_deref()));
        let left_out: Vec<String> = unread.chain(refused).collect();
        match outcome.comparison {
            Ok(comparison) => Ok(Compared {
                comparison,
                left_out,
            }),
            Err(error) => Err(Unanswered {
                messages: left_out,
                code: match error {
                    AssayError::Gather(GatherError::Knowledge(_)) => exit::USAGE,
                    _ => exit::NOTHING_READ,
                },
                help: error.help(Surface::Terminal).map(Help::from),
                ..Unanswered::usage(error)
            }),
        }
    }

    fn json(&self) -> bool {
        self.json
    }
}

impl CompareArgs {
    fn request(&self) -> CompareRequest {
        let mut said = self.facts.request();
        let velocity_factor = self.facts.read(|typed| typed.get(&table::VELOCITY_FACTOR));
        said.knowledge.marking.velocity_factor = velocity_factor.map(|r| r.value);
        let says = |fact: &'static Fact<bool>| {
            let said = self.facts.read(|typed| typed.get(fact));
            said.unwrap_or_default()
        };
        CompareRequest {
            before: self.before.iter().map(|f| input(f)).collect(),
            after: self.after.iter().map(|f| input(f)).collect(),
            read: said.read,
            knowledge: said.knowledge,
            asked: Asked {
                other_load: says(&of_compare::OTHER_LOAD),
                same_temperature: says(&of_compare::SAME_TEMPERATURE),
                frequencies_hz: said.asked.frequencies_hz,
            },
        }
    }
}

/// A file with its far end, if that is said before a colon.
fn input(text: &str) -> Input {
    let said = text
        .split_once(':')
        .and_then(|(word, path)| Some((path, Role::of_far_end(word)?)));
    let (path, role) = said.unwrap_or((text, Role::Judge));
    Input {
        path: PathBuf::from(path),
        role,
    }
}
