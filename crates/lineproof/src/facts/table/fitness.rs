//! What a cable shall be fit for.

use lineproof_core::quantity::{self, Reading};
use num_complex::Complex64;

use super::super::fact::{About, Choice, Fact, Group, Question, Reader, Row, Spelling};
use super::super::read::{ohms, said};
use super::super::values;

/// The question that takes them.
const USE: &[Question] = &[Question::Use];

/// Every row, in the order of the help.
pub(super) static ALL: [&dyn Row; 8] = [
    &POWER,
    &MODE,
    &DUTY,
    &SWR,
    &LOAD_IMPEDANCE,
    &SYSTEM,
    &AMBIENT,
    &MOST_LOSS,
];

/// Power.
pub static POWER: Fact<Reading> = Fact {
    about: About {
        name: "power",
        group: Group::Purpose,
        label: "Power into the line",
        hint: "50W",
        note: "peak envelope",
        help: "Power into the line, peak envelope",
        questions: USE,
        ..About::PLAIN
    },
    reader: Reader::Quantity("POWER", |text| said(quantity::parse_power_w(text))),
};

/// Mode, as the average by the peak power. Common practice: a carrier counts whole, Morse half, speech four
/// tenths with processing.
pub static MODE: Fact<f64> = Fact {
    about: About {
        name: "mode",
        group: Group::Purpose,
        label: "Mode",
        help: "Mode, which sets the average power",
        questions: USE,
        excludes: &["duty"],
        preset: "carrier",
        ..About::PLAIN
    },
    reader: Reader::Choice(
        "MODE",
        &[
            Choice::new("carrier", "A steady carrier, also of AM", 1.0),
            Choice::new("fm", "Frequency modulation", 1.0),
            Choice::new("data", "Continuous data", 1.0),
            Choice::new("cw", "Morse code", 0.5),
            Choice::new("ssb", "Speech, single sideband", 0.4),
        ],
    ),
};

/// Average by peak power.
pub static DUTY: Fact<Reading> = Fact {
    about: About {
        name: "duty",
        group: Group::Purpose,
        label: "Duty cycle instead of a mode",
        hint: "0.5",
        note: "0 to 1",
        help: "Average power as a fraction of peak power, 0 to 1",
        questions: USE,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RATIO", |text| said(quantity::parse_ratio(text))),
};

/// VSWR of what ends the line.
pub static SWR: Fact<Reading> = Fact {
    about: About {
        name: "load_swr",
        spelling: Spelling::As("swr"),
        group: Group::Purpose,
        label: "VSWR of the load",
        hint: "1.5",
        note: "in the system's impedance",
        help: "VSWR of the load in the system's impedance",
        questions: USE,
        excludes: &["load_impedance"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("VSWR", |text| said(quantity::parse_swr(text))),
};

/// Impedance of what ends the line.
pub static LOAD_IMPEDANCE: Fact<Complex64> = Fact {
    about: About {
        name: "load_impedance",
        group: Group::Purpose,
        label: "Load impedance instead",
        hint: "30-j20ohm",
        help: "Impedance of the load, for example 30-j20ohm",
        questions: USE,
        ..About::PLAIN
    },
    reader: Reader::Quantity("IMPEDANCE", values::impedance_point),
};

/// Impedance of transmitter and load.
pub static SYSTEM: Fact<Reading> = Fact {
    about: About {
        name: "line_system",
        spelling: Spelling::As("system"),
        group: Group::Purpose,
        label: "System impedance",
        hint: "50",
        note: "ohm; the cable's nominal impedance if empty",
        help: "Impedance of transmitter and load; default: the cable's nominal impedance",
        questions: USE,
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};

/// Temperature around the cable.
pub static AMBIENT: Fact<f64> = Fact {
    about: About {
        name: "ambient",
        group: Group::Purpose,
        label: "Ambient temperature",
        hint: "25C",
        help: "Temperature around the cable",
        questions: USE,
        preset: "25C",
        ..About::PLAIN
    },
    reader: Reader::Quantity("TEMPERATURE", values::temperature_c),
};

/// Limit for the loss.
pub static MOST_LOSS: Fact<Reading> = Fact {
    about: About {
        name: "most_loss",
        group: Group::Purpose,
        label: "Limit for the loss",
        hint: "2dB",
        help: "Limit for the loss",
        questions: USE,
        ..About::PLAIN
    },
    reader: Reader::Quantity("LOSS", |text| said(quantity::parse_loss_db(text))),
};
