//! `lineproof network` and `lineproof remove-line`: a known line as a file, and taken off a sweep.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::formats::ReadOptions;
use lineproof_core::plan::Range;
use lineproof_core::quantity::{self, Reading};

use super::source::SourceArgs;
use super::values;
use crate::workflow::line_files::{NetworkAsked, RemovalAsked};
use crate::workflow::source::Source;

/// Examples under the help of `network`.
pub const NETWORK_EXAMPLES: &str = "\
Examples:
  lineproof network --type RG-213 --run 20m --sweep 1MHz..500MHz --write feeder.s2p
  lineproof network --finding reel.json --run 12m --write longer.s2p
  lineproof network --open open.s1p --load load.s1p --length 2.4m --run 12m --write longer.s2p";

/// Examples under the help of `remove-line`.
pub const REMOVAL_EXAMPLES: &str = "\
Examples:
  lineproof remove-line shack.s1p --type RG-213 --run 22m
  lineproof remove-line shack.s1p --finding feeder.json --write antenna.s1p

Measure the line itself first, with its far end open and with the load on it: a catalogue type
differs from your piece by enough to turn the phase anywhere.";

/// Arguments of `network`.
#[derive(Args, Debug)]
pub struct NetworkArgs {
    #[command(flatten)]
    source: SourceArgs,
    /// Length of the run; the swept piece itself if not given
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    run: Option<Reading>,
    /// Frequencies of the file
    #[arg(long, value_name = "RANGE", default_value = "10MHz..500MHz", value_parser = values::frequency_range)]
    sweep: Range,
    /// Points of the file
    #[arg(long, default_value_t = 401, value_parser = clap::value_parser!(u32).range(2..=100_001))]
    points: u32,
    /// Reference of the file, ohm
    #[arg(long, value_name = "OHM", default_value = "50ohm", value_parser = values::ohms)]
    refer_to: Reading,
    /// Touchstone file to write
    #[arg(long, value_name = "FILE")]
    pub write: PathBuf,
}

/// Arguments of `remove-line`.
#[derive(Args, Debug)]
pub struct RemovalArgs {
    /// Sweep taken at the near end of the line
    #[arg(value_name = "SWEEP")]
    pub sweep: PathBuf,
    #[command(flatten)]
    source: SourceArgs,
    /// Length of the line; the swept piece itself if not given
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    run: Option<Reading>,
    /// Touchstone file of the far end to write
    #[arg(long, value_name = "FILE")]
    pub write: Option<PathBuf>,
    /// Print JSON for programs
    #[arg(long)]
    pub json: bool,
}

impl NetworkArgs {
    /// The cable.
    pub fn source(&self) -> Source {
        self.source.source(&[self.sweep.low, self.sweep.high])
    }

    /// What is wanted of it.
    pub fn asked(&self) -> NetworkAsked {
        NetworkAsked {
            run_m: self.run.map(|r| r.value),
            start_hz: self.sweep.low,
            stop_hz: self.sweep.high,
            points: self.points as usize,
            z_ref_ohm: self.refer_to.value,
        }
    }
}

impl RemovalArgs {
    /// The line.
    pub fn source(&self) -> Source {
        self.source.source(&[])
    }

    /// What is to be taken off.
    pub fn asked(&self) -> RemovalAsked {
        RemovalAsked {
            run_m: self.run.map(|r| r.value),
        }
    }

    /// How the sweep is read.
    pub fn read(&self) -> ReadOptions {
        self.source.read_options()
    }
}
