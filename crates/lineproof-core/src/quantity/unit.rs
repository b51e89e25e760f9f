//! The units of each quantity, and how a number in them becomes one in the unit used inside.

use super::Reading;
use crate::constants::{DB_PER_NEPER, METRES_PER_FOOT};

/// A quantity: its name, units, and what it can be.
pub(super) struct Kind {
    pub(super) name: &'static str,
    pub(super) example: &'static str,
    pub(super) units: &'static [Unit],
    /// The two likely units of a bare number; absent if a bare number is fine.
    pub(super) likely: Option<[&'static str; 2]>,
    pub(super) allowed: Allowed,
}

/// One unit under all its spellings, the usual one first.
pub(super) struct Unit {
    pub(super) symbols: &'static [&'static str],
    pub(super) scale: Scale,
}

/// From a number in a unit to the unit used inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Scale {
    Times(f64),
    /// Division, so that `98pF` is the double nearest to 98e-12.
    Over(f64),
    /// Slope and value at zero.
    Affine(f64, f64),
    /// Decibels above a milliwatt to watts.
    Dbm,
}

/// The range of a quantity.
#[derive(Clone, Copy)]
pub(super) enum Allowed {
    Any,
    NotNegative,
    Positive,
    /// Above zero and up to one.
    Fraction,
    OneOrMore,
    AboveAbsoluteZero,
}

impl Allowed {
    /// Whether `value` is in range.
    pub(super) fn holds(self, value: f64) -> bool {
        value.is_finite()
            && match self {
                Self::Any => true,
                Self::NotNegative => value >= 0.0,
                Self::Positive => value > 0.0,
                Self::Fraction => value > 0.0 && value <= 1.0,
                Self::OneOrMore => value >= 1.0,
                Self::AboveAbsoluteZero => value >= -273.15,
            }
    }

    /// What to expect, for messages.
    pub(super) fn description(self) -> &'static str {
        match self {
            Self::Any => "a finite number",
            Self::NotNegative => "zero or a positive number",
            Self::Positive => "a positive number",
            Self::Fraction => "a ratio above 0 and up to 1, or up to 100%",
            Self::OneOrMore => "1 or more",
            Self::AboveAbsoluteZero => "-273.15C or more",
        }
    }
}

impl Scale {
    /// Value and resolution in the unit used inside.
    pub(super) fn apply(self, typed: Reading) -> Reading {
        let Reading { value, half_digit } = typed;
        let (value, half_digit) = match self {
            Self::Times(factor) => (value * factor, half_digit * factor),
            Self::Over(divisor) => (value / divisor, half_digit / divisor),
            Self::Affine(slope, zero) => (value * slope + zero, half_digit * slope),
            Self::Dbm => {
                let watts = 10f64.powf((value - 30.0) / 10.0);
                (watts, watts * half_digit * std::f64::consts::LN_10 / 10.0)
            }
        };
        Reading { value, half_digit }
    }
}

impl Unit {
    /// Whether this is the foot, which inches may follow.
    pub(super) fn is_foot(&self) -> bool {
        self.symbols[0] == "ft"
    }

    /// Whether this is the inch.
    pub(super) fn is_inch(&self) -> bool {
        self.symbols[0] == "in"
    }
}

const fn unit(symbols: &'static [&'static str], scale: Scale) -> Unit {
    Unit { symbols, scale }
}

/// Metres in an inch (exact).
pub(super) const INCH: Scale = Scale::Times(0.0254);

pub(super) static LENGTH: Kind = Kind {
    name: "length",
    example: "1.5m",
    units: &[
        unit(
            &["m", "metre", "metres", "meter", "meters"],
            Scale::Times(1.0),
        ),
        unit(&["cm"], Scale::Over(100.0)),
        unit(&["mm"], Scale::Over(1000.0)),
        unit(&["km"], Scale::Times(1000.0)),
        unit(
            &["ft", "'", "′", "’", "foot", "feet"],
            Scale::Times(METRES_PER_FOOT),
        ),
        unit(&["in", "\"", "″", "”", "''", "inch", "inches"], INCH),
    ],
    likely: Some(["m", "ft"]),
    allowed: Allowed::Positive,
};

pub(super) static FREQUENCY: Kind = Kind {
    name: "frequency",
    example: "145MHz",
    units: &[
        unit(&["Hz"], Scale::Times(1.0)),
        unit(&["kHz"], Scale::Times(1e3)),
        unit(&["MHz"], Scale::Times(1e6)),
        unit(&["GHz"], Scale::Times(1e9)),
    ],
    likely: Some(["MHz", "kHz"]),
    allowed: Allowed::Positive,
};

