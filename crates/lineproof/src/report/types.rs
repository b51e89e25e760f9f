//! The types that something may be, for a finding and for what was seen.

use lineproof_core::finding::said::decision;

use super::page::Page;
use crate::finding::TypeFound;

/// The types that something may be, each with its probability; nothing if there is none.
pub fn found(page: &mut Page, types: &[TypeFound]) {
    if types.is_empty() {
        return;
    }
    page.heading("Possible types");
    for t in types {
        let also = decision::same_as(t).map_or_else(String::new, |also| format!("; {also}"));
        let lead = format!("  {:>3.0} %  ", 100.0 * t.probability);
        page.paragraph(&lead, &format!("{}{also}", t.designation));
    }
}
