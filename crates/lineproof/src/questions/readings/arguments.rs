//! What was read off a screen or a meter.

use clap::{ArgGroup, Args};
use lineproof_core::gather::{Knowledge, KnowledgeError, Stated, measured_load};
use lineproof_core::method::readings::{self, Readings};
use lineproof_core::quantity::Reading;
use lineproof_core::uncertain::Uncertain;

use crate::cli::facts::{self as arguments, SaidArgs};
use crate::facts::table::{self, readings as read};
use crate::facts::{self, Surface, Typed};
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
    facts: SaidArgs<arguments::Readings>,
    /// Print JSON
    #[arg(long)]
    json: bool,
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
        self.facts.read(|typed| {
            impedance(typed, &mut readings);
            delay(typed, &mut readings);
            loss(typed, &mut readings);
            known(typed, &mut readings)
        })?;
        Ok(readings)
    }
}

fn impedance(typed: &mut Typed<'_>, readings: &mut Readings) {
    readings.quarter_wave_resistance_ohm = uncertain(typed.get(&read::QUARTER_WAVE_RESISTANCE));
    readings.load_ohm = uncertain(typed.get(&read::QUARTER_WAVE_LOAD));
    readings.eighth_wave_open_reactance_ohm = uncertain(typed.get(&read::EIGHTH_WAVE_REACTANCE));
    readings.eighth_wave_open_impedance_ohm = uncertain(typed.get(&read::EIGHTH_WAVE_IMPEDANCE));
    readings.eighth_wave_short_reactance_ohm =
        uncertain(typed.get(&read::EIGHTH_WAVE_SHORT_REACTANCE));
    readings.eighth_wave_short_impedance_ohm =
        uncertain(typed.get(&read::EIGHTH_WAVE_SHORT_IMPEDANCE));
    readings.eighth_wave_hz = uncertain(typed.get(&read::EIGHTH_WAVE_AT));
    readings.open_impedance_ohm = typed
        .get(&read::OPEN_IMPEDANCE)
        .map(|z| z.map(Reading::uncertain));
    readings.short_impedance_ohm = typed
        .get(&read::SHORT_IMPEDANCE)
        .map(|z| z.map(Reading::uncertain));
    readings.pair_hz = value(typed.get(&read::PAIR_AT));
    readings.inductance_h = uncertain(typed.get(&read::INDUCTANCE));
    readings.capacitance_f = uncertain(typed.get(&read::CAPACITANCE));
    readings.meter_hz = value(typed.get(&read::METER_AT));
    readings.resistance_max_ohm = uncertain(typed.get(&read::LARGEST_RESISTANCE));
    readings.resistance_min_ohm = uncertain(typed.get(&read::SMALLEST_RESISTANCE));
}

fn delay(typed: &mut Typed<'_>, readings: &mut Readings) {
    readings.quarter_wave_hz = uncertain(typed.get(&read::QUARTER_WAVE_AT));
    let resonances = typed.get(&read::RESONANCE).unwrap_or_default();
    readings.resonances_hz = resonances.into_iter().map(Reading::uncertain).collect();
    readings.resonance_far_end = typed.get(&read::RESONANCE_FAR_END);
    readings.round_trip_delay_s = uncertain(typed.get(&read::ROUND_TRIP_DELAY));
}

fn loss(typed: &mut Typed<'_>, readings: &mut Readings) {
    readings.swr_peak = uncertain(typed.get(&read::SWR_PEAK));
    readings.swr_peak_hz = value(typed.get(&read::SWR_PEAK_AT));
    readings.antenna_on = typed.get(&read::ANTENNA_ON).unwrap_or_default();
    readings.low_resistance_ohm = uncertain(typed.get(&read::LOW_RESISTANCE));
    readings.low_resistance_hz = value(typed.get(&read::LOW_RESISTANCE_AT));
    readings.open_return_loss_db = uncertain(typed.get(&read::OPEN_RETURN_LOSS));
    readings.short_return_loss_db = uncertain(typed.get(&read::SHORT_RETURN_LOSS));
    readings.return_loss_hz = value(typed.get(&read::RETURN_LOSS_AT));
    readings.loss_db = uncertain(typed.get(&read::PIECE_LOSS));
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
