//! What was read off a screen or a meter.

use clap::{ArgGroup, Args, ValueEnum};
use lineproof_core::bench::FarEnd;
use lineproof_core::gather::{Knowledge, KnowledgeError, Stated, measured_load};
use lineproof_core::method::readings::{self, Readings};
use lineproof_core::quantity::{self, Reading};
use lineproof_core::uncertain::Uncertain;

use crate::cli::facts::{self as arguments, SaidArgs};
use crate::facts::{self, Surface, Typed, table, values};
use crate::questions::ask::Ask;
use crate::questions::unanswered::Unanswered;
use crate::workflow::worded::knowledge_help;
use lineproof_core::finding::judge::readings::ReadingsAnswer;

/// Examples under the help of the verb.
pub(super) const EXAMPLES: &str = "\
Examples:
  lineproof readings --quarter-wave-resistance 111ohm --load 50ohm
  lineproof readings --eighth-wave-reactance 74.1ohm --marked-impedance 50
  lineproof readings --quarter-wave-at 61.5MHz --length 80cm
  lineproof readings --inductance 0.37uH --capacitance 67pF --length 1m
  lineproof readings --open-impedance 0.9-j75.3ohm --short-impedance 1.2+j74.9ohm --pair-at 12MHz
  lineproof readings --resonance 11.54MHz,13.89MHz,16.19MHz --resonance-far-end short --length 170ft

The last digit that you type counts as the resolution of the reading: 111ohm is 111 ± 0.5 ohm.";

/// Arguments of `readings`. A velocity factor is for finding the length, so one excludes the other.
#[derive(Args, Debug)]
#[command(group = ArgGroup::new("what gives the length").args(["length", "velocity_factor"]))]
pub(crate) struct ReadingsArgs {
    #[command(flatten)]
    impedance: ImpedanceArgs,
    #[command(flatten)]
    delay: DelayArgs,
    #[command(flatten)]
    loss: LossArgs,
    #[command(flatten)]
    facts: SaidArgs<arguments::Readings>,
    /// One-way loss of the piece, to correct other readings
    #[arg(id = "piece_loss", long = "loss", value_name = "LOSS", help_heading = "What you know", value_parser = quantity::parse_loss_db)]
    piece_loss: Option<Reading>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "Readings that give impedance")]
struct ImpedanceArgs {
    /// Resistance at the quarter wave, load at the far end
    #[arg(long, value_name = "RESISTANCE", value_parser = quantity::parse_resistance_ohm)]
    quarter_wave_resistance: Option<Reading>,
    /// Resistor at the far end; default: the calibration load
    #[arg(long, value_name = "RESISTANCE", value_parser = quantity::parse_resistance_ohm)]
    load: Option<Reading>,
    /// Reactance at the eighth wave, far end open
    #[arg(long, value_name = "REACTANCE", allow_hyphen_values = true, value_parser = quantity::parse_reactance_ohm)]
    eighth_wave_reactance: Option<Reading>,
    /// |Z| at the eighth wave, far end open
    #[arg(long, value_name = "RESISTANCE", value_parser = quantity::parse_resistance_ohm)]
    eighth_wave_impedance: Option<Reading>,
    /// Reactance at the eighth wave, far end shorted
    #[arg(long, value_name = "REACTANCE", allow_hyphen_values = true, value_parser = quantity::parse_reactance_ohm)]
    eighth_wave_short_reactance: Option<Reading>,
    /// |Z| at the eighth wave, far end shorted
    #[arg(long, value_name = "RESISTANCE", value_parser = quantity::parse_resistance_ohm)]
    eighth_wave_short_impedance: Option<Reading>,
    /// Frequency of the eighth-wave readings
    #[arg(long, value_name = "FREQUENCY", value_parser = quantity::parse_frequency_hz)]
    eighth_wave_at: Option<Reading>,
    /// Impedance with the far end open, for example 0.9-j75.3ohm
    #[arg(long, value_name = "IMPEDANCE", allow_hyphen_values = true, requires_all = ["short_impedance", "pair_at"], value_parser = values::impedance)]
    open_impedance: Option<[Reading; 2]>,
    /// Impedance with the far end shorted
    #[arg(long, value_name = "IMPEDANCE", allow_hyphen_values = true, requires = "open_impedance", value_parser = values::impedance)]
    short_impedance: Option<[Reading; 2]>,
    /// Frequency of both impedances
    #[arg(long, value_name = "FREQUENCY", requires = "open_impedance", value_parser = quantity::parse_frequency_hz)]
    pair_at: Option<Reading>,
    /// Inductance by meter, far end shorted
    #[arg(long, value_name = "INDUCTANCE", requires = "capacitance", value_parser = quantity::parse_inductance_h)]
    inductance: Option<Reading>,
    /// Capacitance by meter, far end open
    #[arg(long, value_name = "CAPACITANCE", requires = "inductance", value_parser = quantity::parse_capacitance_f)]
    capacitance: Option<Reading>,
    /// Test frequency of the meter
    #[arg(long, value_name = "FREQUENCY", requires = "inductance", value_parser = quantity::parse_frequency_hz)]
    meter_at: Option<Reading>,
    /// Highest resistance of the sweep, with a resistor at the far end
    #[arg(long, value_name = "RESISTANCE", requires = "smallest_resistance", value_parser = quantity::parse_resistance_ohm)]
    largest_resistance: Option<Reading>,
    /// Lowest resistance of the sweep, with the same resistor
    #[arg(long, value_name = "RESISTANCE", requires = "largest_resistance", value_parser = quantity::parse_resistance_ohm)]
    smallest_resistance: Option<Reading>,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "Readings that give delay, velocity factor or length")]
