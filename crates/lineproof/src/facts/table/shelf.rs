//! What is asked of the shelf and of its labels.

use lineproof_core::quantity::Reading;

use super::super::fact::{About, Fact, Group, Question, Reader, Row, Spelling};
use super::super::read::{hertz, ohms};

/// Every row, in the order of the help.
pub(super) static ALL: [&dyn Row; 2] = [&IMPEDANCE, &LOSS_AT];

/// Impedance of the cables that are listed.
pub static IMPEDANCE: Fact<Reading> = Fact {
    about: About {
        name: "shelved_impedance",
        spelling: Spelling::As("impedance"),
        group: Group::Own("List only"),
        label: "Impedance",
        hint: "50",
        note: "ohm, within 10 %",
        help: "Only cables of this impedance, ohm, within 10 %",
        questions: &[Question::ShelfListed],
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};

/// Frequency of the loss on a label.
pub static LOSS_AT: Fact<f64> = Fact {
    about: About {
        name: "label_loss_at",
        spelling: Spelling::As("loss-at"),
        group: Group::Own("Content"),
        label: "Frequency of the stated loss",
        hint: "100MHz",
        help: "Frequency of the stated loss",
        questions: &[Question::Label],
        preset: "100MHz",
        ..About::PLAIN
    },
    reader: Reader::Quantity("FREQUENCY", hertz),
};