const OHMS: &[Unit] = &[
    unit(&["ohm", "ohms", "Ω", "Ω", "R"], Scale::Times(1.0)),
    unit(&["kohm", "kohms", "kΩ", "kΩ"], Scale::Times(1e3)),
    unit(&["Mohm", "Mohms", "MΩ", "MΩ"], Scale::Times(1e6)),
    unit(&["mohm", "mohms", "mΩ", "mΩ"], Scale::Over(1e3)),
];

pub(super) static RESISTANCE: Kind = Kind {
    name: "resistance",
    example: "111ohm",
    units: OHMS,
    likely: Some(["ohm", "kohm"]),
    allowed: Allowed::NotNegative,
};

pub(super) static REACTANCE: Kind = Kind {
    name: "reactance",
    example: "-48ohm",
    units: OHMS,
    likely: Some(["ohm", "kohm"]),
    allowed: Allowed::Any,
};

pub(super) static CAPACITANCE: Kind = Kind {
    name: "capacitance",
    example: "98pF",
    units: &[
        unit(&["pF"], Scale::Over(1e12)),
        unit(&["nF"], Scale::Over(1e9)),
        unit(&["uF", "µF", "μF"], Scale::Over(1e6)),
        unit(&["fF"], Scale::Over(1e15)),
        unit(&["F"], Scale::Times(1.0)),
    ],
    likely: Some(["pF", "nF"]),
    allowed: Allowed::NotNegative,
};

pub(super) static INDUCTANCE: Kind = Kind {
    name: "inductance",
    example: "250nH",
    units: &[
        unit(&["nH"], Scale::Over(1e9)),
        unit(&["uH", "µH", "μH"], Scale::Over(1e6)),
        unit(&["pH"], Scale::Over(1e12)),
        unit(&["mH"], Scale::Over(1e3)),
        unit(&["H"], Scale::Times(1.0)),
    ],
    likely: Some(["nH", "uH"]),
    allowed: Allowed::NotNegative,
};

pub(super) static DELAY: Kind = Kind {
    name: "delay",
    example: "5.2ns",
    units: &[
        unit(&["ns"], Scale::Over(1e9)),
        unit(&["ps"], Scale::Over(1e12)),
        unit(&["us", "µs", "μs"], Scale::Over(1e6)),
        unit(&["ms"], Scale::Over(1e3)),
        unit(&["s"], Scale::Times(1.0)),
    ],
    likely: Some(["ns", "ps"]),
    allowed: Allowed::NotNegative,
};

const DECIBELS: &[Unit] = &[
    unit(&["dB"], Scale::Times(1.0)),
    unit(&["Np"], Scale::Times(DB_PER_NEPER)),
];

pub(super) static LOSS: Kind = Kind {
    name: "loss",
    example: "0.3dB",
    units: DECIBELS,
    likely: Some(["dB", "Np"]),
    allowed: Allowed::NotNegative,
};

pub(super) static ATTENUATION: Kind = Kind {
    name: "attenuation",
    example: "8.2dB/100m",
    units: DECIBELS,
    likely: Some(["dB/100m", "dB/100ft"]),
    allowed: Allowed::NotNegative,
};

pub(super) static POWER: Kind = Kind {
    name: "power",
    example: "50W",
    units: &[
        unit(&["W", "watt", "watts"], Scale::Times(1.0)),
        unit(&["mW"], Scale::Over(1e3)),
        unit(&["kW"], Scale::Times(1e3)),
        unit(&["MW"], Scale::Times(1e6)),
        unit(&["dBm"], Scale::Dbm),
    ],
    likely: Some(["W", "dBm"]),
    allowed: Allowed::NotNegative,
};

pub(super) static TEMPERATURE: Kind = Kind {
    name: "temperature",
    example: "21C",
    units: &[
        unit(&["C", "°C", "℃", "degC"], Scale::Times(1.0)),
        unit(
            &["F", "°F", "℉", "degF"],
            Scale::Affine(5.0 / 9.0, -160.0 / 9.0),
        ),
        unit(&["K"], Scale::Affine(1.0, -273.15)),
    ],
    likely: Some(["C", "F"]),
    allowed: Allowed::AboveAbsoluteZero,
};

pub(super) static RATIO: Kind = Kind {
    name: "ratio",
    example: "0.66",
    units: &[
        unit(&[""], Scale::Times(1.0)),
        unit(&["%"], Scale::Over(100.0)),
    ],
    likely: None,
    allowed: Allowed::Fraction,
};

pub(super) static SWR: Kind = Kind {
    name: "VSWR",
    example: "9:1",
    units: &[unit(&[""], Scale::Times(1.0))],
    likely: None,
    allowed: Allowed::OneOrMore,
};
