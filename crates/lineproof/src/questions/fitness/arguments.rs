//! What a cable shall be fit for.

use clap::{Args, ValueEnum};
use lineproof_core::fitness::{BANDS_HZ, Fitness, FitnessError, Use, UseLoad, fitness};
use lineproof_core::quantity::{self, Reading};
use num_complex::Complex64;

use crate::facts::values;
use crate::questions::ask::Ask;
use crate::questions::cable::arguments::SourceArgs;
use crate::questions::cable::source;
use crate::questions::unanswered::Unanswered;

/// Examples under the help of the verb.
pub(super) const EXAMPLES: &str = "\
Examples:
  lineproof use --type RG-213 --frequency 145MHz --power 50W --mode fm --run 20m --swr 2
  lineproof use --open open.s1p --load load.s1p --length 2.4m --load-ohms 50.05 --frequency 30MHz
  lineproof use --finding jumper.json --frequency 435MHz --rated-as RG-58C/U --power 10W
  lineproof use --type RG-11A/U --system 50ohm --frequency 14.2MHz --run 30m

Voltage, power and temperature are estimates. Local codes and licensed practice come first.";

/// Arguments of `use`.
#[derive(Args, Debug)]
pub(crate) struct UseArgs {
    #[command(flatten)]
    source: SourceArgs,
    #[command(flatten)]
    asked: AskedArgs,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "Which use")]
struct AskedArgs {
    /// Frequency of the use
    #[arg(long, value_name = "FREQUENCY", value_parser = quantity::parse_frequency_hz)]
    frequency: Reading,
    /// Length of the run; default: the swept piece
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    run: Option<Reading>,
    /// Power into the line, peak envelope
    #[arg(long, value_name = "POWER", value_parser = quantity::parse_power_w)]
    power: Option<Reading>,
    /// Mode, which sets the average power
    #[arg(long, value_enum, default_value = "carrier", conflicts_with = "duty")]
    mode: Mode,
    /// Average power as a fraction of peak power, 0 to 1
    #[arg(long, value_name = "RATIO", value_parser = quantity::parse_ratio)]
    duty: Option<Reading>,
    /// VSWR of the load in the system's impedance
    #[arg(long, value_name = "VSWR", value_parser = quantity::parse_swr, conflicts_with = "load_impedance")]
    swr: Option<Reading>,
    /// Impedance of the load, for example 30-j20ohm
    #[arg(long, value_name = "IMPEDANCE", allow_hyphen_values = true, value_parser = values::impedance_point)]
    load_impedance: Option<Complex64>,
    /// Impedance of transmitter and load; default: the cable's nominal impedance
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    system: Option<Reading>,
    /// Temperature around the cable
    #[arg(long, value_name = "TEMPERATURE", default_value = "25C", allow_hyphen_values = true, value_parser = values::temperature_c)]
    ambient: f64,
    /// Limit for the loss
    #[arg(long, value_name = "LOSS", value_parser = quantity::parse_loss_db)]
    most_loss: Option<Reading>,
}

/// Modes by the part of the peak power that is average.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Mode {
    /// A steady carrier, also of AM
    Carrier,
    /// Frequency modulation
    Fm,
    /// Continuous data
    Data,
    /// Morse code
    Cw,
    /// Speech, single sideband
    Ssb,
}

impl Mode {
    /// Common practice: a carrier counts whole, Morse half, speech four tenths with processing.
    fn duty(self) -> f64 {
        match self {
            Self::Carrier | Self::Fm | Self::Data => 1.0,
            Self::Cw => 0.5,
            Self::Ssb => 0.4,
        }
    }
}

impl Ask for UseArgs {
    type Answer = Fitness;

    fn ask(&self) -> Result<Fitness, Unanswered> {
        let at = [self.asked.frequency.value];
        let frequencies_hz = [at.as_slice(), &BANDS_HZ].concat();
        let cable = source::cable(&self.source.source(&frequencies_hz))?;
        fitness(&cable, self.asked()).map_err(|error| match error {
            FitnessError::Cable(error) => error.into(),
            error => Unanswered::usage(error),
        })
    }

    fn json(&self) -> bool {
        self.json
    }

    fn cable(&mut self) -> Option<&mut SourceArgs> {
        Some(&mut self.source)
    }
}

impl UseArgs {
    fn asked(&self) -> Use {
        let asked = &self.asked;
        Use {
            freq_hz: asked.frequency.value,
            run_m: asked.run.map(|r| r.value),
            peak_w: asked.power.map(|r| r.value),
            duty: asked.duty.map_or(asked.mode.duty(), |r| r.value),
            load: match (asked.swr, asked.load_impedance) {
                (_, Some(z)) => UseLoad::Impedance(z),
                (Some(swr), None) => UseLoad::Swr(swr.value),
                (None, None) => UseLoad::Swr(1.0),
            },
            system_ohm: asked.system.map(|r| r.value),
            ambient_c: asked.ambient,
            most_loss_db: asked.most_loss.map(|r| r.value),
        }
    }
}
