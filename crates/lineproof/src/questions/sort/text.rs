//! A sorted box as text and CSV.

use lineproof_core::quantity::format_frequency;

use super::rows::Row;
use crate::report::number::{pair, significant};
use crate::report::page::Column::{Number, Text};
use crate::report::page::Page;

/// A line for each cable, worst first, and below what was left out.
pub fn text(rows: &[Row]) -> String {
    let mut page = Page::default();
    let lines: Vec<Vec<String>> = rows.iter().map(line).collect();
    page.table(
        0,
        &[Text, Text, Text, Number, Text, Number, Text, Text],
        &lines,
    );
    let left_out: Vec<&String> = rows.iter().flat_map(|row| &row.left_out).collect();
    if !left_out.is_empty() {
        page.heading("Left out");
    }
    for why in left_out {
        page.paragraph("  - ", why);
    }
    page.finish()
}

fn line(row: &Row) -> Vec<String> {
    let (ohm, u95) = match (row.impedance_ohm, row.u95_impedance_ohm) {
        (Some(ohm), Some(u95)) => {
            let (ohm, u95) = pair(ohm, u95);
            (ohm, format!("± {u95} ohm"))
        }
        _ => ("-".to_owned(), String::new()),
    };
    let (loss, at) = match row.loss_db_at_100mhz {
        Some(db) => (
            significant(db, 2),
            format!("dB at {}", format_frequency(1e8)),
        ),
        None => (String::new(), String::new()),
    };
    vec![
        row.cable.clone(),
        row.grade.word().to_owned(),
        row.to_do(),
        ohm,
        u95,
        loss,
        at,
        row.why.clone(),
    ]
}

/// For a spreadsheet.
pub fn csv(rows: &[Row]) -> String {
    let number = |n: Option<f64>| n.map_or_else(String::new, |n| n.to_string());
    let mut table = csv::Writer::from_writer(Vec::new());
    let head = "cable grade why impedance_ohm u95_impedance_ohm one_way_delay_s velocity_factor \
                loss_db_at_100mhz condition verdict sweeps left_out";
    let mut lines = vec![
        head.split_whitespace()
            .map(str::to_owned)
            .collect::<Vec<_>>(),
    ];
    lines.extend(rows.iter().map(|row| {
        vec![
            row.cable.clone(),
            row.grade.word().to_owned(),
            row.why.clone(),
            number(row.impedance_ohm),
            number(row.u95_impedance_ohm),
            number(row.one_way_delay_s),
            number(row.velocity_factor),
            number(row.loss_db_at_100mhz),
            row.condition.clone().unwrap_or_default(),
            row.verdict.clone().unwrap_or_default(),
            row.sweeps.to_string(),
            row.left_out.join("; "),
        ]
    }));
    for line in lines {
        table
            .write_record(&line)
            .expect("memory takes any record of equal length");
    }
    let bytes = table.into_inner().expect("memory can be flushed");
    String::from_utf8(bytes).expect("records were text")
}
