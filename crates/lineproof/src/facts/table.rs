//! The table: a row for each fact, in the order of help and form.

use lineproof_core::bench::MarkedLoss;
use lineproof_core::catalogue::Filling;
use lineproof_core::finding::Gives;
use lineproof_core::finding::judge::criteria::Criteria;
use lineproof_core::finding::judge::types::OwnTypes;
use lineproof_core::formats::{FrequencyUnit, PairFormat};
use lineproof_core::quantity::{self, Reading};
use lineproof_core::uncertain::Uncertain;

use super::fact::{About, Choice, Fact, Group, Question, Reader, Row, Spelling};
use super::read::{
    frequencies, hertz, marked_loss, metres, ohms, plain_metres, plain_ohms, seen, seen_metres,
};
use super::values;
use super::word::Word;
use crate::workflow::attached::Attached;
use crate::workflow::fixture::Fixture;
use crate::workflow::kit_reader;

use Question::{Assay, Cable, Compare, Correct, Plan, Readings, Sort, Types, TypesListed, Use};

pub mod compare;
pub mod correct;
pub mod cut;
pub mod fitness;
pub mod line;
pub mod plan;
pub mod readings;
pub mod shelf;
pub mod types;

/// Every fact: what one question alone asks stands where its help has it.
pub fn all() -> impl Iterator<Item = &'static dyn Row> {
    let parts: [&[&dyn Row]; 10] = [
        &plan::ALL,
        &readings::ALL,
        &cut::ALL,
        &SHARED,
        &compare::ALL,
        &line::ALL,
        &fitness::ALL,
        &types::ALL,
        &correct::ALL,
        &shelf::ALL,
    ];
    parts.into_iter().flatten().copied()
}

/// What is said of a cable, its sweeps and its use, whichever question is asked of it.
static SHARED: [&dyn Row; 33] = [
    &LENGTH,
    &SHORTER_LENGTH,
    &LOAD_OHMS,
    &FAR_LOAD_OHMS,
    &TAPE_ERROR,
    &VELOCITY_FACTOR,
    &TEMPERATURE,
    &MARKED,
    &MARKED_IMPEDANCE,
    &MARKED_VELOCITY_FACTOR,
    &MARKED_LOSS,
    &SEEN_DIAMETER,
    &SEEN_DIELECTRIC_DIAMETER,
    &SEEN_INNER_DIAMETER,
    &SEEN_CAPACITANCE_PER_METRE,
    &SEEN_DIELECTRIC,
    &SEEN_INNER,
    &SEEN_MAGNET,
    &RATED_AS,
    &OWN_TYPES,
    &USE_AT,
    &SYSTEM_IMPEDANCE,
    &FREQUENCIES,
    &CRITERIA,
    &CALIBRATION_AGE,
    &NEAR_ADAPTER,
    &FAR_ADAPTER,
    &KIT,
    &CORRECTED,
    &FREQUENCY_UNIT,
    &PAIR_FORMAT,
    &REFERENCE_OHMS,
    &STRICT,
];

/// The facts that a question takes, in their order.
pub fn taken_by(question: Question) -> impl Iterator<Item = &'static dyn Row> {
    all().filter(move |fact| fact.about().is_taken_by(question))
}

/// The fact of this name.
pub fn named(name: &str) -> Option<&'static dyn Row> {
    all().find(|fact| fact.about().name == name)
}

/// The fact that an advice asks for.
pub fn given_by(gives: Gives) -> &'static About {
    match gives {
        Gives::Length => &LENGTH.about,
        Gives::LoadByOhmmeter => &LOAD_OHMS.about,
    }
}

// ---------------------------------------------------------------- what you know

