//! `lineproof assay`: all sweeps of one cable in, one finding out.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::bench::Marking;
use lineproof_core::quantity::{self, Reading};

use super::look::LookArgs;
use super::marking::MarkingArgs;
use super::plane::PlaneArgs;
use super::read::ReadArgs;
use super::report::FilesArgs;
use super::shelf::ShelveArgs;
use super::values;
use crate::workflow::assay::{AssayRequest, Input, Role};
use crate::workflow::knowledge::Knowledge;
use lineproof_core::finding::judge::Asked;
use lineproof_core::finding::judge::Purpose;
use lineproof_core::finding::judge::criteria::Criteria;
use lineproof_core::finding::judge::types::OwnTypes;

/// Examples under the help of the verb.
pub const EXAMPLES: &str = "\
Examples:
  lineproof assay open.s1p load.s1p --length 1.5m --load-ohms 49.97
  lineproof assay --open a.s1p --short b.s1p --marked RG-59 --marked-impedance 75
  lineproof assay --through feeder.s2p --length 22m --frequency 145MHz,430MHz
  lineproof assay open.csv --frequency-unit MHz --json
  lineproof assay open.s1p load.s1p --length 1.500m --shelve mast-1
  lineproof assay open.s1p --seen-inner-diameter 0.81mm --seen-dielectric-diameter 3.70mm
  lineproof assay open.s1p load.s1p --adapter near=sma-bnc --check open=again-open.s1p

The load's resistance: measure it with an ohmmeter (subtract the leads) and give it with
--load-ohms; the analyser measures every impedance in units of it.";

/// Arguments of `assay`.
#[derive(Args, Debug)]
pub struct AssayArgs {
    /// Sweep with nothing at the far end
    #[arg(long, value_name = "FILE")]
    open: Vec<PathBuf>,
    /// Sweep with a short at the far end
    #[arg(long, value_name = "FILE")]
    short: Vec<PathBuf>,
    /// Sweep with a load at the far end
    #[arg(long, value_name = "FILE")]
    load: Vec<PathBuf>,
    /// Two-port sweep from end to end
    #[arg(long, value_name = "FILE")]
    through: Vec<PathBuf>,
    /// Two-port sweep through a shorter piece of the same cable with the same plugs: what both share
    /// cancels
    #[arg(long, value_name = "FILE", requires_all = ["through", "shorter_length"])]
    shorter: Option<PathBuf>,
    /// Length of the shorter piece by tape, between its plugs
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, requires = "shorter", value_parser = quantity::parse_length_m)]
    shorter_length: Option<Reading>,
    /// Sweeps whose far end is judged from data and name
    #[arg(value_name = "FILES", required_unless_present_any = ["open", "short", "load", "through"])]
    files: Vec<PathBuf>,

    #[command(flatten)]
    known: KnownArgs,
    /// Time from the calibration to the sweeps: 40min, 3h or 2d
    #[arg(long, value_name = "TIME", help_heading = "The calibrated plane", allow_hyphen_values = true, value_parser = values::time_s)]
    calibration_age: Option<f64>,
    #[command(flatten)]
    plane: PlaneArgs,
    #[command(flatten)]
    marking: MarkingArgs,
    #[command(flatten, next_help_heading = "What caliper, meter and eye say")]
    look: LookArgs,
    /// Your own types, in TOML, to be among those that it may be
    #[arg(long, value_name = "FILE", help_heading = "What you know", value_parser = own_types)]
    own: Option<OwnTypes>,
    /// Frequencies at which loss and impedance are wanted besides the usual ones
    #[arg(long, value_name = "FREQUENCY", help_heading = "Output", value_delimiter = ',', value_parser = quantity::parse_frequency_hz)]
    frequency: Vec<Reading>,
    #[command(flatten)]
    purpose: PurposeArgs,
    #[command(flatten)]
    read: ReadArgs,
    #[command(flatten)]
    pub(crate) record: ShelveArgs,
    #[command(flatten)]
    pub(crate) files_written: FilesArgs,
    /// Write the reflection sweeps against time and distance to this file (CSV)
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    pub along: Option<PathBuf>,
    /// Print JSON for programs
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "What you know")]
pub(super) struct KnownArgs {
    /// Resistance of the calibration load by ohmmeter, ohm
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    load_ohms: Option<Reading>,
    /// Resistance at the far end of the load sweeps, ohm, if it is not the calibration load
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    far_load_ohms: Option<Reading>,
    /// Length of the cable by tape, between its plugs
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    length: Option<Reading>,
    /// How far the tape may be off (95 %); 6 mm and 0.04 % if not given
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, requires = "length", value_parser = quantity::parse_length_m)]
    tape_error: Option<Reading>,
    /// Temperature of the cable, 21C or 70F; the loss is then stated at 20 °C too
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = values::temperature_c)]
    temperature: Option<f64>,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "What it is for")]
struct PurposeArgs {
    /// Frequency of use
    #[arg(long = "use", value_name = "FREQUENCY", value_parser = quantity::parse_frequency_hz)]
    use_at: Option<Reading>,
    /// Impedance of the system, ohm; the nearest of 50, 75 and 93 if not given
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    system_impedance: Option<Reading>,
    /// What a cable must keep to, a TOML file
    #[arg(long, value_name = "FILE", value_parser = criteria)]
    criteria: Option<Criteria>,
}

/// The criteria in a file.
pub(super) fn criteria(path: &str) -> Result<Criteria, String> {
    let text = std::fs::read_to_string(path).map_err(|e| e.to_string())?;
    Criteria::from_toml(&text)
}

fn own_types(path: &str) -> Result<OwnTypes, String> {
    let text = std::fs::read_to_string(path).map_err(|e| e.to_string())?;
    OwnTypes::new(text).map_err(|e| e.to_string())
}

impl AssayArgs {
    /// The request that the arguments make.
    pub fn request(&self) -> AssayRequest {
        let roles = [
            (&self.open, Role::Open),
            (&self.short, Role::Short),
            (&self.load, Role::Load),
            (&self.through, Role::Through),
            (&self.files, Role::Judge),
        ];
        AssayRequest {
            inputs: roles
                .into_iter()
                .flat_map(|(paths, role)| {
                    paths.iter().map(move |path| Input {
                        path: path.clone(),
                        role,
                    })
                })
                .chain(self.shorter.iter().map(|path| Input {
                    path: path.clone(),
                    role: Role::Shorter,
                }))
                .chain(self.plane.sweeps())
                .collect(),
            plane: self.plane.said(),
            read: self.read.options(),
            knowledge: Knowledge {
                shorter_length_m: self.shorter_length,
                calibration_age_s: self.calibration_age,
                ..self.known.knowledge(self.marking.marking())
            },
            asked: Asked {
                frequencies_hz: self.frequency.iter().map(|r| r.value).collect(),
                temperature_c: self.known.temperature,
                criteria: self.purpose.criteria.unwrap_or_default(),
                purpose: Purpose {
                    system_ohm: self.purpose.system_impedance.map(|r| r.value),
                    use_hz: self.purpose.use_at.map(|r| r.value),
                },
                own_types: self.own.clone(),
                look: self.look.observed(),
                ..Asked::default()
            },
        }
    }
}

impl KnownArgs {
    /// What is known, with what the jacket claims.
    pub(super) fn knowledge(&self, marking: Marking) -> Knowledge {
        Knowledge {
            load_ohm: self.load_ohms,
            far_load_ohm: self.far_load_ohms,
            length_m: self.length,
            tape_error_m: self.tape_error.map(|r| r.value),
            marking,
            ..Knowledge::default()
        }
    }
}
