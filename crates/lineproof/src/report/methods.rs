//! The methods of the trade, each with its arithmetic.

use lineproof_core::quantity::format_frequency;

use super::number::pair;
use super::page::Column::{Number, Text};
use super::page::{Column, Page};
use crate::finding::MethodFound;

/// Method, value, ±, half-width, unit or quantity, frequency.
const COLUMNS: [Column; 6] = [Text, Number, Text, Number, Text, Text];

/// Methods that have an answer, with their steps; then those that have none, with the reason.
pub fn write(page: &mut Page, methods: &[MethodFound]) {
    let (served, unserved): (Vec<_>, Vec<_>) = methods.iter().partition(|m| m.reason.is_none());
    if !served.is_empty() {
        page.heading("Each method by itself, to check with a calculator");
        let rows: Vec<Vec<String>> = served.iter().flat_map(|m| rows(m)).collect();
        page.table(2, &COLUMNS, &rows);
        for method in served {
            arithmetic(page, method);
        }
    }
    if !unserved.is_empty() {
        page.heading("Methods that these data do not serve");
        for method in unserved {
            let mut text = format!(
                "{}: {}",
                method.name,
                method.reason.as_deref().unwrap_or("")
            );
            if let Some(would_do) = &method.would_do {
                text.push_str("; ");
                text.push_str(would_do);
            }
            page.paragraph("  ", &text);
        }
    }
}

/// One row for each quantity that the method gives; its unit says which one.
fn rows(method: &MethodFound) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    let mut add = |value: f64, u95: f64, unit: &str, at_hz: Option<f64>| {
        let (value, u95) = pair(value, u95);
        let name = if rows.is_empty() {
            method.name.as_str()
        } else {
            ""
        };
        let at = at_hz.map_or_else(String::new, at);
        rows.push(
            [name, &value, "±", &u95, unit, &at]
                .map(str::to_owned)
                .to_vec(),
        );
    };
    if let (Some(ohm), Some(u95)) = (method.ohm, method.u95_ohm) {
        add(ohm, u95, "ohm", method.at_hz);
    }
    if let (Some(delay), Some(u95)) = (method.one_way_s, method.u95_s) {
        add(delay * 1e9, u95 * 1e9, "ns one way", method.delay_at_hz);
    }
    if let Some(vf) = method.velocity_factor {
        add(vf.ratio, vf.u95, "velocity factor", None);
    }
    if let (Some(length), Some(u95)) = (method.length_m, method.u95_m) {
        add(length, u95, "m", None);
    }
    for loss in &method.loss {
        add(loss.db, loss.u95_db, "dB", loss.at_hz);
    }
    rows
}

/// Four digits say where a method looked.
fn at(freq_hz: f64) -> String {
    let unit = 10f64.powf(freq_hz.log10().floor() - 3.0);
    format!("at {}", format_frequency((freq_hz / unit).round() * unit))
}

fn arithmetic(page: &mut Page, method: &MethodFound) {
    if method.steps.is_empty() && method.remarks.is_empty() {
        return;
    }
    page.line("");
    page.line(&format!("  {}", method.name));
    for step in &method.steps {
        page.paragraph("      ", step);
    }
    for remark in &method.remarks {
        page.paragraph("    * ", remark);
    }
}
