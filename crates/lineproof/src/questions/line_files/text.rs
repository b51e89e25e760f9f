//! What stands behind a line, as text.

use lineproof_core::fitness::Line;
use lineproof_core::known::{BehindRow, Removed};
use lineproof_core::quantity::{Units, format_frequency};
use lineproof_core::uncertain::Uncertain;
use serde::Serialize;

use crate::exit;
use crate::questions::ask::Answer;
use crate::report::number::{pair, significant};
use crate::report::page::Column::Right;
use crate::report::page::Page;

/// Most rows that a person wants to read.
const MOST_ROWS: usize = 21;

/// A line as a file, with what it is known to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NetworkFile {
    /// The file that it was written to.
    pub written: String,
    /// What it is of.
    pub what: String,
    /// The line at a few of its frequencies, Hz.
    #[serde(skip)]
    pub known: Vec<(f64, Line)>,
}

impl Answer for NetworkFile {
    fn text(&self, _units: Units) -> String {
        network(self)
    }
}

impl Answer for Removed {
    fn text(&self, _units: Units) -> String {
        text(self)
    }

    fn code(&self) -> u8 {
        if self.left_out == 0 {
            exit::ANSWERED
        } else {
            exit::ANSWERED_IN_PART
        }
    }
}

/// What a file was written of, and how well that is known.
fn network(file: &NetworkFile) -> String {
    let mut page = Page::default();
    let computed = format!("Computed: {}, in `{}`.", file.what, file.written);
    page.paragraph("", &computed);
    page.heading("Known to (95 %)");
    let header = ["", "impedance, ohm", "loss, dB", "phase, degrees"];
    let mut rows = vec![header.map(str::to_owned).to_vec()];
    rows.extend(file.known.iter().map(|(freq_hz, line)| {
        let degrees = line.one_way_delay_s.scaled(360.0 * freq_hz);
        let shown = |q: Uncertain| {
            let (value, u95) = pair(q.value, q.u95());
            format!("{value} ± {u95}")
        };
        vec![
            format!("{} MHz", significant(freq_hz / 1e6, 4)),
            shown(line.z0_ohm),
            shown(line.loss_db),
            shown(degrees),
        ]
    }));
    page.table(2, &[Right, Right, Right, Right], &rows);
    page.line("");
    page.paragraph(
        "",
        "The file has the middle of these intervals; its comments have the intervals. An error \
         has the same sign over the whole band: all of the loss is high, or all of it low.",
    );
    page.finish()
}

/// The table for people.
fn text(removed: &Removed) -> String {
    let mut page = Page::default();
    page.paragraph("", &sentence(removed));
    page.line("");
    let mut rows = vec![
        ["", "line", "VSWR, near", "VSWR, far", "95 %"]
            .map(str::to_owned)
            .to_vec(),
    ];
    let step = removed.rows.len().div_ceil(MOST_ROWS).max(1);
    rows.extend(removed.rows.iter().step_by(step).map(row));
    page.table(2, &[Right, Right, Right, Right, Right], &rows);
    if step > 1 {
        page.line("");
        page.paragraph(
            "",
            &format!(
                "Every {step}th of {} points; --json and --write have all.",
                removed.rows.len()
            ),
        );
    }
    page.heading("Remarks");
    let remark = "an error of the reading grows by twice the line's loss: 3 dB of line double \
                  it, 10 dB make it ten times larger";
    page.paragraph("  - ", remark);
    if removed.left_out > 0 {
        page.paragraph(
            "  - ",
            &format!(
                "{} points were left out because the line's loss is not known there",
                removed.left_out
            ),
        );
    }
    page.heading("Safety");
    for caution in lineproof_core::finding::judge::advice::line_cautions() {
        page.paragraph("  - ", &caution);
    }
    page.finish()
}

/// The best match behind the line.
fn sentence(removed: &Removed) -> String {
    let best = removed
        .rows
        .iter()
        .min_by(|a, b| a.far.reflection.norm().total_cmp(&b.far.reflection.norm()));
    let Some(best) = best else {
        return format!("{} hides its far end.", removed.name);
    };
    format!(
        "Behind {}, the best match is VSWR {} at {} ({}).",
        removed.name,
        swr_text(best.far.reflection.norm()),
        format_frequency(best.freq_hz),
        interval(best)
    )
}

fn row(row: &BehindRow) -> Vec<String> {
    vec![
        format_frequency(row.freq_hz),
        format!("{} dB", significant(row.loss_db, 2)),
        swr_text(row.near.norm()),
        swr_text(row.far.reflection.norm()),
        interval(row),
    ]
}

fn interval(row: &BehindRow) -> String {
    let low = significant(row.far.swr.0, 3);
    match row.far.swr.1 {
        Some(high) => format!("{low} to {}", significant(high, 3)),
        None if row.far.swr.0.is_finite() => format!("{low} or more"),
        None => "not determined".to_owned(),
    }
}

fn swr_text(reflection: f64) -> String {
    match lineproof_core::line::mismatch::swr(reflection) {
        Some(swr) if swr < 1000.0 => significant(swr, 3),
        _ => "> 1000".to_owned(),
    }
}
