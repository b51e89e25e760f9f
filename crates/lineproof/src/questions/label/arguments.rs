//! `lineproof label`: labels to stick onto cables.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::quantity::{self, Units};
use lineproof_draw::{A4_MM, LETTER_MM, LabelError, Sheet};

use super::content::{Code, Wanted};
use crate::cli::facts::{self as arguments, SAID, SaidArgs};
use crate::facts::table::shelf as of_shelf;
use crate::questions::shelf::arguments::{CablesArgs, WhichShelf};

/// Examples under the help of the verb.
pub const EXAMPLES: &str = "\
Examples:
  lineproof label --all --output labels.html
  lineproof label mast-1 mast-2 --sheet 70x37mm --skip 5 --output labels.svg
  lineproof label mast-1 --single 62x29mm --link http://shack.local:8317 --output mast-1.svg
  lineproof label --all --sheet 60x30mm --grid 3x8 --pitch 62x32mm --output labels.html

Known sheets by the size of their labels, all centred on the paper: on A4 38.1x21.2mm
(5 x 13), 48.5x25.4mm (4 x 11), 63.5x38.1mm (3 x 7), 70x37mm (3 x 8), 99.1x38.1mm (2 x 7),
105x74mm (2 x 4); on letter paper 2.625x1in (3 x 10), 4x2in (2 x 5). Every other one by
--grid, --pitch, --margin and --paper. Print at 100 %, without \"fit to page\".";

/// Arguments of `label`.
#[derive(Args, Debug)]
pub struct LabelArgs {
    #[command(flatten)]
    pub(crate) cables: CablesArgs,
    /// File to write (.svg, .png, .pdf or .html); several sheets as .svg or .png are numbered
    #[arg(long, value_name = "FILE")]
    pub(crate) output: PathBuf,
    #[command(flatten)]
    pub(crate) which: WhichShelf,
    #[command(flatten)]
    pub(crate) drawn: DrawnArgs,
}

/// How labels look, for the page as well.
#[derive(Args, Debug)]
pub struct DrawnArgs {
    #[command(flatten)]
    sheet: SheetArgs,
    #[command(flatten)]
    content: ContentArgs,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "Paper")]
struct SheetArgs {
    /// Width and height of a label on its sheet
    #[arg(long, value_name = "WxH", default_value = "63.5x38.1mm", value_parser = size_mm)]
    sheet: [f64; 2],
    /// One label to a page of this size, for a label printer
    #[arg(long, value_name = "WxH", conflicts_with = "sheet", value_parser = size_mm)]
    single: Option<[f64; 2]>,
    /// Columns and rows, such as 3x7
    #[arg(long, value_name = "CxR", conflicts_with = "single", value_parser = grid)]
    grid: Option<[usize; 2]>,
    /// Distance between the left and top edges of neighbouring labels; default: labels touch
    #[arg(long, value_name = "WxH", requires = "grid", value_parser = size_mm)]
    pitch: Option<[f64; 2]>,
    /// Left and top margin; default: the labels are centred
    #[arg(long, value_name = "WxH", requires = "grid", value_parser = size_mm)]
    margin: Option<[f64; 2]>,
    /// `a4`, `letter` or a size
    #[arg(long, value_name = "PAPER", requires = "grid", default_value = "a4", value_parser = paper)]
    paper: [f64; 2],
    /// Places on the first sheet that are already used
    #[arg(long, value_name = "N", default_value_t = 0)]
    skip: usize,
    /// Draw a cutting line around each label
    #[arg(long)]
    outline: bool,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "Content")]
struct ContentArgs {
    /// Address of a running server: the QR code opens the cable's page there; default: the
    /// essentials as text
    #[arg(long, value_name = "ADDRESS", value_parser = address)]
    link: Option<String>,
    /// No code
    #[arg(long, conflicts_with = "link")]
    no_code: bool,
    #[command(flatten)]
    facts: SaidArgs<arguments::Label>,
}

