//! `lineproof sort`: a whole box of cables, one line each.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::quantity::{self, Reading};

use super::assay::criteria;
use super::read::ReadArgs;
use super::values;
use crate::workflow::assay::AssayRequest;
use crate::workflow::knowledge::Knowledge;
use crate::workflow::plane::PlaneSaid;
use lineproof_core::finding::judge::Asked;
use lineproof_core::finding::judge::Purpose;
use lineproof_core::finding::judge::criteria::Criteria;

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
    pub(crate) asked: AskedArgs,
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

/// What holds for every cable of a box.
#[derive(Args, Debug)]
pub struct AskedArgs {
    /// Impedance that your system needs, ohm
    #[arg(long, value_name = "OHM", visible_alias = "system-impedance", value_parser = values::ohms)]
    impedance: Option<Reading>,
    /// Frequency of use
    #[arg(long = "use", value_name = "FREQUENCY", value_parser = quantity::parse_frequency_hz)]
    use_at: Option<Reading>,
    /// What a cable must keep to, a TOML file
    #[arg(long, value_name = "FILE", value_parser = criteria)]
    criteria: Option<Criteria>,
    /// Resistance of the calibration load by ohmmeter, ohm
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    load_ohms: Option<Reading>,
    #[command(flatten)]
    read: ReadArgs,
}

impl AskedArgs {
    /// What holds for every cable; files, length and marking come from the box.
    pub(crate) fn request(&self) -> AssayRequest {
        AssayRequest {
            inputs: Vec::new(),
            read: self.read.options(),
            knowledge: Knowledge {
                load_ohm: self.load_ohms,
                ..Knowledge::default()
            },
            plane: PlaneSaid::default(),
            asked: Asked {
                criteria: self.criteria.unwrap_or_default(),
                purpose: Purpose {
                    system_ohm: self.wanted_ohm(),
                    use_hz: self.use_at.map(|r| r.value),
                },
                ..Asked::default()
            },
        }
    }

    /// Impedance that the system needs, ohm.
    pub(crate) fn wanted_ohm(&self) -> Option<f64> {
        self.impedance.map(|r| r.value)
    }
}
