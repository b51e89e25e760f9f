//! What typed readings give, as text.

use crate::exit;
use crate::questions::ask::Answer;
use crate::report::methods;
use crate::report::page::Page;
use lineproof_core::finding::judge::readings::ReadingsAnswer;
use lineproof_core::quantity::Units;

impl Answer for ReadingsAnswer {
    fn text(&self, _units: Units) -> String {
        text(self)
    }

    fn code(&self) -> u8 {
        let unserved = self.methods.iter().filter(|m| m.reason.is_some()).count();
        match (self.methods.len(), unserved) {
            (0, _) => exit::USAGE,
            (_, 0) => exit::ANSWERED,
            (all, unserved) if all == unserved => exit::UNDETERMINED,
            _ => exit::ANSWERED_IN_PART,
        }
    }

    fn messages(&self) -> Vec<String> {
        if !self.methods.is_empty() {
            return Vec::new();
        }
        vec![
            "error: no reading that a method could use".to_owned(),
            "help: `lineproof readings --help` lists them with examples".to_owned(),
        ]
    }
}

/// The answer for people.
fn text(answer: &ReadingsAnswer) -> String {
    let mut page = Page::default();
    page.paragraph("", &answer.sentence);
    for why in &answer.impossible {
        page.paragraph("  - ", why);
    }
    for (i, remark) in answer.remarks.iter().enumerate() {
        if i == 0 {
            page.line("");
        }
        page.paragraph("  - ", remark);
    }
    methods::write(&mut page, &answer.methods, Units::Metres);
    page.finish()
}
