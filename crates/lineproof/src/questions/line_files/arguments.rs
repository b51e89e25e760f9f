//! Which line, and what is wanted of it.

use std::path::{Path, PathBuf};

use clap::Args;
use lineproof_core::known::{
    LineFileError, Removed, TwoPortAsked, far_end_file, removed, two_port_file,
};
use lineproof_core::plan::Range;
use lineproof_core::quantity::{self, Reading};

use super::text::NetworkFile;
use crate::facts::values;
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
    /// Length of the run; default: the swept piece
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    run: Option<Reading>,
    /// Frequencies of the file
    #[arg(long, value_name = "RANGE", default_value = "10MHz..500MHz", value_parser = values::frequency_range)]
    sweep: Range,
    /// Points of the file
    #[arg(long, default_value_t = 401, value_parser = clap::value_parser!(u32).range(2..=100_001))]
    points: u32,
    /// Reference impedance of the file, ohm
    #[arg(long, value_name = "OHM", default_value = "50ohm", value_parser = values::ohms)]
    refer_to: Reading,
    /// Touchstone file to write
    #[arg(long, value_name = "FILE")]
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
    /// Length of the line; default: the swept piece
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    run: Option<Reading>,
    /// Touchstone file to write, for the far end
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

impl Ask for NetworkArgs {
    type Answer = NetworkFile;

    fn ask(&self) -> Result<NetworkFile, Unanswered> {
        let cable = source::cable(&self.source.source(&[self.sweep.low, self.sweep.high]))?;
        let asked = TwoPortAsked {
            run_m: self.run.map(|r| r.value),
            start_hz: self.sweep.low,
            stop_hz: self.sweep.high,
            points: self.points as usize,
            z_ref_ohm: self.refer_to.value,
        };
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
        let removed = removed(&cable, &sweep, self.run.map(|r| r.value))?;
        if let Some(path) = &self.write {
            write(path, &far_end_file(&removed)?)?;
        }
        Ok(removed)
    }

    fn json(&self) -> bool {
        self.json
    }
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
