//! QR codes (ISO/IEC 18004) as squares.

use std::fmt::Write;

use fast_qr::{ECL, QRBuilder, QRCode};

/// Smallest module of a code, mm: four dots of a printer with 300 to an inch, common practice.
pub const LEAST_MODULE_MM: f64 = 0.34;

/// White modules around a code that readers need (ISO/IEC 18004, quiet zone).
pub(super) const QUIET: usize = 4;

/// A code's dark squares.
pub(super) struct Code {
    modules: QRCode,
}

impl Code {
    /// The code of a text, readable with 15 % of it damaged; `None` if the text is too long for one.
    pub(super) fn of(text: &str) -> Option<Self> {
        let modules = QRBuilder::new(text).ecl(ECL::M).build().ok()?;
        Some(Self { modules })
    }

    /// Modules of a side with the quiet zone.
    pub(super) fn side(&self) -> usize {
        self.modules.size + 2 * QUIET
    }

    /// Path of the dark modules, a unit each, with its quiet zone; neighbours in a row are one.
    pub(super) fn path(&self) -> String {
        let mut path = String::new();
        for y in 0..self.modules.size {
            let row: Vec<bool> = self.modules[y].iter().map(|m| m.value()).collect();
            let row = &row[..self.modules.size];
            let mut x = 0;
            for run in row.chunk_by(|a, b| a == b) {
                if run[0] {
                    let (left, top, length) = (x + QUIET, y + QUIET, run.len());
                    let _a_string_never_fails = write!(path, "M{left} {top}h{length}v1h-{length}z");
                }
                x += run.len();
            }
        }
        path
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO/IEC 18004: version 1 has 21 modules a side; a finder pattern stands in the corner, seven
    /// dark modules at its top edge.
    #[test]
    fn a_short_text_is_a_code_of_the_first_version() {
        let code = Code::of("AC-42").unwrap();
        assert_eq!(code.side(), 21 + 8);
        assert!(code.path().starts_with("M4 4h7v1h-7z"), "{}", code.path());
        assert!(Code::of(&"x".repeat(4000)).is_none());
    }
}
