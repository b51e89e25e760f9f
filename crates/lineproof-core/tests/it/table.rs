//! Check values from `testdata/reference/check-values.csv`: each with its source and tolerance.
//!
//! A test calls [`check`] with the row's id and what the code gave. Rows that no test serves yet
//! are listed with the reason in `testdata/reference/left-out.csv`.

use std::collections::HashMap;
use std::sync::OnceLock;

/// One row of the table.
#[derive(Clone, Debug)]
#[allow(
    dead_code,
    reason = "the simulator's tests include this file and use part of it"
)]
pub(crate) struct Row {
    pub(crate) quantity: String,
    pub(crate) inputs: String,
    pub(crate) expected: f64,
    pub(crate) recomputed: Option<f64>,
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
        include_str!("../data/reference/check-values.csv")
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
    let row = row(id);
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

/// The recomputed column has ten digits; none may be off by more than a unit of the last.
#[allow(dead_code, reason = "as Row")]
const RECOMPUTED_TOL_REL: f64 = 1e-9;

/// Compares `got` with the exact calculation of the row instead of the published figure: for rows
/// where the two disagree, and where ten digits say more than the tolerance of a printed value.
#[track_caller]
#[allow(dead_code, reason = "as Row")]
pub(crate) fn check_recomputed(id: &str, got: f64) {
    let row = row(id);
    let wanted = row
        .recomputed
        .unwrap_or_else(|| panic!("{id} was not recomputed"));
    let difference = got - wanted;
    assert!(
        difference.abs() <= RECOMPUTED_TOL_REL * wanted.abs(),
        "{id} {}: got {got}, wanted {wanted} (recomputed) within {RECOMPUTED_TOL_REL} of it, \
         difference {difference:e} ({})",
        row.quantity,
        row.inputs,
    );
}

fn row(id: &str) -> &'static Row {
    rows()
        .get(id)
        .unwrap_or_else(|| panic!("no row {id} in check-values.csv"))
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
        recomputed: fields[8].parse().ok(),
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

/// Test sources that check rows; a row counts as served if its id stands there in quotes.
const SOURCES: [&str; 5] = [
    include_str!("check_values_calibration.rs"),
    include_str!("check_values_line.rs"),
    include_str!("check_values_methods.rs"),
    include_str!("time_domain.rs"),
    include_str!("touchstone.rs"),
];

/// Ids, or beginnings of ids that end in `*`, with the reason why no test serves them.
fn left_out() -> Vec<(&'static str, &'static str)> {
    include_str!("../data/reference/left-out.csv")
        .lines()
        .skip(1)
        .map(|line| line.split_once(',').expect("an id and a reason"))
        .collect()
}

fn matches(pattern: &str, id: &str) -> bool {
    match pattern.strip_suffix('*') {
        Some(beginning) => id.starts_with(beginning),
        None => id == pattern,
    }
}

#[test]
fn every_row_is_served_by_a_test_or_left_out_with_a_reason() {
    let left_out = left_out();
    let mut wrong = Vec::new();
    for id in rows().keys() {
        let quoted = format!("\"{id}\"");
        let served = SOURCES.iter().any(|source| source.contains(&quoted));
        let excused = left_out.iter().any(|(pattern, _)| matches(pattern, id));
        match (served, excused) {
            (true, true) => wrong.push(format!("{id} is served but listed as left out")),
            (false, false) => wrong.push(format!("{id} is neither served nor left out")),
            _ => (),
        }
    }
    for (pattern, reason) in left_out {
        if reason.is_empty() || !rows().keys().any(|id| matches(pattern, id)) {
            wrong.push(format!("{pattern} has no reason, or no row"));
        }
    }
    wrong.sort();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
