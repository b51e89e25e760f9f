//! What the catalogue is asked, besides what caliper and eye say.

use lineproof_core::quantity::{AttenuationReading, Reading};

use super::super::fact::{About, Fact, Group, Question, Reader, Row, Spelling};
use super::super::read::{metres, ohms};
use super::super::values;

/// The list.
const LISTED: &[Question] = &[Question::TypesListed];
/// Which type a cable may be.
const SEEN: &[Question] = &[Question::Types];

/// Every row, in the order of the help.
pub(super) static ALL: [&dyn Row; 7] = [
    &OHMS,
    &WITH,
    &MOST_LOSS,
    &MOST_DIAMETER,
    &SEEN_IMPEDANCE,
    &SEEN_VELOCITY_FACTOR,
    &SEEN_LOSS,
];

/// Impedance of the types.
pub static OHMS: Fact<Reading> = Fact {
    about: About {
        name: "listed_ohms",
        spelling: Spelling::As("ohms"),
        group: Group::Own("List only"),
        label: "Impedance",
        hint: "50",
        note: "ohm, within 5 %",
        help: "Types of this impedance, within 5 %",
        questions: LISTED,
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};

/// Text that the types have.
pub static WITH: Fact<String> = Fact {
    about: About {
        name: "listed_with",
        spelling: Spelling::As("with"),
        group: Group::Own("List only"),
        label: "Text in name, class or specification",
        hint: "foam",
        help: "Types with this text in name, class or specification",
        questions: LISTED,
        ..About::PLAIN
    },
    reader: Reader::Text("TEXT", str::to_owned),
};

/// Loss that the types keep to.
pub static MOST_LOSS: Fact<AttenuationReading> = Fact {
    about: About {
        name: "listed_most_loss",
        spelling: Spelling::As("most-loss"),
        group: Group::Own("List only"),
        label: "Most loss",
        hint: "10dB/100m@145MHz",
        help: "Types that lose no more than this, for example 10dB/100m@145MHz",
        questions: LISTED,
        ..About::PLAIN
    },
    reader: Reader::Quantity("LOSS", values::attenuation_at),
};

/// Diameter that the types keep to.
pub static MOST_DIAMETER: Fact<Reading> = Fact {
    about: About {
        name: "listed_most_diameter",
        spelling: Spelling::As("most-diameter"),
        group: Group::Own("List only"),
        label: "Largest diameter",
        hint: "11mm",
        help: "Types no thicker than this",
        questions: LISTED,
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", metres),
};

/// Impedance as measured.
pub static SEEN_IMPEDANCE: Fact<Reading> = Fact {
    about: About {
        name: "seen_impedance",
        group: Group::Look,
        label: "Impedance",
        hint: "74.3",
        note: "ohm",
        help: "Characteristic impedance",
        questions: SEEN,
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};

/// Velocity factor as measured.
pub static SEEN_VELOCITY_FACTOR: Fact<Reading> = Fact {
    about: About {
        name: "seen_velocity_factor",
        group: Group::Look,
        label: "Velocity factor",
        hint: "0.66",
        help: "Velocity factor",
        questions: SEEN,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RATIO", values::velocity_factor),
};

/// Loss as measured.
pub static SEEN_LOSS: Fact<Vec<AttenuationReading>> = Fact {
    about: About {
        name: "seen_loss",
        group: Group::Look,
        label: "Loss at a frequency, or at several",
        hint: "11dB/100m@100MHz",
        help: "Loss at a frequency, for example 11dB/100m@100MHz; may be repeated",
        questions: SEEN,
        ..About::PLAIN
    },
    reader: Reader::Several("LOSS", |text| {
        values::several(text).map(values::attenuation_at).collect()
    }),
};
