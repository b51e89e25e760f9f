//! What a plan is asked with.

use clap::Args;
use lineproof_core::plan::{Dielectric, Plan, PlanRequest, plan};

use crate::cli::facts::{self as arguments, SAID, SaidArgs};
use crate::facts::table::{self, plan as asked};
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
    #[command(flatten)]
    facts: SaidArgs<arguments::Plan>,
    /// Print JSON
    #[arg(long)]
    json: bool,
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
        self.facts
            .read(|typed| {
                let dielectric = typed.get(&asked::DIELECTRIC);
                let by_dielectric = dielectric.unwrap_or(Dielectric::Unknown).velocity_factor();
                Some(PlanRequest {
                    length_m: typed.get(&asked::LENGTH)?,
                    velocity_factor: typed.get(&asked::VELOCITY_FACTOR).unwrap_or(by_dielectric),
                    points: typed.get(&asked::POINTS)?,
                    analyser_hz: typed.get(&asked::ANALYSER)?,
                    resolution_m: typed.get(&asked::RESOLUTION).map(|r| r.value),
                    frequencies_hz: typed.get(&table::FREQUENCIES).unwrap_or_default(),
                })
            })
            .expect(SAID)
    }
}
