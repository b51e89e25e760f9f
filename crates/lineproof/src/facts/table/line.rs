//! A run of line, and the file of it.

use lineproof_core::plan::Range;
use lineproof_core::quantity::Reading;

use super::super::fact::{About, Fact, Group, Question, Reader, Row, Spelling};
use super::super::read::{metres, ohms};
use super::super::values;

/// Every row, in the order of the help.
pub(super) static ALL: [&dyn Row; 4] = [&RUN, &SWEEP, &POINTS, &REFER_TO];

/// Length of the run.
pub static RUN: Fact<Reading> = Fact {
    about: About {
        name: "run",
        group: Group::Purpose,
        label: "Run",
        hint: "20m",
        note: "the length of the swept piece if empty",
        help: "Length of the run; default: the swept piece",
        questions: &[Question::Use, Question::Network, Question::Removal],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", metres),
};

/// Frequencies of a file of the line.
pub static SWEEP: Fact<Range> = Fact {
    about: About {
        name: "file_range",
        spelling: Spelling::As("sweep"),
        group: Group::Own("The file"),
        label: "Frequencies of the file",
        hint: "10MHz..500MHz",
        help: "Frequencies of the file",
        questions: &[Question::Network],
        preset: "10MHz..500MHz",
        ..About::PLAIN
    },
    reader: Reader::Quantity("RANGE", values::frequency_range),
};

/// How many there are.
pub static POINTS: Fact<u32> = Fact {
    about: About {
        name: "file_points",
        spelling: Spelling::As("points"),
        group: Group::Own("The file"),
        label: "Points of the file",
        hint: "401",
        help: "Points of the file",
        questions: &[Question::Network],
        preset: "401",
        ..About::PLAIN
    },
    reader: Reader::Quantity("POINTS", |text| values::count(text, 2..=100_001)),
};

/// Impedance that the file refers to.
pub static REFER_TO: Fact<Reading> = Fact {
    about: About {
        name: "file_reference",
        spelling: Spelling::As("refer-to"),
        group: Group::Own("The file"),
        label: "Reference impedance of the file",
        hint: "50ohm",
        help: "Reference impedance of the file, ohm",
        questions: &[Question::Network],
        preset: "50ohm",
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};
