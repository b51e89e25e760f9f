//! What to correct, and with what.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::calibration::correction::StatedAccuracy;

use super::correction::{CorrectError, CorrectRequest, Correction, correct};
use crate::cli::facts::{Correct, SaidArgs};
use crate::exit;
use crate::facts::table::{self, correct as of_correct};
use crate::facts::{self, Help, Typed};
use crate::questions::ask::Ask;
use crate::questions::unanswered::Unanswered;
use crate::workflow::fixture::Fixture;

/// Examples under the help of the verb.
pub(super) const EXAMPLES: &str = "\
Examples:
  lineproof correct --kit n-kit.toml --standard open=o.s1p --standard short=s.s1p \\
      --standard load=l.s1p cable-open.s1p cable-load.s1p --out corrected
  lineproof correct --called-ideal --load-ohms 49.92 cable-open.s1p
  lineproof correct --kit f75.toml --called-ideal --result-ohms 75 --de-embed pad.s2p tv.s1p
  lineproof correct --called-ideal --de-embed 120ps cable.s1p

A kit file describes the standards; docs/kits.md has its format. Without one, an ordinary open,
short and load are assumed, and the intervals widen accordingly.";

/// Arguments of `correct`.
#[derive(Args, Debug)]
pub(crate) struct CorrectArgs {
    /// Sweeps to correct
    #[arg(value_name = "FILES", required = true)]
    files: Vec<PathBuf>,
    /// Description of the standards (kit file)
    #[arg(long, value_name = "KIT")]
    kit: Option<PathBuf>,
    /// Raw sweep of a standard, by its name in the kit; open, short or load without a kit
    #[arg(long, value_name = "NAME=FILE", value_parser = standard, conflicts_with = "called_ideal")]
    standard: Vec<(String, PathBuf)>,
    /// Raw sweep of a long line of the kit's impedance that ends in a short or a load; its ripple
    /// shows what the calibration left
    #[arg(long, value_name = "FILE")]
    ripple: Vec<PathBuf>,
    /// Two-port to de-embed behind the calibrated plane: a file, or an adapter such as 120ps,
    /// 50ohm,120ps,0.03dB or sma-bnc; list several from the analyser outwards
    #[arg(long, value_name = "ADAPTER")]
    de_embed: Vec<String>,
    /// Folder for the corrected sweeps
    #[arg(
        long,
        value_name = "FOLDER",
        default_value = ".",
        help_heading = "Output"
    )]
    out: PathBuf,
    /// Overwrite existing files
    #[arg(long, help_heading = "Output")]
    overwrite: bool,
    #[command(flatten)]
    facts: SaidArgs<Correct>,
    /// Print JSON
    #[arg(long, help_heading = "Output")]
    json: bool,
}

impl Ask for CorrectArgs {
    type Answer = Correction;

    fn ask(&self) -> Result<Correction, Unanswered> {
        correct(&self.request()).map_err(|error| {
            let code = match error {
                CorrectError::Load(error) => return Unanswered::unread(&error),
                CorrectError::Calibration { .. } => exit::UNDETERMINED,
                CorrectError::Write { .. } => exit::OUTPUT,
                _ => exit::USAGE,
            };
            Unanswered {
                code,
                help: error.help().map(Help::from),
                ..Unanswered::usage(error)
            }
        })
    }

    fn json(&self) -> bool {
        self.json
    }
}

impl CorrectArgs {
    fn request(&self) -> CorrectRequest {
        let called_ideal = self
            .facts
            .read(|typed| typed.get(&of_correct::CALLED_IDEAL));
        let result = self.facts.read(|typed| typed.get(&of_correct::RESULT_OHMS));
        CorrectRequest {
            files: self.files.clone(),
            kit: self.kit.clone(),
            standards: self.standard.clone(),
            called_ideal: called_ideal.unwrap_or_default(),
            load_ohm: self.facts.read(|typed| typed.get(&table::LOAD_OHMS)),
            ripple: self.ripple.clone(),
            de_embed: self.de_embed.iter().map(|t| Fixture::named(t)).collect(),
            accuracy: self.facts.read(accuracy),
            result_ohm: result.map(|r| r.value),
            out: self.out.clone(),
            overwrite: self.overwrite,
            read: self.facts.read(facts::read_options),
        }
    }
}

fn accuracy(typed: &mut Typed<'_>) -> StatedAccuracy {
    StatedAccuracy {
        repeatability: typed.get(&of_correct::REPEATABILITY),
        noise: typed.get(&of_correct::NOISE),
        drift: typed.get(&of_correct::DRIFT),
    }
}

fn standard(text: &str) -> Result<(String, PathBuf), String> {
    match text.split_once('=') {
        Some((name, file)) if !name.is_empty() && !file.is_empty() => {
            Ok((name.to_owned(), PathBuf::from(file)))
        }
        _ => Err(format!(
            "expected a standard and its file such as `open=raw-open.s1p`, found `{text}`"
        )),
    }
}
