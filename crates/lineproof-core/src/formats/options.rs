//! What a reader may assume, and how strict it is.

use std::fmt;

/// What the reader may assume, and how strict it is. `ReadOptions::default()` reads odd files and
/// assumes nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ReadOptions {
    /// Accept only what the standard allows; an oddity is then an error.
    pub strict: bool,
    /// Frequency unit of a file that does not state it.
    pub freq_unit: Option<FrequencyUnit>,
    /// How pairs of numbers are meant in a Touchstone file that does not state it.
    pub pair_format: Option<PairFormat>,
    /// Reference impedance, ohm, of reflections in a file that does not state it; 50 if absent.
    pub z_ref_ohm: Option<f64>,
}

/// Unit of frequencies in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrequencyUnit {
    /// Hertz.
    Hz,
    /// Kilohertz.
    KHz,
    /// Megahertz.
    MHz,
    /// Gigahertz.
    GHz,
}

/// How two numbers make one complex value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PairFormat {
    /// 20·log10 of the magnitude, and the angle in degrees.
    DecibelAngle,
    /// Magnitude, and the angle in degrees.
    MagnitudeAngle,
    /// Real and imaginary part.
    RealImaginary,
}

impl FrequencyUnit {
    /// All units, small ones first.
    pub const ALL: [Self; 4] = [Self::Hz, Self::KHz, Self::MHz, Self::GHz];

    /// Hertz in the unit.
    pub fn hertz(self) -> f64 {
        match self {
            Self::Hz => 1.0,
            Self::KHz => 1e3,
            Self::MHz => 1e6,
            Self::GHz => 1e9,
        }
    }

    /// The unit of this name, whatever its case.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|unit| unit.symbol().eq_ignore_ascii_case(name))
    }

    /// The unit's symbol.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Hz => "Hz",
            Self::KHz => "kHz",
            Self::MHz => "MHz",
            Self::GHz => "GHz",
        }
    }
}

impl fmt::Display for FrequencyUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

impl fmt::Display for PairFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::DecibelAngle => "DB",
            Self::MagnitudeAngle => "MA",
            Self::RealImaginary => "RI",
        })
    }
}
