//! `lineproof report`, and the files that `assay` writes.

use std::error::Error;
use std::path::Path;

use lineproof_core::quantity::Units;
use lineproof_pdf::PdfError;
use lineproof_record::Shelf;

use super::arguments::{PictureKind, ReportArgs};
use crate::facts::Setup;
use crate::finding::Finding;
use crate::questions::assay::arguments::AssayArgs;
use crate::questions::shelf::verb::{nowhere, refused};
use crate::report::subject::{self, Subject, SubjectError};
use crate::report::{html, pdf, picture};
use crate::workflow::assay::Outcome;
use crate::workflow::pictures::{self, Shown};
use crate::workflow::{load, write};
use crate::{exit, output};

/// Writes what the arguments ask for; gives the exit code, which gets worse if that fails.
pub(crate) fn files(
    arguments: &AssayArgs,
    setup: &Setup,
    outcome: &Outcome,
    finding: &Finding,
    code: u8,
) -> u8 {
    let files = &arguments.files_written;
    if files.report.is_none() && files.picture.is_none() {
        return code;
    }
    let sweeps = pictures::shown(&outcome.loaded, finding);
    let done = || -> Result<(), Box<dyn Error>> {
        if let Some(path) = &files.picture {
            write_picture(path, files.picture_of, &sweeps, finding)?;
        }
        if let Some(path) = &files.report {
            let record = &arguments.record;
            let first = finding.sweeps.first().map_or("", |s| s.file.as_str());
            let subject = Subject {
                name: record
                    .shelve
                    .clone()
                    .unwrap_or_else(|| format!("of {first}")),
                description: String::new(),
                day: record.measured_on.as_deref().map_or("", day).to_owned(),
                setup: setup.facts(),
                sweeps: sweeps.clone(),
                finding: finding.clone(),
            };
            write_report(path, &[subject])?;
        }
        Ok(())
    };
    match done() {
        Ok(()) => code,
        Err(error) => {
            output::error(error.as_ref(), help(error.as_ref()));
            exit::OUTPUT
        }
    }
}

/// `lineproof report`.
pub(crate) fn report(arguments: &ReportArgs) -> u8 {
    let Some(path) = arguments.which.path() else {
        return nowhere();
    };
    let done = || -> Result<u8, Box<dyn Error>> {
        let shelf = Shelf::open_to_read(&path)?;
        let tags = arguments.cables.tags(&shelf)?;
        let subjects = tags.iter().map(|tag| subject::of_shelf(&shelf, tag));
        let subjects: Vec<Subject> = subjects.collect::<Result<_, _>>().map_err(plain)?;
        write_report(&arguments.output, &subjects)?;
        let text = format!("report in `{}`\n", load::shown(&arguments.output));
        Ok(output::result(&text, exit::ANSWERED))
    };
    done().unwrap_or_else(|error| match help(error.as_ref()) {
        Some(help) => {
            output::error(error.as_ref(), Some(help));
            exit::OUTPUT
        }
        None => refused(error.as_ref()),
    })
}

fn help(error: &(dyn Error + 'static)) -> Option<&'static str> {
    error.downcast_ref::<PdfError>().and_then(PdfError::help)
}

/// An error of the shelf as such, so that its exit code is found.
fn plain(error: SubjectError) -> Box<dyn Error> {
    match error {
        SubjectError::Shelf(error) => Box::new(error),
        other => Box::new(other),
    }
}

/// Writes the report, a PDF if `path` ends so.
fn write_report(path: &Path, subjects: &[Subject]) -> Result<(), Box<dyn Error>> {
    let bytes = if has_ending(path, "pdf") {
        pdf::report(subjects, Units::Metres)?
    } else {
        html::page(subjects, Units::Metres).into_bytes()
    };
    write::whole(path, &bytes)
        .map_err(|e| format!("cannot write `{}`: {e}", load::shown(path)).into())
}

fn write_picture(
    path: &Path,
    kind: PictureKind,
    sweeps: &[Shown],
    finding: &Finding,
) -> Result<(), Box<dyn Error>> {
    let svg = match kind {
        PictureKind::Smith => lineproof_draw::smith(&pictures::smith(sweeps, finding)),
        PictureKind::Loss => lineproof_draw::loss(&pictures::loss(finding)),
        PictureKind::ReturnLoss => lineproof_draw::return_loss(&pictures::return_loss(sweeps)),
        PictureKind::Profile => {
            let profile = pictures::profile(finding, Units::Metres);
            let profile = profile.ok_or("the finding has no impedance along the cable")?;
            lineproof_draw::profile(&profile)
        }
    };
    let bytes = if has_ending(path, "png") {
        picture::png(&svg, picture::FINE)?
    } else if has_ending(path, "svg") {
        svg.into_bytes()
    } else {
        let name = load::shown(path);
        return Err(
            format!("`{name}` has the wrong ending for a picture: expected .svg or .png").into(),
        );
    };
    write::whole(path, &bytes)
        .map_err(|e| format!("cannot write `{}`: {e}", load::shown(path)).into())
}

pub(crate) fn has_ending(path: &Path, ending: &str) -> bool {
    path.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case(ending))
}

fn day(at: &str) -> &str {
    at.get(..10).unwrap_or(at)
}
