//! What a sweep is planned for.

use lineproof_core::plan::{Dielectric, Range};
use lineproof_core::quantity::Reading;

use super::super::fact::{About, Choice, Fact, Group, Question, Reader, Row, Spelling};
use super::super::read::{metres, said};
use super::super::values;

/// The question that takes them.
const PLAN: &[Question] = &[Question::Plan];

/// Every row, in the order of the help.
pub(super) static ALL: [&dyn Row; 6] = [
    &LENGTH,
    &DIELECTRIC,
    &VELOCITY_FACTOR,
    &POINTS,
    &ANALYSER,
    &RESOLUTION,
];

/// Length of the cable, roughly.
pub static LENGTH: Fact<Range> = Fact {
    about: About {
        name: "planned_length",
        spelling: Spelling::As("length"),
        group: Group::Known,
        label: "Length",
        hint: "12m or 10m..20m",
        note: "roughly (± 10 %), or a range",
        help: "Rough length (± 10 %), or a range such as 10m..20m",
        questions: PLAN,
        required_by: PLAN,
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", |text| said(values::length_range(text))),
};

/// Dielectric, from which the velocity factor follows.
pub static DIELECTRIC: Fact<Dielectric> = Fact {
    about: About {
        name: "dielectric",
        group: Group::Known,
        label: "Dielectric",
        help: "Dielectric of the cable, if known",
        questions: PLAN,
        excludes: &["velocity_factor_range"],
        preset: "unknown",
        ..About::PLAIN
    },
    reader: Reader::Choice(
        "DIELECTRIC",
        &[
            Choice::new(
                "solid-pe",
                "Solid polyethylene: clear or milky, hard",
                Dielectric::SolidPolyethylene,
            ),
            Choice::new(
                "foam-pe",
                "Foamed polyethylene: white, dents under a fingernail",
                Dielectric::FoamedPolyethylene,
            ),
            Choice::new(
                "ptfe",
                "PTFE: white, hard, waxy, does not melt under the iron",
                Dielectric::Ptfe,
            ),
            Choice::new("air", "Discs, spiral or tube with air", Dielectric::Air),
            Choice::new("unknown", "Not known", Dielectric::Unknown),
        ],
    ),
};

/// Velocity factor, or between which it lies.
pub static VELOCITY_FACTOR: Fact<Range> = Fact {
    about: About {
        name: "velocity_factor_range",
        spelling: Spelling::As("velocity-factor"),
        group: Group::Known,
        label: "Velocity factor instead",
        hint: "0.66 or 0.64..0.70",
        note: "or a range",
        help: "Velocity factor, or a range such as 0.64..0.70",
        questions: PLAN,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RATIO", values::velocity_factor_range),
};

/// Points of one sweep.
pub static POINTS: Fact<usize> = Fact {
    about: About {
        name: "points",
        group: Group::Own("The sweep"),
        label: "Points of the analyser",
        hint: "401",
        help: "Points of one sweep",
        questions: PLAN,
        preset: "401",
        ..About::PLAIN
    },
    reader: Reader::Quantity("POINTS", values::points),
};

/// Frequencies that the analyser has.
pub static ANALYSER: Fact<Range> = Fact {
    about: About {
        name: "analyser",
        group: Group::Own("The sweep"),
        label: "Range of the analyser",
        hint: "50kHz..900MHz",
        help: "Frequency range of the analyser",
        questions: PLAN,
        preset: "50kHz..900MHz",
        ..About::PLAIN
    },
    reader: Reader::Quantity("RANGE", values::frequency_range),
};

/// How close two faults may lie.
pub static RESOLUTION: Fact<Reading> = Fact {
    about: About {
        name: "resolution",
        group: Group::Own("The sweep"),
        label: "Resolution",
        hint: "30cm",
        note: "distance at which two faults must still be resolved",
        help: "Distance at which two faults must still be resolved",
        questions: PLAN,
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", metres),
};
