//! `lineproof shelf`: the record of cables, and the arguments that put an assay there.

use std::path::PathBuf;

use clap::{Args, Subcommand};
use lineproof_record::{Edit, Filter, Shelf, ShelfError};

use crate::cli::facts::{SaidArgs, ShelfListed};
use crate::facts::Setup;
use crate::facts::table::shelf as of_shelf;
use crate::workflow::shelf;

/// Examples under the help of the verb.
pub const EXAMPLES: &str = "\
Examples:
  lineproof assay open.s1p load.s1p --length 2.400m --shelve mast-1
  lineproof shelf list --text mast
  lineproof shelf show mast-1
  lineproof shelf edit mast-1 --place \"lamp room, hook 4\"
  lineproof shelf decide mast-1 keep --why \"good to 430 MHz\"
  lineproof shelf again
  lineproof shelf export all-cables.zip";

/// Which shelf.
#[derive(Args, Debug)]
pub struct WhichShelf {
    /// Shelf file; default in your data folder
    #[arg(
        long = "shelf",
        value_name = "FILE",
        env = "LINEPROOF_SHELF",
        global = true
    )]
    path: Option<PathBuf>,
}

/// Cables of a shelf by their tags, or all that are in use.
#[derive(Args, Debug)]
pub struct CablesArgs {
    /// Tags of the cables; each with its newest assay
    #[arg(value_name = "TAGS", required_unless_present = "all")]
    tags: Vec<String>,
    /// All cables in use
    #[arg(long, conflicts_with = "tags")]
    all: bool,
}

impl CablesArgs {
    /// Their tags.
    ///
    /// # Errors
    /// [`ShelfError`] if the shelf can't be read.
    pub fn tags(&self, shelf: &Shelf) -> Result<Vec<String>, ShelfError> {
        if !self.all {
            return Ok(self.tags.clone());
        }
        let cables = shelf.cables(&Filter::default())?;
        Ok(cables.into_iter().map(|l| l.cable.tag).collect())
    }
}

/// Puts the assay on the shelf.
#[derive(Args, Debug)]
#[command(next_help_heading = "Record")]
pub struct ShelveArgs {
    /// Store the sweeps and the finding on the shelf under this tag
    #[arg(long, value_name = "TAG")]
    pub shelve: Option<String>,
    #[command(flatten)]
    pub(crate) which: WhichShelf,
    /// Date of the sweeps, such as 2026-05-31; default today
    #[arg(long, value_name = "DATE", requires = "shelve", value_parser = date)]
    pub(crate) measured_on: Option<String>,
    /// Name of the analyser
    #[arg(long, value_name = "NAME", requires = "shelve")]
    instrument: Option<String>,
    /// Description of the calibration kit; give its file with --kit
    #[arg(long, value_name = "TEXT", requires = "shelve")]
    kit_note: Option<String>,
}

/// Arguments of `shelf`.
#[derive(Args, Debug)]
pub struct ShelfArgs {
    #[command(flatten)]
    pub(crate) which: WhichShelf,
    /// What to do with it
    #[command(subcommand)]
    pub(crate) what: ShelfVerb,
}

