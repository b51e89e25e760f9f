//! What to cut.

use lineproof_core::quantity::{self, Reading};
use lineproof_core::sections::StubEnd;
use num_complex::Complex64;

use super::super::fact::{About, Choice, Fact, Group, Question, Reader, Row, Spelling};
use super::super::read::{delay, frequency, metres, ohms, said};
use super::super::values;

const PIECE: Group = Group::Own("The piece");
const FAULT: Group = Group::Own("The fault");

/// Every row, in the order of the help.
pub(super) static ALL: [&dyn Row; 17] = [
    &FREQUENCY,
    &PLUG_DELAY,
    &FROM,
    &TO,
    &END,
    &NOTCH,
    &REACTANCE,
    &MATCH,
    &LINE,
    &COUNT,
    &ANGLE,
    &DELAY,
    &DELAYS,
    &AT,
    &AT_ERROR,
    &SPAN,
    &WHOLE,
];

/// Frequency of the piece.
pub static FREQUENCY: Fact<Reading> = Fact {
    about: About {
        name: "piece_frequency",
        spelling: Spelling::As("frequency"),
        group: PIECE,
        label: "Frequency of the piece",
        hint: "14.1MHz",
        help: "Frequency of the piece",
        questions: &[Question::Piece],
        required_by: &[Question::Piece],
        ..About::PLAIN
    },
    reader: Reader::Quantity("FREQUENCY", frequency),
};

/// Delay of plugs, tee and fixture.
pub static PLUG_DELAY: Fact<Reading> = Fact {
    about: About {
        name: "plug_delay",
        group: PIECE,
        label: "Plug delay",
        hint: "120ps",
        note: "one way; of plugs, tee and fixture together",
        help: "One-way delay of plugs, tee and fixture together",
        questions: &[Question::Piece],
        ..About::PLAIN
    },
    reader: Reader::Quantity("DELAY", delay),
};

