//! Every number of a finding as a table for other programs.

use lineproof_core::finding::numbers;

use crate::finding::Finding;

/// First line of the table.
const COLUMNS: [&str; 7] = ["quantity", "at_hz", "at_m", "value", "u95", "unit", "note"];

/// Comma-separated text (RFC 4180): what, at which frequency or place, value, 95 % half-width, unit, and
/// what must be known of it.
pub fn csv(finding: &Finding) -> String {
    let mut writer = csv::WriterBuilder::new();
    writer.terminator(csv::Terminator::CRLF);
    let mut table = writer.from_writer(Vec::new());
    let mut row = |cells: [&str; 7]| table.write_record(cells).expect("memory takes every row");
    row(COLUMNS);
    for number in numbers(finding) {
        let optional = |x: Option<f64>| x.map_or_else(String::new, |x| x.to_string());
        let cells = [number.at_hz, number.at_m, number.value, number.u95].map(optional);
        let [hz, m, value, u95] = &cells;
        row([
            &number.quantity,
            hz,
            m,
            value,
            u95,
            number.unit,
            &number.note,
        ]);
    }
    let bytes = table.into_inner().expect("memory takes every row");
    String::from_utf8(bytes).expect("only text was written")
}
