//! Reports and pictures: the arguments of `report`, and those of `assay` that write files.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::questions::shelf::arguments::{CablesArgs, WhichShelf};

/// Examples under the help of the verb.
pub const EXAMPLES: &str = "\
Examples:
  lineproof report mast-1 --output mast-1.html
  lineproof report --all --output shelf.pdf
  lineproof assay open.s1p load.s1p --report cable.html --picture smith.svg

The page needs no other files. A PDF needs a build with the feature `pdf`; otherwise print the page
to PDF in a browser.";

/// Arguments of `report`.
#[derive(Args, Debug)]
pub struct ReportArgs {
    #[command(flatten)]
    pub(crate) cables: CablesArgs,
    /// Report to write (.html or .pdf); an existing file is replaced
    #[arg(long, value_name = "FILE")]
    pub(crate) output: PathBuf,
    #[command(flatten)]
    pub(crate) which: WhichShelf,
}

/// Files that an assay writes besides its answer.
#[derive(Args, Debug)]
#[command(next_help_heading = "Output")]
pub struct FilesArgs {
    /// Write a printable report (.html or .pdf)
    #[arg(long, value_name = "FILE")]
    pub(crate) report: Option<PathBuf>,
    /// Write a picture (.svg or .png)
    #[arg(long, value_name = "FILE")]
    pub(crate) picture: Option<PathBuf>,
    /// Which picture
    #[arg(
        long,
        value_name = "KIND",
        requires = "picture",
        default_value = "smith"
    )]
    pub(crate) picture_of: PictureKind,
}

/// The pictures.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum PictureKind {
    /// Smith chart with the points that methods read
    Smith,
    /// Impedance along the cable
    Profile,
    /// Loss against frequency
    Loss,
    /// Return loss against frequency
    ReturnLoss,
}