/// Resistance at one end.
pub static FROM: Fact<Reading> = Fact {
    about: About {
        name: "transformer_from",
        spelling: Spelling::As("from"),
        group: PIECE,
        label: "Resistance at one end",
        hint: "50ohm",
        help: "Resistance at one end",
        questions: &[Question::Transformer],
        required_by: &[Question::Transformer],
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};

/// Resistance at the other end.
pub static TO: Fact<Reading> = Fact {
    about: About {
        name: "transformer_to",
        spelling: Spelling::As("to"),
        group: PIECE,
        label: "Resistance at the other end",
        hint: "100ohm",
        help: "Resistance at the other end",
        questions: &[Question::Transformer],
        required_by: &[Question::Transformer],
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};

/// How the stub ends.
pub static END: Fact<StubEnd> = Fact {
    about: About {
        name: "stub_end",
        spelling: Spelling::As("end"),
        group: PIECE,
        label: "Far end of the stub",
        help: "Far end of the stub",
        questions: &[Question::Stub],
        required_by: &[Question::Stub],
        ..About::PLAIN
    },
    reader: Reader::Choice(
        "END",
        &[
            Choice::new("open", "Open", StubEnd::Open),
            Choice::new("short", "Shorted", StubEnd::Short),
        ],
    ),
};

/// Whether the stub is a notch.
pub static NOTCH: Fact<bool> = Fact {
    about: About {
        name: "notch",
        hint: "yes",
        group: PIECE,
        label: "Notch at this frequency",
        help: "Notch at this frequency",
        questions: &[Question::Stub],
        ..About::PLAIN
    },
    reader: Reader::Flag(true),
};

/// Reactance that the stub presents.
pub static REACTANCE: Fact<Reading> = Fact {
    about: About {
        name: "stub_reactance",
        spelling: Spelling::As("reactance"),
        group: PIECE,
        label: "Or a reactance",
        hint: "-86.6ohm",
        help: "Reactance to present, for example -86.6ohm",
        questions: &[Question::Stub],
        ..About::PLAIN
    },
    reader: Reader::Quantity("REACTANCE", |text| {
        said(quantity::parse_reactance_ohm(text))
    }),
};

/// Load that the stub matches.
pub static MATCH: Fact<Complex64> = Fact {
    about: About {
        name: "stub_match",
        spelling: Spelling::As("match"),
        group: PIECE,
        label: "Or a load to match",
        hint: "60-j80ohm",
        help: "Load to match, for example 60-j80ohm",
        questions: &[Question::Stub],
        ..About::PLAIN
    },
    reader: Reader::Quantity("IMPEDANCE", values::impedance_point),
};

/// Line that the stub is connected to.
pub static LINE: Fact<Reading> = Fact {
    about: About {
        name: "stub_line",
        spelling: Spelling::As("system"),
        group: PIECE,
        label: "Impedance of the line that it is connected to",
        hint: "50ohm",
        help: "Impedance of the line that it is connected to",
        questions: &[Question::Stub],
        preset: "50ohm",
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};

/// How many half waves.
pub static COUNT: Fact<u32> = Fact {
    about: About {
        name: "half_waves",
        spelling: Spelling::As("count"),
        group: PIECE,
        label: "Number of half waves",
        hint: "1",
        help: "Number of half waves",
        questions: &[Question::HalfWave],
        preset: "1",
        ..About::PLAIN
    },
    reader: Reader::Quantity("COUNT", |text| values::count(text, 1..=1000)),
};

/// Electrical length.
pub static ANGLE: Fact<f64> = Fact {
    about: About {
        name: "angle",
        group: PIECE,
        label: "Angle",
        hint: "84deg",
        help: "Angle, for example 84deg",
        questions: &[Question::Phasing],
        required_by: &[Question::Phasing],
        ..About::PLAIN
    },
    reader: Reader::Quantity("ANGLE", values::angle_deg),
};

/// Delay that the line shall have.
pub static DELAY: Fact<Reading> = Fact {
    about: About {
        name: "piece_delay",
        spelling: Spelling::As("delay"),
        group: PIECE,
        label: "One-way delay",
        hint: "25ns",
        help: "One-way delay",
        questions: &[Question::Delay],
        required_by: &[Question::Delay],
        ..About::PLAIN
    },
    reader: Reader::Quantity("DELAY", delay),
};

/// Delays of the lines of a set.
pub static DELAYS: Fact<Vec<Reading>> = Fact {
    about: About {
        name: "delays",
        group: PIECE,
        label: "One-way delays as measured, in order",
        hint: "50.2ns, 51.0ns, 50.6ns",
        help: "One-way delays as measured, in order",
        questions: &[Question::Equal],
        required_by: &[Question::Equal],
        ..About::PLAIN
    },
    reader: Reader::Several("DELAYS", |text| values::several(text).map(delay).collect()),
};

/// Where the fault begins.
pub static AT: Fact<Reading> = Fact {
    about: About {
        name: "fault_at",
        spelling: Spelling::As("at"),
        group: FAULT,
        label: "Where the fault begins, from the near end",
        hint: "7.2m",
        help: "Where the fault begins, from the near end",
        questions: &[Question::FaultCut],
        needs: &["fault_whole"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", metres),
};

/// How far that may be off.
pub static AT_ERROR: Fact<Reading> = Fact {
    about: About {
        name: "fault_at_error",
        spelling: Spelling::As("at-error"),
        group: FAULT,
        label: "Error of that place (95 %)",
        hint: "20cm",
        help: "Error of that place (95 %)",
        questions: &[Question::FaultCut],
        preset: "20cm",
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", metres),
};

/// How long the fault is.
pub static SPAN: Fact<Reading> = Fact {
    about: About {
        name: "fault_span",
        spelling: Spelling::As("span"),
        group: FAULT,
        label: "Length of the fault",
        hint: "30cm",
        help: "Length of the fault",
        questions: &[Question::FaultCut],
        needs: &["fault_at"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", metres),
};

/// Length of the whole cable.
pub static WHOLE: Fact<Reading> = Fact {
    about: About {
        name: "fault_whole",
        spelling: Spelling::As("whole"),
        group: FAULT,
        label: "Length of the whole cable",
        hint: "20m",
        help: "Length of the whole cable, if the finding has none",
        questions: &[Question::FaultCut],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", metres),
};
