//! Check values from `testdata/reference/check-values.csv`: each with its source and tolerance.
//!
//! A test calls [`check`] with the row's id and what the code gave. Rows that no test serves yet
//! are listed with the reason in `testdata/reference/left-out.csv`.

use std::collections::HashMap;
use std::sync::OnceLock;

/// One row of the table.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub(crate) quantity: String,
    pub(crate) inputs: String,
    pub(crate) expected: f64,
    pub(crate) tolerance: Tolerance,
    pub(crate) source: String,
}

/// How far a result may be from the expected value, in the row's unit or relative to it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Tolerance {
    Absolute(f64),
    Relative(f64),
}

/// The whole table by row id.
pub(crate) fn rows() -> &'static HashMap<String, Row> {
    static ROWS: OnceLock<HashMap<String, Row>> = OnceLock::new();
    ROWS.get_or_init(|| {
        include_str!("../../../../testdata/reference/check-values.csv")
            .lines()
            .skip(1)
            .filter(|line| !line.trim().is_empty())
            .map(parse_row)
            .collect()
    })
}

/// Compares `got` with the row; the message on failure has got, wanted, difference and source.
#[track_caller]
pub(crate) fn check(id: &str, got: f64) {
    let row = rows()
        .get(id)
        .unwrap_or_else(|| panic!("no row {id} in check-values.csv"));
    let limit = match row.tolerance {
        Tolerance::Absolute(t) => t,
        Tolerance::Relative(t) => t * row.expected.abs(),
    };
    let difference = got - row.expected;
    assert!(
        difference.abs() <= limit,
        "{id} {}: got {got}, wanted {} within {limit}, difference {difference:e} (source {}; {})",
        row.quantity,
        row.expected,
        row.source,
        row.inputs,
    );
}

fn parse_row(line: &str) -> (String, Row) {
    let fields = split_csv(line);
    let (kind, size) = fields[5].split_once(' ').unwrap_or(("abs", "inf"));
    let size: f64 = size.parse().unwrap_or(f64::INFINITY);
    let tolerance = if kind == "rel" {
        Tolerance::Relative(size)
    } else {
        Tolerance::Absolute(size)
    };
    let row = Row {
        quantity: fields[1].clone(),
        inputs: fields[2].clone(),
        expected: fields[3]
            .parse()
            .unwrap_or_else(|_| panic!("no number in row {line}")),
        tolerance,
        source: fields[6].clone(),
    };
    (fields[0].clone(), row)
}

/// Splits one line of comma-separated text; fields in double quotes may hold commas.
fn split_csv(line: &str) -> Vec<String> {
    let mut fields = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => fields.push(String::new()),
            _ => fields.last_mut().expect("starts with one field").push(c),
        }
    }
    fields
}

#[test]
fn the_table_has_a_tolerance_and_a_source_for_every_row() {
    assert_eq!(rows().len(), 235);
    for (id, row) in rows() {
        let size = match row.tolerance {
            Tolerance::Absolute(t) | Tolerance::Relative(t) => t,
        };
        assert!(size.is_finite() && size > 0.0, "{id} has no tolerance");
        assert!(!row.source.is_empty(), "{id} has no source");
    }
}
