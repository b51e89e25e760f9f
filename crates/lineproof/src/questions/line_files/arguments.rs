//! Which line, and what is wanted of it.

use std::path::{Path, PathBuf};

use clap::Args;
use lineproof_core::known::{
    LineFileError, Removed, TwoPortAsked, far_end_file, removed, two_port_file,
};

use super::text::NetworkFile;
use crate::cli::facts::{Network, Removal, SAID, SaidArgs};
use crate::facts::Typed;
use crate::facts::table::line;
use crate::questions::ask::Ask;
use crate::questions::cable::arguments::SourceArgs;
use crate::questions::cable::source;
use crate::questions::unanswered::Unanswered;
use crate::workflow::load;

/// Examples under the help of `network`.
pub(super) const NETWORK_EXAMPLES: &str = "\
Examples:
  lineproof network --type RG-213 --run 20m --sweep 1MHz..500MHz --write feeder.s2p
  lineproof network --finding reel.json --run 12m --write longer.s2p
  lineproof network --open open.s1p --load load.s1p --length 2.4m --run 12m --write longer.s2p";

/// Examples under the help of `remove-line`.
pub(super) const REMOVAL_EXAMPLES: &str = "\
Examples:
  lineproof remove-line shack.s1p --type RG-213 --run 22m
  lineproof remove-line shack.s1p --finding feeder.json --write antenna.s1p

Measure the line itself first, with its far end open and with the load on it: a catalogue type
differs from your piece by enough to make the phase meaningless.";

/// Arguments of `network`.
#[derive(Args, Debug)]
pub(crate) struct NetworkArgs {
    #[command(flatten)]
    source: SourceArgs,
    #[command(flatten)]
    facts: SaidArgs<Network>,
    /// Touchstone file to write
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    write: PathBuf,
}

/// Arguments of `remove-line`.
#[derive(Args, Debug)]
pub(crate) struct RemovalArgs {
    /// Sweep at the near end of the line
    #[arg(value_name = "SWEEP")]
    sweep: PathBuf,
    #[command(flatten)]
    source: SourceArgs,
    #[command(flatten)]
    facts: SaidArgs<Removal>,
    /// Touchstone file to write, for the far end
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    write: Option<PathBuf>,
    /// Print JSON
    #[arg(long, help_heading = "Output")]
    json: bool,
}

impl Ask for NetworkArgs {
    type Answer = NetworkFile;

    fn ask(&self) -> Result<NetworkFile, Unanswered> {
        let asked = self.facts.read(asked).expect(SAID);
        let cable = source::cable(&self.source.source(&[asked.start_hz, asked.stop_hz]))?;
        let file = two_port_file(&cable, &asked)?;
        write(&self.write, &file.text)?;
        Ok(NetworkFile {
            written: self.write.display().to_string(),
            what: file.what,
            known: file.known,
        })
    }
}

impl Ask for RemovalArgs {
    type Answer = Removed;

    fn ask(&self) -> Result<Removed, Unanswered> {
        let cable = source::cable(&self.source.source(&[]))?;
        let loaded = load::load(&self.sweep, &self.source.read_options());
        let sweep = loaded
            .map_err(|e| Unanswered::unread(&e))?
            .measurement
            .network;
        let run = self.facts.read(|typed| typed.get(&line::RUN));
        let removed = removed(&cable, &sweep, run.map(|r| r.value))?;
        if let Some(path) = &self.write {
            write(path, &far_end_file(&removed)?)?;
        }
        Ok(removed)
    }

    fn json(&self) -> bool {
        self.json
    }
}

fn asked(typed: &mut Typed<'_>) -> Option<TwoPortAsked> {
    let range = typed.get(&line::SWEEP)?;
    Some(TwoPortAsked {
        run_m: typed.get(&line::RUN).map(|r| r.value),
        start_hz: range.low,
        stop_hz: range.high,
        points: typed.get(&line::POINTS)? as usize,
        z_ref_ohm: typed.get(&line::REFER_TO)?.value,
    })
}

impl From<LineFileError> for Unanswered {
    fn from(error: LineFileError) -> Self {
        match error {
            LineFileError::Cable(error) => error.into(),
            error => Self::usage(error),
        }
    }
}

fn write(path: &Path, text: &str) -> Result<(), Unanswered> {
    let failed = |e| Unanswered::output(format!("cannot write `{}`: {e}", path.display()));
    std::fs::write(path, text).map_err(failed)
}
