//! The methods of the trade as text, each with its arithmetic.

use lineproof_core::finding::said::{self, evidence};

use super::page::Column::{Number, Text};
use super::page::{Column, Page};
use crate::finding::MethodFound;
use lineproof_core::quantity::Units;

/// Method, value, ±, half-width, unit or quantity, frequency.
const COLUMNS: [Column; 6] = [Text, Number, Text, Number, Text, Text];

/// Methods that have an answer, with their steps; then those that have none, with the reason.
pub fn write(page: &mut Page, methods: &[MethodFound], units: Units) {
    let served: Vec<&MethodFound> = evidence::served(methods).collect();
    if !served.is_empty() {
        page.heading(evidence::METHODS);
        let rows: Vec<Vec<String>> = served.iter().flat_map(|m| rows(m, units)).collect();
        page.table(2, &COLUMNS, &rows);
        for method in served {
            arithmetic(page, method, units);
        }
    }
    let unserved = evidence::unserved(methods);
    if !unserved.is_empty() {
        page.heading(evidence::UNSERVED);
        for text in unserved {
            page.paragraph("  ", &text);
        }
    }
}

/// One row for each quantity that the method gives; its unit says which one.
fn rows(method: &MethodFound, units: Units) -> Vec<Vec<String>> {
    let numbers = evidence::method_numbers(method, units).into_iter();
    let row = |(i, number): (usize, said::Number)| {
        let name = if i == 0 { method.name.as_str() } else { "" };
        vec![
            name.to_owned(),
            number.value,
            "±".to_owned(),
            number.u95,
            number.unit.to_owned(),
            number.note,
        ]
    };
    numbers.enumerate().map(row).collect()
}

fn arithmetic(page: &mut Page, method: &MethodFound, units: Units) {
    if method.steps.is_empty() && method.remarks.is_empty() {
        return;
    }
    page.line("");
    page.line(&format!("  {}", method.name));
    for step in evidence::steps(method, units) {
        page.paragraph("      ", &step);
    }
    for remark in &method.remarks {
        page.paragraph("    * ", &units.text(remark));
    }
}
