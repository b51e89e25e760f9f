//! What a plan is asked with.

use clap::{Args, ValueEnum};
use lineproof_core::plan::{Dielectric, Plan, PlanRequest, Range, plan};
use lineproof_core::quantity::{self, Reading};

use crate::cli::facts::{self as arguments, SaidArgs};
use crate::facts::{table, values};
use crate::questions::ask::Ask;
use crate::questions::unanswered::Unanswered;

/// Examples under the help of the verb.
pub(super) const EXAMPLES: &str = "\
Examples:
  lineproof plan --length 1.5m --dielectric solid-pe
  lineproof plan --length 10m..20m --resolution 30cm --points 201
  lineproof plan --length 60m --velocity-factor 0.83 --frequency 145MHz,430MHz";

/// Arguments of `plan`.
#[derive(Args, Debug)]
pub(crate) struct PlanArgs {
    /// Rough length (± 10 %), or a range such as 10m..20m
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = values::length_range)]
    length: Range,
    /// Dielectric of the cable, if known
    #[arg(
        long,
        value_enum,
        default_value = "unknown",
        conflicts_with = "velocity_factor"
    )]
    dielectric: DielectricName,
    /// Velocity factor, or a range such as 0.64..0.70
    #[arg(long, value_name = "RATIO", value_parser = values::velocity_factor_range)]
    velocity_factor: Option<Range>,
    /// Points of one sweep
    #[arg(long, default_value_t = 401)]
    points: usize,
    /// Frequency range of the analyser
    #[arg(long, value_name = "RANGE", default_value = "50kHz..900MHz", value_parser = values::frequency_range)]
    analyser: Range,
    /// Distance at which two faults must still be resolved
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    resolution: Option<Reading>,
    #[command(flatten)]
    facts: SaidArgs<arguments::Plan>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// Dielectrics by their short names.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum DielectricName {
    /// Solid polyethylene: clear or milky, hard
    SolidPe,
    /// Foamed polyethylene: white, dents under a fingernail
    FoamPe,
    /// PTFE: white, hard, waxy, does not melt under the iron
    Ptfe,
    /// Discs, spiral or tube with air
    Air,
    /// Not known
    Unknown,
}

impl Ask for PlanArgs {
    type Answer = Plan;

    fn ask(&self) -> Result<Plan, Unanswered> {
        plan(&self.request()).map_err(Unanswered::usage)
    }

    fn json(&self) -> bool {
        self.json
    }
}

impl PlanArgs {
    fn request(&self) -> PlanRequest {
        let frequencies = self.facts.read(|typed| typed.get(&table::FREQUENCIES));
        PlanRequest {
            length_m: self.length,
            velocity_factor: self
                .velocity_factor
                .unwrap_or_else(|| self.dielectric.core().velocity_factor()),
            points: self.points,
            analyser_hz: self.analyser,
            resolution_m: self.resolution.map(|r| r.value),
            frequencies_hz: frequencies.unwrap_or_default(),
        }
    }
}

impl DielectricName {
    fn core(self) -> Dielectric {
        match self {
            Self::SolidPe => Dielectric::SolidPolyethylene,
            Self::FoamPe => Dielectric::FoamedPolyethylene,
            Self::Ptfe => Dielectric::Ptfe,
            Self::Air => Dielectric::Air,
            Self::Unknown => Dielectric::Unknown,
        }
    }
}