/// What can be done with a shelf.
#[derive(Debug, Subcommand)]
pub(crate) enum ShelfVerb {
    /// List cables with their newest finding
    List(ListArgs),
    /// Show one cable: findings, changes, decisions, notes
    Show {
        /// Its tag
        tag: String,
        /// Print JSON
        #[arg(long)]
        json: bool,
    },
    /// Change tag, description or place
    Edit(EditArgs),
    /// Take a cable out of use; nothing is deleted
    Retire {
        /// Its tag
        tag: String,
        /// Why
        #[arg(long, value_name = "TEXT", default_value = "")]
        why: String,
    },
    /// Take a retired cable back into use
    TakeBack {
        /// Its tag
        tag: String,
    },
    /// Record a decision: keep, repair, discard …
    Decide {
        /// Tag of the cable
        tag: String,
        /// What
        action: String,
        /// Why
        #[arg(long, value_name = "TEXT", default_value = "")]
        why: String,
    },
    /// Add a note
    Note {
        /// Tag of the cable
        tag: String,
        /// The note
        text: String,
    },
    /// Add a photo
    Photo {
        /// Tag of the cable
        tag: String,
        /// The photo's file
        file: PathBuf,
        /// What it shows
        #[arg(long, value_name = "TEXT", default_value = "")]
        caption: String,
    },
    /// Run today's program on the stored sweeps, and show what differs
    Again {
        /// Tags; default: all cables in use
        tags: Vec<String>,
        /// Store the new findings beside the old ones
        #[arg(long)]
        keep: bool,
    },
    /// Export everything to a zip: tables as JSON lines and CSV, sweeps and photos as files
    Export {
        /// The zip to write
        file: PathBuf,
    },
    /// Import everything from such a zip
    Import {
        /// The zip to read
        file: PathBuf,
    },
    /// Copy the whole shelf, even while it is in use
    BackUp {
        /// The copy to write
        file: PathBuf,
    },
    /// Check that the shelf is intact
    Check,
}

/// Arguments of `shelf list`.
#[derive(Args, Debug)]
pub(crate) struct ListArgs {
    /// Include retired cables
    #[arg(long)]
    all: bool,
    /// Only cables whose tag, description or place contains this
    #[arg(long, value_name = "TEXT")]
    text: Option<String>,
    #[command(flatten)]
    facts: SaidArgs<ShelfListed>,
    /// Only cables in this condition: sound, suspect, faulty or undetermined
    #[arg(long, value_name = "CONDITION")]
    condition: Option<String>,
    /// Print JSON
    #[arg(long)]
    pub(crate) json: bool,
}

/// Arguments of `shelf edit`.
#[derive(Args, Debug)]
pub(crate) struct EditArgs {
    /// Tag of the cable
    pub(crate) tag: String,
    /// New tag
    #[arg(long, value_name = "TAG", required_unless_present_any = ["description", "place"])]
    new_tag: Option<String>,
    /// What it is
    #[arg(long, value_name = "TEXT")]
    description: Option<String>,
    /// Where it is stored
    #[arg(long, value_name = "TEXT")]
    place: Option<String>,
}

/// Relative half-width of the range that `--impedance` asks for.
const ABOUT: f64 = 0.1;

impl WhichShelf {
    /// The file, unless nobody says and the platform has no folder for it.
    pub(crate) fn path(&self) -> Option<PathBuf> {
        self.path.clone().or_else(shelf::usual_place)
    }
}

impl ShelveArgs {
    /// Writes the owner's words for analyser and kit into the set-up.
    pub(crate) fn note(&self, setup: &mut Setup) {
        setup.instrument.clone_from(&self.instrument);
        setup.kit_note.clone_from(&self.kit_note);
    }
}

impl ListArgs {
    pub(crate) fn filter(&self) -> Filter {
        let impedance = self.facts.read(|typed| typed.get(&of_shelf::IMPEDANCE));
        Filter {
            retired: self.all,
            text: self.text.clone(),
            impedance_ohm: impedance.map(|r| (r.value * (1.0 - ABOUT), r.value * (1.0 + ABOUT))),
            condition: self.condition.clone(),
        }
    }
}

impl EditArgs {
    pub(crate) fn edit(&self) -> Edit {
        Edit {
            tag: self.new_tag.clone(),
            description: self.description.clone(),
            place: self.place.clone(),
        }
    }
}

/// A day, at noon in UTC: the same day nearly everywhere.
/// A day as the shelf writes it.
pub(crate) fn date(text: &str) -> Result<String, String> {
    let day: jiff::civil::Date = text
        .parse()
        .map_err(|_| format!("expected a date such as `2026-05-31`, found `{text}`"))?;
    Ok(format!("{day}T12:00:00Z"))
}
