//! What was read off a screen or a meter.

use lineproof_core::bench::FarEnd;
use lineproof_core::quantity::{self, Reading};

use super::super::fact::{About, Choice, Fact, Group, Question, Reader, Row, Spelling};
use super::super::read::{delay, frequency, said};
use super::super::values;

/// The question that takes them.
const READINGS: &[Question] = &[Question::Readings];

const IMPEDANCE: Group = Group::Own("Readings that give impedance");
const DELAY: Group = Group::Own("Readings that give delay, velocity factor or length");
const LOSS: Group = Group::Own("Readings that give loss");

/// Every row, in the order of the help.
pub(super) static ALL: [&dyn Row; 28] = [
    &QUARTER_WAVE_RESISTANCE,
    &QUARTER_WAVE_LOAD,
    &EIGHTH_WAVE_REACTANCE,
    &EIGHTH_WAVE_IMPEDANCE,
    &EIGHTH_WAVE_SHORT_REACTANCE,
    &EIGHTH_WAVE_SHORT_IMPEDANCE,
    &EIGHTH_WAVE_AT,
    &OPEN_IMPEDANCE,
    &SHORT_IMPEDANCE,
    &PAIR_AT,
    &INDUCTANCE,
    &CAPACITANCE,
    &METER_AT,
    &LARGEST_RESISTANCE,
    &SMALLEST_RESISTANCE,
    &QUARTER_WAVE_AT,
    &RESONANCE,
    &RESONANCE_FAR_END,
    &ROUND_TRIP_DELAY,
    &SWR_PEAK,
    &SWR_PEAK_AT,
    &ANTENNA_ON,
    &LOW_RESISTANCE,
    &LOW_RESISTANCE_AT,
    &OPEN_RETURN_LOSS,
    &SHORT_RETURN_LOSS,
    &RETURN_LOSS_AT,
    &PIECE_LOSS,
];

/// Resistance at the quarter wave, load at the far end.
pub static QUARTER_WAVE_RESISTANCE: Fact<Reading> = Fact {
    about: About {
        name: "quarter_wave_resistance",
        group: IMPEDANCE,
        label: "Resistance at the quarter wave, load at the far end",
        hint: "111ohm",
        help: "Resistance at the quarter wave, load at the far end",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RESISTANCE", |text| {
        said(quantity::parse_resistance_ohm(text))
    }),
};

/// Resistor at the far end.
pub static QUARTER_WAVE_LOAD: Fact<Reading> = Fact {
    about: About {
        name: "quarter_wave_load",
        spelling: Spelling::As("load"),
        group: IMPEDANCE,
        label: "Resistor at the far end",
        hint: "50ohm",
        help: "Resistor at the far end; default: the calibration load",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RESISTANCE", |text| {
        said(quantity::parse_resistance_ohm(text))
    }),
};

/// Reactance at the eighth wave, far end open.
pub static EIGHTH_WAVE_REACTANCE: Fact<Reading> = Fact {
    about: About {
        name: "eighth_wave_reactance",
        group: IMPEDANCE,
        label: "Reactance at the eighth wave, far end open",
        hint: "-74.1ohm",
        help: "Reactance at the eighth wave, far end open",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("REACTANCE", |text| {
        said(quantity::parse_reactance_ohm(text))
    }),
};

/// |Z| at the eighth wave, far end open.
pub static EIGHTH_WAVE_IMPEDANCE: Fact<Reading> = Fact {
    about: About {
        name: "eighth_wave_impedance",
        group: IMPEDANCE,
        label: "|Z| at the eighth wave, far end open",
        hint: "74.1ohm",
        help: "|Z| at the eighth wave, far end open",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RESISTANCE", |text| {
        said(quantity::parse_resistance_ohm(text))
    }),
};

/// Reactance at the eighth wave, far end shorted.
pub static EIGHTH_WAVE_SHORT_REACTANCE: Fact<Reading> = Fact {
    about: About {
        name: "eighth_wave_short_reactance",
        group: IMPEDANCE,
        label: "Reactance at the eighth wave, far end shorted",
        hint: "75.2ohm",
        help: "Reactance at the eighth wave, far end shorted",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("REACTANCE", |text| {
        said(quantity::parse_reactance_ohm(text))
    }),
};

/// |Z| at the eighth wave, far end shorted.
pub static EIGHTH_WAVE_SHORT_IMPEDANCE: Fact<Reading> = Fact {
    about: About {
        name: "eighth_wave_short_impedance",
        group: IMPEDANCE,
        label: "|Z| at the eighth wave, far end shorted",
        hint: "75.2ohm",
        help: "|Z| at the eighth wave, far end shorted",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RESISTANCE", |text| {
        said(quantity::parse_resistance_ohm(text))
    }),
};