struct DelayArgs {
    /// Frequency of the first quarter wave, far end open
    #[arg(long, value_name = "FREQUENCY", value_parser = quantity::parse_frequency_hz)]
    quarter_wave_at: Option<Reading>,
    /// Frequencies of low impedance, in rising order
    #[arg(long, value_name = "FREQUENCY", value_delimiter = ',', value_parser = quantity::parse_frequency_hz)]
    resonance: Vec<Reading>,
    /// Far end at these frequencies
    #[arg(long, value_name = "END", default_value = "open")]
    resonance_far_end: EndName,
    /// Round-trip delay of a pulse
    #[arg(long, value_name = "DELAY", value_parser = quantity::parse_delay_s)]
    round_trip_delay: Option<Reading>,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "Readings that give loss")]
struct LossArgs {
    /// Peak VSWR, far end open or shorted
    #[arg(long, value_name = "VSWR", value_parser = quantity::parse_swr)]
    swr_peak: Option<Reading>,
    /// Frequency of that peak
    #[arg(long, value_name = "FREQUENCY", requires = "swr_peak", value_parser = quantity::parse_frequency_hz)]
    swr_peak_at: Option<Reading>,
    /// The antenna was connected during the reading
    #[arg(long, requires = "swr_peak")]
    antenna_on: bool,
    /// Low resistance at a resonance, far end open or shorted
    #[arg(long, value_name = "RESISTANCE", value_parser = quantity::parse_resistance_ohm)]
    low_resistance: Option<Reading>,
    /// Frequency of that resonance
    #[arg(long, value_name = "FREQUENCY", requires = "low_resistance", value_parser = quantity::parse_frequency_hz)]
    low_resistance_at: Option<Reading>,
    /// Return loss, far end open
    #[arg(long, value_name = "LOSS", value_parser = quantity::parse_loss_db)]
    open_return_loss: Option<Reading>,
    /// Return loss, far end shorted
    #[arg(long, value_name = "LOSS", value_parser = quantity::parse_loss_db)]
    short_return_loss: Option<Reading>,
    /// Frequency of the return losses
    #[arg(long, value_name = "FREQUENCY", value_parser = quantity::parse_frequency_hz)]
    return_loss_at: Option<Reading>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum EndName {
    Open,
    Short,
}

impl Ask for ReadingsArgs {
    type Answer = ReadingsAnswer;

    fn ask(&self) -> Result<ReadingsAnswer, Unanswered> {
        let readings = self.readings();
        let readings = readings.map_err(|e| {
            Unanswered::usage(e.clone()).help(knowledge_help(&e, Surface::Terminal))
        })?;
        Ok(ReadingsAnswer::of(readings::answer(&readings)))
    }

