//! A cable of the shelf as a report shows it: its newest assay with the sweeps read again.

use std::error::Error;
use std::path::PathBuf;

use lineproof_core::formats::ReadOptions;
use lineproof_record::{Shelf, ShelfError, Sweep};
use thiserror::Error;

use crate::facts::Setup;
use crate::finding::Finding;
use crate::questions::shelf::text::day;
use crate::stored;
use crate::workflow::load;
use crate::workflow::load::Loaded;
use crate::workflow::pictures;
use crate::workflow::pictures::Shown;

/// One cable of a report.
#[derive(Clone, Debug)]
pub struct Subject {
    /// Tag, or how the cable is called.
    pub name: String,
    /// What the owner says of it.
    pub description: String,
    /// Day of the sweeps, if known.
    pub day: String,
    /// Analyser, kit and the like: what and which.
    pub setup: Vec<(&'static str, String)>,
    /// The finding.
    pub finding: Finding,
    /// The sweeps.
    pub sweeps: Vec<Shown>,
}

/// Why there is nothing to report.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SubjectError {
    /// The shelf.
    #[error(transparent)]
    Shelf(#[from] ShelfError),
    /// A cable that nobody has assayed.
    #[error("the cable `{tag}` has no assay")]
    NoAssay {
        /// Its tag.
        tag: String,
    },
}

/// The cable with this tag and its newest assay.
///
/// # Errors
/// [`SubjectError`].
pub fn of_shelf(shelf: &Shelf, tag: &str) -> Result<Subject, SubjectError> {
    let cable = shelf.cable(tag)?;
    let assays = shelf.assays(tag)?;
    let newest = assays.last().ok_or_else(|| SubjectError::NoAssay {
        tag: tag.to_owned(),
    })?;
    let assay = shelf.assay(&newest.id)?;
    let (options, setup) = match read_setup(&assay.setup) {
        Ok((options, setup)) => (options, setup.facts()),
        Err(error) => (
            ReadOptions::default(),
            vec![("Set-up", format!("can't be read: {error}"))],
        ),
    };
    let finding = stored::finding(&newest.finding);
    let files = assay.sweeps.into_iter();
    let read = |s: Sweep| load::understand(&PathBuf::from(s.file_name), s.bytes, &options).ok();
    let files: Vec<Loaded> = files.filter_map(read).collect();
    let said = [cable.description, cable.place];
    let said: Vec<String> = said.into_iter().filter(|s| !s.is_empty()).collect();
    Ok(Subject {
        name: cable.tag,
        description: said.join(", "),
        day: day(Some(&assay.at)).to_owned(),
        setup,
        sweeps: pictures::shown(&files, &finding),
        finding,
    })
}

/// How the sweeps were read, and everything else that was said.
fn read_setup(text: &str) -> Result<(ReadOptions, Setup), Box<dyn Error>> {
    let setup: Setup = serde_json::from_str(text)?;
    Ok((setup.request()?.read, setup))
}