/// Frequency of the eighth-wave readings.
pub static EIGHTH_WAVE_AT: Fact<Reading> = Fact {
    about: About {
        name: "eighth_wave_at",
        group: IMPEDANCE,
        label: "Frequency of the eighth-wave readings",
        hint: "12.5MHz",
        help: "Frequency of the eighth-wave readings",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("FREQUENCY", frequency),
};

/// Impedance with the far end open.
pub static OPEN_IMPEDANCE: Fact<[Reading; 2]> = Fact {
    about: About {
        name: "open_impedance",
        group: IMPEDANCE,
        label: "Impedance with the far end open",
        hint: "0.9-j75.3ohm",
        help: "Impedance with the far end open, for example 0.9-j75.3ohm",
        questions: READINGS,
        needs: &["short_impedance", "pair_at"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("IMPEDANCE", values::impedance),
};

/// Impedance with the far end shorted.
pub static SHORT_IMPEDANCE: Fact<[Reading; 2]> = Fact {
    about: About {
        name: "short_impedance",
        group: IMPEDANCE,
        label: "Impedance with the far end shorted",
        hint: "1.2+j74.9ohm",
        help: "Impedance with the far end shorted",
        questions: READINGS,
        needs: &["open_impedance"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("IMPEDANCE", values::impedance),
};

/// Frequency of both impedances.
pub static PAIR_AT: Fact<Reading> = Fact {
    about: About {
        name: "pair_at",
        group: IMPEDANCE,
        label: "Frequency of both impedances",
        hint: "12MHz",
        help: "Frequency of both impedances",
        questions: READINGS,
        needs: &["open_impedance"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("FREQUENCY", frequency),
};

/// Inductance by meter, far end shorted.
pub static INDUCTANCE: Fact<Reading> = Fact {
    about: About {
        name: "inductance",
        group: IMPEDANCE,
        label: "Inductance by meter, far end shorted",
        hint: "0.37uH",
        help: "Inductance by meter, far end shorted",
        questions: READINGS,
        needs: &["capacitance"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("INDUCTANCE", |text| {
        said(quantity::parse_inductance_h(text))
    }),
};

/// Capacitance by meter, far end open.
pub static CAPACITANCE: Fact<Reading> = Fact {
    about: About {
        name: "capacitance",
        group: IMPEDANCE,
        label: "Capacitance by meter, far end open",
        hint: "67pF",
        help: "Capacitance by meter, far end open",
        questions: READINGS,
        needs: &["inductance"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("CAPACITANCE", |text| {
        said(quantity::parse_capacitance_f(text))
    }),
};

/// Test frequency of the meter.
pub static METER_AT: Fact<Reading> = Fact {
    about: About {
        name: "meter_at",
        group: IMPEDANCE,
        label: "Test frequency of the meter",
        hint: "100kHz",
        help: "Test frequency of the meter",
        questions: READINGS,
        needs: &["inductance"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("FREQUENCY", frequency),
};

/// Highest resistance of the sweep, with a resistor at the far end.
pub static LARGEST_RESISTANCE: Fact<Reading> = Fact {
    about: About {
        name: "largest_resistance",
        group: IMPEDANCE,
        label: "Highest resistance of the sweep, with a resistor at the far end",
        hint: "111ohm",
        help: "Highest resistance of the sweep, with a resistor at the far end",
        questions: READINGS,
        needs: &["smallest_resistance"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("RESISTANCE", |text| {
        said(quantity::parse_resistance_ohm(text))
    }),
};

/// Lowest resistance of the sweep, with the same resistor.
pub static SMALLEST_RESISTANCE: Fact<Reading> = Fact {
    about: About {
        name: "smallest_resistance",
        group: IMPEDANCE,
        label: "Lowest resistance of the sweep, with the same resistor",
        hint: "50ohm",
        help: "Lowest resistance of the sweep, with the same resistor",
        questions: READINGS,
        needs: &["largest_resistance"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("RESISTANCE", |text| {
        said(quantity::parse_resistance_ohm(text))
    }),
};

/// Frequency of the first quarter wave, far end open.
pub static QUARTER_WAVE_AT: Fact<Reading> = Fact {
    about: About {
        name: "quarter_wave_at",
        group: DELAY,
        label: "Frequency of the first quarter wave, far end open",
        hint: "61.5MHz",
        help: "Frequency of the first quarter wave, far end open",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("FREQUENCY", frequency),
};

/// Frequencies of low impedance.
pub static RESONANCE: Fact<Vec<Reading>> = Fact {
    about: About {
        name: "resonance",
        group: DELAY,
        label: "Frequencies of low impedance, in rising order",
        hint: "11.54MHz, 13.89MHz, 16.19MHz",
        help: "Frequencies of low impedance, in rising order",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Several("FREQUENCY", |text| {
        values::several(text).map(frequency).collect()
    }),
};

/// What ended the line at these.
pub static RESONANCE_FAR_END: Fact<FarEnd> = Fact {
    about: About {
        name: "resonance_far_end",
        group: DELAY,
        label: "Far end at these frequencies",
        help: "Far end at these frequencies",
        questions: READINGS,
        preset: "open",
        ..About::PLAIN
    },
    reader: Reader::Choice(
        "END",
        &[
            Choice::new("open", "", FarEnd::Open),
            Choice::new("short", "", FarEnd::Short),
        ],
    ),
};

/// Round-trip delay of a pulse.
pub static ROUND_TRIP_DELAY: Fact<Reading> = Fact {
    about: About {
        name: "round_trip_delay",
        group: DELAY,
        label: "Round-trip delay of a pulse",
        hint: "24.7ns",
        help: "Round-trip delay of a pulse",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("DELAY", delay),
};

/// Peak VSWR, far end open or shorted.
pub static SWR_PEAK: Fact<Reading> = Fact {
    about: About {
        name: "swr_peak",
        group: LOSS,
        label: "Peak VSWR, far end open or shorted",
        hint: "8.7",
        help: "Peak VSWR, far end open or shorted",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("VSWR", |text| said(quantity::parse_swr(text))),
};

/// Frequency of that peak.
pub static SWR_PEAK_AT: Fact<Reading> = Fact {
    about: About {
        name: "swr_peak_at",
        group: LOSS,
        label: "Frequency of that peak",
        hint: "100MHz",
        help: "Frequency of that peak",
        questions: READINGS,
        needs: &["swr_peak"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("FREQUENCY", frequency),
};

/// Whether an antenna ended the line.
pub static ANTENNA_ON: Fact<bool> = Fact {
    about: About {
        name: "antenna_on",
        hint: "yes",
        group: LOSS,
        label: "The antenna was connected during the reading",
        help: "The antenna was connected during the reading",
        questions: READINGS,
        needs: &["swr_peak"],
        ..About::PLAIN
    },
    reader: Reader::Flag(true),
};

/// Low resistance at a resonance, far end open or shorted.
pub static LOW_RESISTANCE: Fact<Reading> = Fact {
    about: About {
        name: "low_resistance",
        group: LOSS,
        label: "Low resistance at a resonance, far end open or shorted",
        hint: "2.1ohm",
        help: "Low resistance at a resonance, far end open or shorted",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("RESISTANCE", |text| {
        said(quantity::parse_resistance_ohm(text))
    }),
};

/// Frequency of that resonance.
pub static LOW_RESISTANCE_AT: Fact<Reading> = Fact {
    about: About {
        name: "low_resistance_at",
        group: LOSS,
        label: "Frequency of that resonance",
        hint: "61.5MHz",
        help: "Frequency of that resonance",
        questions: READINGS,
        needs: &["low_resistance"],
        ..About::PLAIN
    },
    reader: Reader::Quantity("FREQUENCY", frequency),
};

/// Return loss, far end open.
pub static OPEN_RETURN_LOSS: Fact<Reading> = Fact {
    about: About {
        name: "open_return_loss",
        group: LOSS,
        label: "Return loss, far end open",
        hint: "1.2dB",
        help: "Return loss, far end open",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("LOSS", |text| said(quantity::parse_loss_db(text))),
};

/// Return loss, far end shorted.
pub static SHORT_RETURN_LOSS: Fact<Reading> = Fact {
    about: About {
        name: "short_return_loss",
        group: LOSS,
        label: "Return loss, far end shorted",
        hint: "1.3dB",
        help: "Return loss, far end shorted",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("LOSS", |text| said(quantity::parse_loss_db(text))),
};

/// Frequency of the return losses.
pub static RETURN_LOSS_AT: Fact<Reading> = Fact {
    about: About {
        name: "return_loss_at",
        group: LOSS,
        label: "Frequency of the return losses",
        hint: "100MHz",
        help: "Frequency of the return losses",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("FREQUENCY", frequency),
};

/// One-way loss of the piece, to correct other readings.
pub static PIECE_LOSS: Fact<Reading> = Fact {
    about: About {
        name: "piece_loss",
        spelling: Spelling::As("loss"),
        group: Group::Known,
        label: "One-way loss of the piece, to correct other readings",
        hint: "0.3dB",
        help: "One-way loss of the piece, to correct other readings",
        questions: READINGS,
        ..About::PLAIN
    },
    reader: Reader::Quantity("LOSS", |text| said(quantity::parse_loss_db(text))),
};