    fn json(&self) -> bool {
        self.json
    }
}

impl ReadingsArgs {
    /// The readings as the methods take them.
    fn readings(&self) -> Result<Readings, KnowledgeError> {
        let mut readings = Readings {
            marking: self.facts.read(facts::marking),
            ..Readings::default()
        };
        self.impedance.fill(&mut readings);
        self.delay.fill(&mut readings);
        self.loss.fill(&mut readings);
        readings.loss_db = uncertain(self.piece_loss);
        self.facts.read(|typed| known(typed, &mut readings))?;
        Ok(readings)
    }
}

impl ImpedanceArgs {
    fn fill(&self, readings: &mut Readings) {
        readings.quarter_wave_resistance_ohm = uncertain(self.quarter_wave_resistance);
        readings.load_ohm = uncertain(self.load);
        readings.eighth_wave_open_reactance_ohm = uncertain(self.eighth_wave_reactance);
        readings.eighth_wave_open_impedance_ohm = uncertain(self.eighth_wave_impedance);
        readings.eighth_wave_short_reactance_ohm = uncertain(self.eighth_wave_short_reactance);
        readings.eighth_wave_short_impedance_ohm = uncertain(self.eighth_wave_short_impedance);
        readings.eighth_wave_hz = uncertain(self.eighth_wave_at);
        readings.open_impedance_ohm = self.open_impedance.map(|z| z.map(Reading::uncertain));
        readings.short_impedance_ohm = self.short_impedance.map(|z| z.map(Reading::uncertain));
        readings.pair_hz = value(self.pair_at);
        readings.inductance_h = uncertain(self.inductance);
        readings.capacitance_f = uncertain(self.capacitance);
        readings.meter_hz = value(self.meter_at);
        readings.resistance_max_ohm = uncertain(self.largest_resistance);
        readings.resistance_min_ohm = uncertain(self.smallest_resistance);
    }
}

impl DelayArgs {
    fn fill(&self, readings: &mut Readings) {
        readings.quarter_wave_hz = uncertain(self.quarter_wave_at);
        readings.resonances_hz = self.resonance.iter().map(|r| r.uncertain()).collect();
        readings.resonance_far_end = Some(match self.resonance_far_end {
            EndName::Open => FarEnd::Open,
            EndName::Short => FarEnd::Short,
        });
        readings.round_trip_delay_s = uncertain(self.round_trip_delay);
    }
}

impl LossArgs {
    fn fill(&self, readings: &mut Readings) {
        readings.swr_peak = uncertain(self.swr_peak);
        readings.swr_peak_hz = value(self.swr_peak_at);
        readings.antenna_on = self.antenna_on;
        readings.low_resistance_ohm = uncertain(self.low_resistance);
        readings.low_resistance_hz = value(self.low_resistance_at);
        readings.open_return_loss_db = uncertain(self.open_return_loss);
        readings.short_return_loss_db = uncertain(self.short_return_loss);
        readings.return_loss_hz = value(self.return_loss_at);
    }
}

/// Length, velocity factor and load.
fn known(typed: &mut Typed<'_>, readings: &mut Readings) -> Result<(), KnowledgeError> {
    let length = typed.get(&table::LENGTH);
    let known = Knowledge {
        length_m: length,
        tape_error_m: typed.get(&table::TAPE_ERROR),
        ..Knowledge::default()
    };
    readings.length_m = known.length()?;
    readings.length_in_feet = length.is_some_and(Reading::is_in_feet);
    readings.velocity_factor = uncertain(typed.get(&table::VELOCITY_FACTOR));
    let load = typed.get(&table::LOAD_OHMS);
    let load = load.map(|r| measured_load(Stated::Load, r));
    readings.calibration_load = load.transpose()?;
    Ok(())
}

fn uncertain(reading: Option<Reading>) -> Option<Uncertain> {
    reading.map(Reading::uncertain)
}

fn value(reading: Option<Reading>) -> Option<f64> {
    reading.map(|r| r.value)
}
