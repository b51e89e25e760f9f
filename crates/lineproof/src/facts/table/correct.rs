//! How far raw sweeps and their calibration are to be trusted, and what the corrected ones refer to.

use lineproof_core::quantity::Reading;

use super::super::fact::{About, Fact, Group, Question, Reader, Row};
use super::super::read::ohms;
use super::super::values;

/// The question that takes them.
const CORRECT: &[Question] = &[Question::Correct];

const TRUST: Group = Group::Own("How far to trust it");

/// Every row, in the order of the help.
pub(super) static ALL: [&dyn Row; 5] =
    [&CALLED_IDEAL, &REPEATABILITY, &NOISE, &DRIFT, &RESULT_OHMS];

/// Whether the analyser corrected the sweeps itself.
pub static CALLED_IDEAL: Fact<bool> = Fact {
    about: About {
        name: "called_ideal",
        group: Group::Plane,
        label: "The analyser took the kit for ideal",
        hint: "yes",
        note: "it corrected the sweeps itself",
        help: "The analyser corrected the sweeps and took the kit's open, short and load for ideal",
        questions: CORRECT,
        excludes: &["standard"],
        ..About::PLAIN
    },
    reader: Reader::Flag(true),
};

/// Repeatability of a connection.
pub static REPEATABILITY: Fact<f64> = Fact {
    about: About {
        name: "repeatability",
        group: TRUST,
        label: "Repeatability of a connection",
        hint: "0.002",
        note: "95 %, as reflection",
        help: "Repeatability of a connection (95 %), as reflection",
        questions: CORRECT,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RATIO", values::small_ratio),
};

/// Noise of one raw reading.
pub static NOISE: Fact<f64> = Fact {
    about: About {
        name: "noise",
        group: TRUST,
        label: "Noise of one raw reading",
        hint: "0.0005",
        note: "95 %; from the roughness of the standards' sweeps if empty",
        help: "Noise of one raw reading (95 %); default: from the roughness of the standards' sweeps",
        questions: CORRECT,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RATIO", values::small_ratio),
};

/// Drift since the calibration.
pub static DRIFT: Fact<f64> = Fact {
    about: About {
        name: "drift",
        group: TRUST,
        label: "Drift since the calibration",
        hint: "0.001",
        note: "95 %, as reflection",
        help: "Drift since the calibration (95 %), as reflection",
        questions: CORRECT,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RATIO", values::small_ratio),
};

/// What the corrected sweeps refer to.
pub static RESULT_OHMS: Fact<Reading> = Fact {
    about: About {
        name: "result_ohms",
        group: Group::Own("Output"),
        label: "Reference impedance of the corrected sweeps",
        hint: "75",
        note: "ohm; that of the kit if empty",
        help: "Reference impedance of the corrected sweeps, ohm; default: that of the kit",
        questions: CORRECT,
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};