/// Length of the cable.
pub static LENGTH: Fact<Reading> = Fact {
    about: About {
        name: "length",
        first: true,
        label: "Length by tape",
        hint: "2.400m or 7ft10in",
        note: "between the plugs; gives velocity factor and places",
        help: "Length of the cable by tape, between its plugs",
        questions: &[Assay, Compare, Cable, Readings],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", metres),
};

/// Length of the shorter piece of the same cable.
pub static SHORTER_LENGTH: Fact<Reading> = Fact {
    about: About {
        name: "shorter_length",
        first: true,
        label: "Length of the shorter piece by tape",
        hint: "0.500m",
        note: "between its plugs",
        help: "Length of the shorter piece by tape, between its plugs",
        questions: &[Assay],
        needs: &["shorter"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", metres),
};

/// The calibration load.
pub static LOAD_OHMS: Fact<Reading> = Fact {
    about: About {
        name: "load_ohms",
        first: true,
        label: "Calibration load by ohmmeter",
        hint: "49.97",
        note: "ohm, leads subtracted; every impedance scales with it",
        help: "Resistance of the calibration load by ohmmeter, ohm",
        questions: &[Assay, Compare, Sort, Cable, Readings, Correct],
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};

/// Another load at the far end.
pub static FAR_LOAD_OHMS: Fact<Reading> = Fact {
    about: About {
        name: "far_load_ohms",
        label: "Other load at the far end",
        hint: "100.1",
        note: "ohm, if it was not the calibration load",
        help: "Resistance at the far end of the load sweeps, ohm, if it is not the calibration load",
        questions: &[Assay, Compare, Cable],
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", ohms),
};

/// Limits of the tape.
pub static TAPE_ERROR: Fact<f64> = Fact {
    about: About {
        name: "tape_error",
        label: "Error of the tape",
        hint: "3mm",
        note: "95 %; 6 mm and 0.04 % if empty",
        help: "Error of the tape (95 %); default 6 mm and 0.04 %",
        questions: &[Assay, Cable, Readings],
        needs: &["length"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", plain_metres),
};

/// Velocity factor, where nothing else gives places or a length.
pub static VELOCITY_FACTOR: Fact<Reading> = Fact {
    about: About {
        name: "velocity_factor",
        label: "Velocity factor",
        hint: "0.66",
        note: "if no length is given",
        help: "Velocity factor, if no length is given",
        questions: &[Compare, Readings],
        ..About::PLAIN
    },
    reader: Reader::Quantity("RATIO", values::velocity_factor),
};

/// Temperature of the cable.
pub static TEMPERATURE: Fact<f64> = Fact {
    about: About {
        name: "temperature",
        label: "Temperature of the cable",
        hint: "21C or 70F",
        note: "also states the loss at 20 °C",
        help: "Temperature of the cable, such as 21C or 70F; also states the loss at 20 °C",
        questions: &[Assay],
        ..About::PLAIN
    },
    reader: Reader::Quantity("TEMPERATURE", values::temperature_c),
};

// ---------------------------------------------------------------- what the jacket claims

/// Type on the jacket.
pub static MARKED: Fact<String> = Fact {
    about: About {
        name: "marked",
        group: Group::Jacket,
        label: "Type printed on it",
        hint: "RG-58C/U",
        help: "Type printed on it",
        questions: &[Assay, Types, Readings],
        ..About::PLAIN
    },
    reader: Reader::Text("TYPE", str::to_owned),
};

/// Impedance claimed.
pub static MARKED_IMPEDANCE: Fact<f64> = Fact {
    about: About {
        name: "marked_impedance",
        group: Group::Jacket,
        label: "Impedance claimed",
        hint: "50",
        note: "ohm",
        help: "Impedance that jacket or seller claims, ohm",
        questions: &[Assay, Readings],
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", plain_ohms),
};

/// Velocity factor claimed.
pub static MARKED_VELOCITY_FACTOR: Fact<f64> = Fact {
    about: About {
        name: "marked_velocity_factor",
        group: Group::Jacket,
        label: "Velocity factor claimed",
        hint: "0.66",
        help: "Velocity factor that jacket or seller claims",
        questions: &[Assay, Readings],
        ..About::PLAIN
    },
    reader: Reader::Quantity("RATIO", |text| {
        values::velocity_factor(text).map(|r| r.value)
    }),
};

/// Loss claimed.
pub static MARKED_LOSS: Fact<MarkedLoss> = Fact {
    about: About {
        name: "marked_loss",
        group: Group::Jacket,
        label: "Loss claimed",
        hint: "8.2dB/100m@100MHz",
        note: "with its frequency",
        help: "Loss (attenuation) that jacket or seller claims, for example 8.2dB/100m@100MHz",
        questions: &[Assay, Readings],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LOSS", marked_loss),
};

// ---------------------------------------------------------------- what caliper, meter and eye say

/// Outside diameter.
pub static SEEN_DIAMETER: Fact<Uncertain> = Fact {
    about: About {
        name: "seen_diameter",
        group: Group::Look,
        label: "Outside diameter",
        hint: "4.95mm",
        note: "helps to identify the type",
        help: "Outside diameter by caliper",
        questions: &[Assay, Types],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", seen_metres),
};

/// Diameter over the dielectric.
pub static SEEN_DIELECTRIC_DIAMETER: Fact<Uncertain> = Fact {
    about: About {
        name: "seen_dielectric_diameter",
        group: Group::Look,
        label: "Diameter over the dielectric",
        hint: "2.95mm",
        help: "Diameter over the dielectric by caliper",
        questions: &[Assay, Types],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", seen_metres),
};

/// Diameter of the inner conductor.
pub static SEEN_INNER_DIAMETER: Fact<Uncertain> = Fact {
    about: About {
        name: "seen_inner_diameter",
        group: Group::Look,
        label: "Diameter of the inner conductor",
        hint: "0.90mm",
        note: "with the one above, distinguishes crushed from wet",
        help: "Diameter of the inner conductor by caliper",
        questions: &[Assay, Types],
        ..About::PLAIN
    },
    reader: Reader::Quantity("LENGTH", seen_metres),
};

/// Capacitance by meter.
pub static SEEN_CAPACITANCE_PER_METRE: Fact<Uncertain> = Fact {
    about: About {
        name: "seen_capacitance_per_metre",
        group: Group::Look,
        label: "Capacitance of a metre",
        hint: "67pF",
        note: "by meter, far end open",
        help: "Capacitance of a metre by meter, for example 67pF",
        questions: &[Assay, Types],
        ..About::PLAIN
    },
    reader: Reader::Quantity("CAPACITANCE", |text| {
        seen(quantity::parse_capacitance_f(text))
    }),
};

/// Dielectric by eye.
pub static SEEN_DIELECTRIC: Fact<Filling> = Fact {
    about: About {
        name: "seen_dielectric",
        group: Group::Look,
        label: "Dielectric",
        help: "Dielectric by eye",
        questions: &[Assay, Types],
        ..About::PLAIN
    },
    reader: Reader::Choice(
        "DIELECTRIC",
        &[
            Choice::new(
                "solid-pe",
                "Clear or milky, hard",
                Filling::SolidPolyethylene,
            ),
            Choice::new(
                "foam-pe",
                "White, dents under a fingernail",
                Filling::FoamedPolyethylene,
            ),
            Choice::new(
                "ptfe",
                "White, waxy, does not melt under the iron",
                Filling::Ptfe,
            ),
            Choice::new(
                "air",
                "A tube, a thread, discs or cells",
                Filling::AirSpaced,
            ),
        ],
    ),
};

/// Inner conductor by eye: whether it is stranded.
pub static SEEN_INNER: Fact<bool> = Fact {
    about: About {
        name: "seen_inner",
        group: Group::Look,
        label: "Inner conductor",
        help: "Inner conductor by eye",
        questions: &[Assay, Types],
        ..About::PLAIN
    },
    reader: Reader::Choice(
        "INNER",
        &[
            Choice::new("solid", "One wire", false),
            Choice::new("stranded", "Several", true),
        ],
    ),
};

/// Inner conductor by magnet: whether it holds.
pub static SEEN_MAGNET: Fact<bool> = Fact {
    about: About {
        name: "seen_magnet",
        group: Group::Look,
        label: "A magnet on the inner conductor",
        help: "Whether the inner conductor holds a magnet",
        questions: &[Assay, Types],
        ..About::PLAIN
    },
    reader: Reader::Choice(
        "MAGNET",
        &[
            Choice::new("holds", "It holds: steel core", true),
            Choice::new("does-not", "It does not: copper or aluminium", false),
        ],
    ),
};

/// Another type, whose ratings hold.
pub static RATED_AS: Fact<String> = Fact {
    about: About {
        name: "rated_as",
        group: Group::Jacket,
        label: "Ratings of this type",
        hint: "RG-58C/U",
        note: "for a cable of the shelf",
        help: "Type whose ratings apply to an assayed cable",
        questions: &[Cable],
        ..About::PLAIN
    },
    reader: Reader::Text("TYPE", str::to_owned),
};

/// A person's own types.
pub static OWN_TYPES: Fact<OwnTypes> = Fact {
    about: About {
        name: "own_types",
        spelling: Spelling::As("own"),
        group: Group::Look,
        label: "Types of your own",
        hint: "[[type]]\ndesignation = \"Oil store reel\"\nimpedance = \"50ohm\"\nvelocity_factor = 0.83",
        note: "considered besides the catalogue",
        help: "File of your own types (TOML) to consider besides the catalogue",
        questions: &[Assay, Cable, TypesListed],
        ..About::PLAIN
    },
    reader: Reader::File(|file| OwnTypes::new(text_of(file)?).map_err(|e| e.to_string())),
};

// ---------------------------------------------------------------- what it is for

/// Frequency of use.
pub static USE_AT: Fact<f64> = Fact {
    about: About {
        name: "use_at",
        spelling: Spelling::As("use"),
        group: Group::Purpose,
        label: "Frequency of use",
        hint: "145MHz",
        help: "Frequency of use",
        questions: &[Assay, Sort, Use],
        spelled: &[(Use, "frequency")],
        required_by: &[Use],
        ..About::PLAIN
    },
    reader: Reader::Quantity("FREQUENCY", hertz),
};

/// Impedance of the system.
pub static SYSTEM_IMPEDANCE: Fact<f64> = Fact {
    about: About {
        name: "system_impedance",
        group: Group::Purpose,
        label: "Impedance of the system",
        hint: "50",
        note: "ohm; the nearest of 50, 75 and 93 if empty",
        help: "Impedance of the system, ohm; default: the nearest of 50, 75 and 93",
        questions: &[Assay, Sort],
        also: &[(Sort, "impedance")],
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", plain_ohms),
};

/// Frequencies besides the usual ones.
pub static FREQUENCIES: Fact<Vec<f64>> = Fact {
    about: About {
        name: "frequencies",
        spelling: Spelling::As("frequency"),
        group: Group::Purpose,
        label: "Further frequencies",
        hint: "145MHz; 430MHz",
        note: "for impedance and loss",
        help: "Further frequencies for impedance and loss",
        questions: &[Assay, Compare, Plan],
        ..About::PLAIN
    },
    reader: Reader::Several("FREQUENCY", frequencies),
};

/// What the cable must keep to.
pub static CRITERIA: Fact<Criteria> = Fact {
    about: About {
        name: "criteria",
        group: Group::Purpose,
        label: "Criteria file",
        hint: "loss_excess = 0.10",
        note: "acceptance limits; the default limits if empty",
        help: "File of acceptance limits (TOML)",
        questions: &[Assay, Sort],
        ..About::PLAIN
    },
    reader: Reader::File(|file| Criteria::from_toml(&text_of(file)?)),
};

// ---------------------------------------------------------------- the calibrated plane

/// Age of the calibration.
pub static CALIBRATION_AGE: Fact<f64> = Fact {
    about: About {
        name: "calibration_age",
        group: Group::Plane,
        label: "Time since the calibration",
        hint: "40min or 3h",
        note: "at the sweeps",
        help: "Time from the calibration to the sweeps: 40min, 3h or 2d",
        questions: &[Assay],
        ..About::PLAIN
    },
    reader: Reader::Quantity("TIME", values::time_s),
};

const ADAPTER_HELP: &str = "Adapter that is not part of the cable, as near=… or far=…: 120ps, \
                            50ohm,120ps,0.03dB, sma-bnc or a two-port file";

/// Adapter at the near end.
pub static NEAR_ADAPTER: Fact<Fixture> = Fact {
    about: About {
        name: "near_adapter",
        spelling: Spelling::Keyed {
            option: "adapter",
            key: "near",
            help: ADAPTER_HELP,
        },
        group: Group::Plane,
        label: "Adapter at the near end",
        hint: "sma-bnc or 120ps",
        note: "between the calibrated plane and the plug",
        help: "Adapter between the calibrated plane and the near plug",
        questions: &[Assay, Cable],
        ..About::PLAIN
    },
    reader: Reader::TextOrFile("END=ADAPTER", Fixture::is_file, adapter),
};

/// Adapter at the far end.
pub static FAR_ADAPTER: Fact<Fixture> = Fact {
    about: About {
        name: "far_adapter",
        spelling: Spelling::Keyed {
            option: "adapter",
            key: "far",
            help: ADAPTER_HELP,
        },
        group: Group::Plane,
        label: "Adapter at the far end",
        hint: "sma-bnc or 120ps",
        note: "between the plug and what ends the cable",
        help: "Adapter between the far plug and what ends the cable",
        questions: &[Assay, Cable],
        ..About::PLAIN
    },
    reader: Reader::TextOrFile("END=ADAPTER", Fixture::is_file, adapter),
};

/// The calibration kit.
pub static KIT: Fact<Attached> = Fact {
    about: About {
        name: "kit",
        group: Group::Plane,
        label: "Kit file",
        hint: "[standards.open]\nkind = \"open\"\ncapacitance_f = 40e-15",
        note: "the real open, short and load of the calibration, which the analyser took for ideal",
        help: "Kit file of the calibration, a TOML file",
        questions: &[Assay, Cable],
        ..About::PLAIN
    },
    reader: Reader::File(described_kit),
};

/// Whether the sweeps are corrected with the kit.
pub static CORRECTED: Fact<bool> = Fact {
    about: About {
        name: "corrected",
        group: Group::Plane,
        label: "The sweeps are corrected with this kit",
        hint: "yes",
        note: "by `lineproof correct`, not as the analyser gave them",
        help: "The sweeps come from `lineproof correct` with that kit",
        questions: &[Assay, Cable],
        needs: &["kit"],
        ..About::PLAIN
    },
    reader: Reader::Flag(true),
};

// ---------------------------------------------------------------- what a file does not say

/// Unit of frequencies.
pub static FREQUENCY_UNIT: Fact<FrequencyUnit> = Fact {
    about: About {
        name: "frequency_unit",
        group: Group::Reading,
        label: "Unit of frequency in the files",
        note: "only if the file does not state it",
        help: "Unit of frequencies",
        questions: FILES,
        ..About::PLAIN
    },
    reader: Reader::Choice(
        "UNIT",
        &[
            Choice::new("Hz", "", FrequencyUnit::Hz),
            Choice::new("kHz", "", FrequencyUnit::KHz),
            Choice::new("MHz", "", FrequencyUnit::MHz),
            Choice::new("GHz", "", FrequencyUnit::GHz),
        ],
    ),
};

/// How two numbers make a value.
pub static PAIR_FORMAT: Fact<PairFormat> = Fact {
    about: About {
        name: "pair_format",
        group: Group::Reading,
        label: "Format of the number pairs",
        note: "only if a Touchstone file does not state it",
        help: "Format of the number pairs in a Touchstone file",
        questions: FILES,
        ..About::PLAIN
    },
    reader: Reader::Choice(
        "FORMAT",
        &[
            Choice::new("db", "Decibel and angle", PairFormat::DecibelAngle),
            Choice::new("ma", "Magnitude and angle", PairFormat::MagnitudeAngle),
            Choice::new("ri", "Real and imaginary part", PairFormat::RealImaginary),
        ],
    ),
};

/// What reflections refer to.
pub static REFERENCE_OHMS: Fact<f64> = Fact {
    about: About {
        name: "reference_ohms",
        group: Group::Reading,
        label: "Reference impedance of the sweeps",
        hint: "50",
        note: "ohm, only if the file does not state it; default 50",
        help: "Reference impedance of the sweeps, ohm; default 50",
        questions: FILES,
        ..About::PLAIN
    },
    reader: Reader::Quantity("OHM", plain_ohms),
};

/// Whether a file must keep to its standard.
pub static STRICT: Fact<bool> = Fact {
    about: About {
        name: "strict",
        group: Group::Reading,
        label: "Accept only what the format's standard allows",
        hint: "yes",
        help: "Accept only what the format's standard allows",
        questions: FILES,
        ..About::PLAIN
    },
    reader: Reader::Flag(true),
};

/// The questions that read files.
const FILES: &[Question] = &[Assay, Compare, Sort, Cable, Correct];

// ---------------------------------------------------------------- readers

fn adapter(word: &Word) -> Fixture {
    match word {
        Word::File(file) => Fixture::File(file.clone()),
        other => Fixture::Described(other.typed().trim().to_owned()),
    }
}

/// A kit that can be made use of. Standards that another file describes are passed over: no file is looked up.
fn described_kit(file: &Attached) -> Result<Attached, String> {
    match kit_reader::described(file) {
        Ok(_) => Ok(file.clone()),
        Err(error) => Err(with_cause(&error)),
    }
}

fn text_of(file: &Attached) -> Result<String, String> {
    let bytes = file.bytes().map_err(|error| with_cause(&error))?;
    String::from_utf8(bytes).map_err(|_| "expected a text file in UTF-8".to_owned())
}

fn with_cause(error: &dyn std::error::Error) -> String {
    match error.source() {
        Some(cause) => format!("{error}: {cause}"),
        None => error.to_string(),
    }
}
