//! `lineproof sort`: a whole box of cables, one line each.

use std::path::PathBuf;

use clap::Args;

use crate::cli::facts::SaidArgs;
use crate::cli::facts::Sort;

/// Examples under the help of the verb.
pub const EXAMPLES: &str = "\
Examples:
  lineproof sort rally-box/ --impedance 50 --load-ohms 49.97
  lineproof sort store/ --criteria club.toml --use 145MHz
  lineproof sort mast/ shed/ --csv > cables.csv
  lineproof sort --manifest box.csv --resume box.done
  lineproof sort /media/card --watch

Sweeps of one cable share a name, apart from what ended the far end: mast1-open.s1p and
mast1-load.s1p. Files named only open.s1p, load.s1p belong to the cable their folder is named
after. A manifest is a table with a header, one row for each file: file, cable, and if you like
far_end, length, marked, marked_impedance.";

/// Arguments of `sort`.
#[derive(Args, Debug)]
pub struct SortArgs {
    /// Folders to look through, with the folders in them
    #[arg(value_name = "FOLDERS", required_unless_present = "manifest")]
    pub(crate) folders: Vec<PathBuf>,
    /// Table that says which file belongs to which cable
    #[arg(long, value_name = "FILE", conflicts_with_all = ["folders", "watch"])]
    pub(crate) manifest: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) facts: SaidArgs<Sort>,
    /// Keep what is done in this file, and go on there after an interruption
    #[arg(
        long,
        value_name = "FILE",
        help_heading = "Work",
        conflicts_with = "watch"
    )]
    pub(crate) resume: Option<PathBuf>,
    /// Wait for files and take each cable as its sweeps arrive; end with Ctrl-C
    #[arg(long, help_heading = "Work")]
    pub(crate) watch: bool,
    /// Print JSON for programs
    #[arg(long, help_heading = "Output", conflicts_with = "csv")]
    pub(crate) json: bool,
    /// Print a table for a spreadsheet
    #[arg(long, help_heading = "Output")]
    pub(crate) csv: bool,
}
