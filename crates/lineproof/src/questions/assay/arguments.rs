//! `lineproof assay`: all sweeps of one cable in, one finding out.

use std::path::PathBuf;

use clap::Args;

use crate::cli::facts::{Assay, SaidArgs};
use crate::cli::plane::PlaneArgs;
use crate::cli::sweeps::{SweepArgs, inputs};
use crate::facts::ends;
use crate::questions::report::arguments::FilesArgs;
use crate::questions::shelf::arguments::ShelveArgs;
use crate::workflow::assay::{AssayRequest, Role};

/// Examples under the help of the verb.
pub const EXAMPLES: &str = "\
Examples:
  lineproof assay open.s1p load.s1p --length 1.5m --load-ohms 49.97
  lineproof assay open.s1p load.s1p --use 145MHz --full
  lineproof assay --open a.s1p --short b.s1p --marked RG-59 --marked-impedance 75
  lineproof assay --through feeder.s2p --length 22m --frequency 145MHz,430MHz
  lineproof assay open.csv --frequency-unit MHz --json
  lineproof assay open.s1p load.s1p --length 1.500m --shelve mast-1
  lineproof assay open.s1p --seen-inner-diameter 0.81mm --seen-dielectric-diameter 3.70mm
  lineproof assay open.s1p load.s1p --adapter near=sma-bnc --check open=again-open.s1p

Measure the load with an ohmmeter (subtract the leads) and give its resistance with --load-ohms: the
analyser measures every impedance in units of it.";

/// Arguments of `assay`.
#[derive(Args, Debug)]
pub struct AssayArgs {
    #[command(flatten)]
    sweeps: SweepArgs,
    #[arg(long, value_name = "FILE", help = ends::SHORTER, requires_all = ["through", "shorter_length"])]
    shorter: Option<PathBuf>,
    #[arg(value_name = "FILES", help = ends::JUDGE, required_unless_present_any = ["open", "short", "load", "antenna", "through"])]
    files: Vec<PathBuf>,

    #[command(flatten)]
    pub(crate) facts: SaidArgs<Assay>,
    #[command(flatten)]
    plane: PlaneArgs,
    #[command(flatten)]
    pub(crate) record: ShelveArgs,
    #[command(flatten)]
    pub(crate) files_written: FilesArgs,
    /// Write the time-domain response (TDR) against time and distance (CSV)
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    pub along: Option<PathBuf>,
    /// Print everything that was found, each method with its arithmetic
    #[arg(long, conflicts_with = "json", help_heading = "Output")]
    pub full: bool,
    /// Print JSON
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

impl AssayArgs {
    /// The request that the arguments make.
    pub fn request(&self) -> AssayRequest {
        let mut request = self.facts.request();
        request.inputs.extend(self.sweeps.inputs());
        request.inputs.extend(inputs(&self.files, Role::Judge));
        request.inputs.extend(inputs(&self.shorter, Role::Shorter));
        self.plane.add_to(&mut request);
        request
    }
}
