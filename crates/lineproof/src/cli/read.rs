//! How files are read where they do not say themselves.

use clap::{Args, ValueEnum};
use lineproof_core::formats::{FrequencyUnit, PairFormat, ReadOptions};
use lineproof_core::quantity::Reading;

use super::values;

/// Arguments of every verb that reads files.
#[derive(Args, Debug)]
#[command(next_help_heading = "What a file does not say")]
pub(super) struct ReadArgs {
    /// Unit of frequencies
    #[arg(long, value_name = "UNIT", ignore_case = true)]
    frequency_unit: Option<UnitName>,
    /// How two numbers of a Touchstone file make one value
    #[arg(long, value_name = "FORMAT", ignore_case = true)]
    pair_format: Option<PairName>,
    /// Impedance that reflections refer to, ohm; 50 if nobody says
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    reference_ohms: Option<Reading>,
    /// Accept only what the format's standard allows
    #[arg(long)]
    strict: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
#[value(rename_all = "verbatim")]
enum UnitName {
    Hz,
    #[value(name = "kHz")]
    KHz,
    MHz,
    GHz,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum PairName {
    /// Decibel and angle
    Db,
    /// Magnitude and angle
    Ma,
    /// Real and imaginary part
    Ri,
}

impl ReadArgs {
    /// The reader's options.
    pub(super) fn options(&self) -> ReadOptions {
        ReadOptions {
            strict: self.strict,
            freq_unit: self.frequency_unit.map(UnitName::core),
            pair_format: self.pair_format.map(PairName::core),
            z_ref_ohm: self.reference_ohms.map(|r| r.value),
        }
    }
}

impl UnitName {
    fn core(self) -> FrequencyUnit {
        match self {
            Self::Hz => FrequencyUnit::Hz,
            Self::KHz => FrequencyUnit::KHz,
            Self::MHz => FrequencyUnit::MHz,
            Self::GHz => FrequencyUnit::GHz,
        }
    }
}

impl PairName {
    fn core(self) -> PairFormat {
        match self {
            Self::Db => PairFormat::DecibelAngle,
            Self::Ma => PairFormat::MagnitudeAngle,
            Self::Ri => PairFormat::RealImaginary,
        }
    }
}
