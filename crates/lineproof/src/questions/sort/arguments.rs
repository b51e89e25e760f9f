//! `lineproof sort`: a whole box of cables, one line each.

use std::path::PathBuf;

use clap::Args;

use crate::cli::facts::{SaidArgs, Sort};

/// Examples under the help of the verb.
pub const EXAMPLES: &str = "\
Examples:
  lineproof sort rally-box/ --impedance 50 --load-ohms 49.97
  lineproof sort store/ --criteria club.toml --use 145MHz
  lineproof sort mast/ shed/ --csv > cables.csv
  lineproof sort --manifest box.csv --resume box.done
  lineproof sort /media/card --watch

Name the sweeps of one cable after the cable and the far end: mast1-open.s1p and mast1-load.s1p.
Files named only open.s1p or load.s1p belong to the cable that their folder is named after. A
manifest is a table with a header and one row for each file: file, cable, and optionally far_end,
length, marked, marked_impedance.";

/// Arguments of `sort`.
#[derive(Args, Debug)]
pub struct SortArgs {
    /// Folders to search, with their subfolders
    #[arg(value_name = "FOLDERS", required_unless_present = "manifest")]
    pub(crate) folders: Vec<PathBuf>,
    /// Table that assigns files to cables
    #[arg(long, value_name = "FILE", conflicts_with_all = ["folders", "watch"])]
    pub(crate) manifest: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) facts: SaidArgs<Sort>,
    /// Record progress in this file, and resume from it
    #[arg(
        long,
        value_name = "FILE",
        help_heading = "Work",
        conflicts_with = "watch"
    )]
    pub(crate) resume: Option<PathBuf>,
    /// Wait for files, and analyse each cable when its sweeps arrive; press Ctrl-C to stop
    #[arg(long, help_heading = "Work")]
    pub(crate) watch: bool,
    /// Print JSON
    #[arg(long, help_heading = "Output", conflicts_with = "csv")]
    pub(crate) json: bool,
    /// Print CSV
    #[arg(long, help_heading = "Output")]
    pub(crate) csv: bool,
}
