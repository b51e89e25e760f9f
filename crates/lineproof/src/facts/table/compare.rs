//! What is known of two sets of sweeps besides their cable.

use super::super::fact::{About, Fact, Group, Question, Reader, Row};

/// The question that takes them.
const COMPARE: &[Question] = &[Question::Compare];

/// Every row, in the order of the help.
pub(super) static ALL: [&dyn Row; 2] = [&OTHER_LOAD, &SAME_TEMPERATURE];

/// Whether the load of the calibration was another one the second time.
pub static OTHER_LOAD: Fact<bool> = Fact {
    about: About {
        name: "other_load",
        group: Group::Known,
        label: "Another load the second time",
        hint: "yes",
        note: "its error does not cancel then",
        help: "The calibrations used different loads, so the load's error does not cancel",
        questions: COMPARE,
        ..About::PLAIN
    },
    reader: Reader::Flag(true),
};

/// Whether the temperature was the same.
pub static SAME_TEMPERATURE: Fact<bool> = Fact {
    about: About {
        name: "same_temperature",
        group: Group::Known,
        label: "The same temperature both times",
        hint: "yes",
        note: "5 K are allowed for otherwise",
        help: "The temperature was the same both times; otherwise 5 K are allowed for",
        questions: COMPARE,
        ..About::PLAIN
    },
    reader: Reader::Flag(true),
};
