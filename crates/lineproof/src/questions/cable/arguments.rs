//! Arguments that say which cable, shared by the questions about one.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::formats::ReadOptions;

use super::source::{OnShelf, Source};
use crate::cli::facts::{Cable, SaidArgs};
use crate::cli::plane::PlaneArgs;
use crate::cli::sweeps::SweepArgs;
use crate::facts::{self, table};
use crate::questions::shelf::arguments::WhichShelf;

/// Arguments that say which cable.
#[derive(Args, Debug)]
#[command(next_help_heading = "Which cable")]
pub struct SourceArgs {
    /// Type from the catalogue
    #[arg(long = "type", value_name = "TYPE")]
    type_name: Option<String>,
    /// Finding that `assay --json` printed
    #[arg(long, value_name = "FILE")]
    finding: Option<PathBuf>,
    /// Cable of the shelf, with its newest finding
    #[arg(long, value_name = "TAG")]
    shelved: Option<String>,
    #[command(flatten)]
    which: WhichShelf,
    #[arg(skip)]
    on_shelf: Option<OnShelf>,
    #[command(flatten)]
    sweeps: SweepArgs,
    #[command(flatten)]
    plane: PlaneArgs,
    #[command(flatten)]
    facts: SaidArgs<Cable>,
}

impl SourceArgs {
    /// Names a cable of the shelf that whoever asks has open.
    pub fn name_on_shelf(&mut self, cable: OnShelf) {
        self.on_shelf = Some(cable);
    }

    fn on_shelf(&self) -> Option<OnShelf> {
        let by_tag = |tag: &String| OnShelf {
            name: format!("cable `{tag}`"),
            tag: tag.clone(),
            shelf: self.which.path(),
        };
        self.on_shelf
            .clone()
            .or_else(|| self.shelved.as_ref().map(by_tag))
    }

    /// How files are read.
    pub fn read_options(&self) -> ReadOptions {
        self.facts.read(facts::read_options)
    }

    /// The cable, with the frequencies at which it will be asked about.
    pub fn source(&self, frequencies_hz: &[f64]) -> Source {
        let mut request = self.facts.request();
        request.inputs.extend(self.sweeps.inputs());
        self.plane.add_to(&mut request);
        request.asked.frequencies_hz = frequencies_hz.to_vec();
        Source {
            type_name: self.type_name.clone(),
            finding: self.finding.clone(),
            shelved: self.on_shelf(),
            sweeps: (!request.inputs.is_empty()).then_some(request),
            rated_as: self.facts.read(|typed| typed.get(&table::RATED_AS)),
            own_types: self.facts.read(|typed| typed.get(&table::OWN_TYPES)),
        }
    }
}