impl DrawnArgs {
    /// The sheet.
    ///
    /// # Errors
    /// [`LabelError::Sheet`] if there is none like that.
    pub(crate) fn sheet(&self) -> Result<Sheet, LabelError> {
        let SheetArgs {
            sheet,
            single,
            grid,
            pitch,
            margin,
            paper,
            ..
        } = self.sheet;
        match (single, grid) {
            (Some(size), _) => Sheet::single(size),
            (None, Some(grid)) => Sheet::new(paper, sheet, grid, pitch, margin),
            (None, None) => Sheet::of_label(sheet).ok_or_else(|| LabelError::Sheet {
                what: format!(
                    "none with labels of {} × {} mm is known: say columns and rows with `--grid`",
                    sheet[0], sheet[1]
                ),
            }),
        }
    }

    /// Places that are used already.
    pub(crate) fn skipped(&self) -> usize {
        self.sheet.skip
    }

    /// Whether labels are outlined.
    pub(crate) fn outlined(&self) -> bool {
        self.sheet.outline
    }

    /// What stands on the labels, with lengths in these units.
    pub(crate) fn wanted(&self, units: Units) -> Wanted {
        let facts = &self.content.facts;
        let loss_at = facts.read(|typed| typed.get(&of_shelf::LOSS_AT));
        Wanted {
            units,
            loss_at_hz: loss_at.expect(SAID),
            code: match &self.content.link {
                Some(address) => Code::Link(address.clone()),
                None if self.content.no_code => Code::None,
                None => Code::Essentials,
            },
        }
    }
}

/// `63.5x38.1mm` or `2.625x1in`: the unit at the end serves for both.
fn size_mm(text: &str) -> Result<[f64; 2], String> {
    let example = || format!("expected a size such as `63.5x38.1mm`, found `{text}`");
    let (width, height) = text.split_once(['x', '×']).ok_or_else(example)?;
    let unit = height.trim_start_matches(|c: char| c.is_ascii_digit() || ". ".contains(c));
    let side = |number: &str| {
        let length = quantity::parse_length_m(number).map_err(|e| e.to_string())?;
        Ok::<_, String>((length.value * 1e6).round() / 1e3)
    };
    let width = if width.trim().parse::<f64>().is_ok() {
        side(&format!("{}{unit}", width.trim()))?
    } else {
        side(width)?
    };
    Ok([width, side(height)?])
}

fn paper(text: &str) -> Result<[f64; 2], String> {
    match text {
        "a4" | "A4" => Ok(A4_MM),
        "letter" => Ok(LETTER_MM),
        size => size_mm(size),
    }
}

fn grid(text: &str) -> Result<[usize; 2], String> {
    let example = || format!("expected columns and rows such as `3x7`, found `{text}`");
    let (columns, rows) = text.split_once(['x', '×']).ok_or_else(example)?;
    let count = |n: &str| n.trim().parse().map_err(|_| example());
    match [count(columns)?, count(rows)?] {
        grid if grid.iter().all(|n| (1..=100).contains(n)) => Ok(grid),
        _ => Err(example()),
    }
}

fn address(text: &str) -> Result<String, String> {
    let host = text
        .strip_prefix("http://")
        .or_else(|| text.strip_prefix("https://"));
    match host {
        Some(host) if !host.is_empty() && !text.contains(char::is_whitespace) => {
            Ok(text.to_owned())
        }
        _ => Err(format!(
            "expected the address of a server such as `http://shack.local:8317`, found `{text}`"
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_need_their_unit() {
        assert_eq!(size_mm("63.5x38.1mm"), Ok([63.5, 38.1]));
        assert_eq!(size_mm("2.625 x 1in"), Ok([66.675, 25.4]));
        assert_eq!(size_mm("6cm×30mm"), Ok([60.0, 30.0]));
        assert!(size_mm("60x30").is_err() && size_mm("60mm").is_err());
        assert_eq!(paper("letter"), Ok(LETTER_MM));
        assert_eq!(grid("3x7"), Ok([3, 7]));
        assert!(grid("0x7").is_err() && grid("3").is_err());
        assert!(address("shack.local").is_err() && address("http://").is_err());
    }

    #[test]
    fn every_known_sheet_is_in_the_help() {
        for sheet in Sheet::common() {
            let [w, h] = sheet.label_mm;
            let inch = format!("{}x{}in", w / 25.4, h / 25.4);
            let known = [format!("{w}x{h}mm"), inch];
            let [columns, rows] = sheet.grid;
            let found = known.iter().find(|name| {
                EXAMPLES
                    .replace('\n', " ")
                    .contains(&format!("{name} ({columns} x {rows})"))
            });
            assert!(found.is_some(), "{known:?}");
        }
    }
}
