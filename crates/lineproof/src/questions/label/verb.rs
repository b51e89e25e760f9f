//! `lineproof label`.

use std::error::Error;
use std::path::{Path, PathBuf};

use lineproof_core::quantity::Units;
use lineproof_draw::{Label, LabelError, Sheet};
use lineproof_pdf::PdfError;
use lineproof_record::Shelf;

use super::arguments::LabelArgs;
use super::content;
use super::print as page;
use crate::questions::report::verb::has_ending;
use crate::questions::shelf::verb::{nowhere, refused};
use crate::report::{pdf, picture};
use crate::workflow::load::shown;
use crate::workflow::write;
use crate::{exit, output};

/// Dots to the inch of a sheet as PNG: twice what usual printers resolve, so that the edges of a
/// code's modules stay even.
const PNG_DPI: f64 = 600.0;

/// `lineproof label`.
pub(crate) fn label(arguments: &LabelArgs) -> u8 {
    let Some(path) = arguments.which.path() else {
        return nowhere();
    };
    let done = || -> Result<u8, Box<dyn Error>> {
        let drawn = &arguments.drawn;
        let sheet = drawn.sheet()?;
        let shelf = Shelf::open_to_read(&path)?;
        let (labels, without) = labels(&shelf, arguments)?;
        let sheets = lineproof_draw::sheets(&labels, &sheet, drawn.skipped(), drawn.outlined())?;
        for tag in &without {
            output::message(&format!(
                "warning: cable `{tag}` has no assay and gets no label"
            ));
        }
        let output = &arguments.output;
        let contents = if has_ending(output, "pdf") {
            vec![pdf::labels(&sheets, &labels, &sheet, drawn.skipped())?]
        } else {
            contents(output, &sheets, &sheet)?
        };
        let files = write_all(output, &contents)?;
        let files: Vec<String> = files.iter().map(|f| format!("`{}`", shown(f))).collect();
        let text = format!("{} labels in {}\n", labels.len(), files.join(", "));
        let code = if without.is_empty() {
            exit::ANSWERED
        } else {
            exit::ANSWERED_IN_PART
        };
        Ok(output::result(&text, code))
    };
    done().unwrap_or_else(|error| {
        if let Some(wrong) = error.downcast_ref::<LabelError>() {
            output::error(wrong, help(wrong));
            return exit::USAGE;
        }
        if let Some(wrong) = error.downcast_ref::<PdfError>() {
            output::error(wrong, wrong.help());
            return exit::OUTPUT;
        }
        refused(error.as_ref())
    })
}

fn help(error: &LabelError) -> Option<&'static str> {
    match error {
        LabelError::TooSmall { .. } => Some(
            "choose larger labels, make the code a short `--link`, or omit it with `--no-code`",
        ),
        LabelError::Sheet { .. } => Some("`lineproof label --help` lists the known sheets"),
        _ => None,
    }
}

/// Labels of the cables that are asked for, and tags of those that were never assayed.
fn labels(
    shelf: &Shelf,
    arguments: &LabelArgs,
) -> Result<(Vec<Label>, Vec<String>), Box<dyn Error>> {
    let tags = arguments.cables.tags(shelf)?;
    let (labels, without) =
        content::all_of_shelf(shelf, tags, &arguments.drawn.wanted(Units::Metres))?;
    if labels.is_empty() {
        return Err("no cable there has an assay, so there is no label".into());
    }
    Ok((labels, without))
}

/// The files' bytes as the ending of `path` says.
fn contents(path: &Path, sheets: &[String], sheet: &Sheet) -> Result<Vec<Vec<u8>>, Box<dyn Error>> {
    if has_ending(path, "svg") {
        Ok(sheets.iter().map(|svg| svg.clone().into_bytes()).collect())
    } else if has_ending(path, "png") {
        let png = |svg: &String| picture::png(svg, PNG_DPI / picture::SVG_DPI);
        Ok(sheets.iter().map(png).collect::<Result<_, _>>()?)
    } else if has_ending(path, "html") {
        Ok(vec![page::page(sheets, sheet.paper_mm).into_bytes()])
    } else {
        let name = shown(path);
        Err(
            format!("`{name}` has the wrong ending for labels: expected .svg, .png, .pdf or .html")
                .into(),
        )
    }
}

/// Writes the files; gives their paths.
fn write_all(path: &Path, contents: &[Vec<u8>]) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let files = numbered(path, contents.len());
    for (file, bytes) in files.iter().zip(contents) {
        write::whole(file, bytes).map_err(|e| format!("cannot write `{}`: {e}", shown(file)))?;
    }
    Ok(files)
}

/// The path itself, or for several files `NAME-1.ENDING` and so on.
fn numbered(path: &Path, count: usize) -> Vec<PathBuf> {
    if count == 1 {
        return vec![path.to_owned()];
    }
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let ending = path.extension().unwrap_or_default().to_string_lossy();
    (1..=count)
        .map(|n| path.with_file_name(format!("{stem}-{n}.{ending}")))
        .collect()
}
