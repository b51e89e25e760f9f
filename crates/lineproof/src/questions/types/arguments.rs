//! What the catalogue is asked.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::catalogue::{Catalogue, Filter};
use lineproof_core::identify::{LossSeen, Observed, Per, identify};
use lineproof_core::quantity::{self, AttenuationReading, Reading};

use super::answer::{Answered, IdentificationAnswer, TypesAnswer};
use crate::cli::facts::{SaidArgs, Types};
use crate::facts::{self, table, values};
use crate::questions::ask::Ask;
use crate::questions::cable::source::{SourceError, catalogue};
use crate::questions::unanswered::Unanswered;

/// Examples under the help of the verb.
pub(super) const EXAMPLES: &str = "\
Examples:
  lineproof types
  lineproof types --ohms 50 --most-loss 6dB/100m@145MHz --most-diameter 11mm
  lineproof types RG-213
  lineproof types --own my-reels.toml --ohms 50
  lineproof types --seen-impedance 74.3ohm --seen-velocity-factor 0.66 --seen-diameter 6.1mm";

/// Arguments of `types`.
#[derive(Args, Debug)]
pub(crate) struct TypesArgs {
    /// Type to show, with its loss curve
    #[arg(value_name = "TYPE")]
    name: Option<String>,
    /// File of your own types (TOML); they are checked and listed first
    #[arg(long, value_name = "FILE")]
    own: Option<PathBuf>,
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    filter: FilterArgs,
    #[command(flatten)]
    seen: SeenArgs,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "List only")]
pub(crate) struct FilterArgs {
    /// Types of this impedance, within 5 %
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    ohms: Option<Reading>,
    /// Types with this text in name, class or specification
    #[arg(long, value_name = "TEXT")]
    with: Option<String>,
    /// Types that lose no more than this, for example 10dB/100m@145MHz
    #[arg(long, value_name = "LOSS", value_parser = values::attenuation_at)]
    most_loss: Option<AttenuationReading>,
    /// Types no thicker than this
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    most_diameter: Option<Reading>,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "Identify from what you observe")]
pub(crate) struct SeenArgs {
    /// Characteristic impedance
    #[arg(long, value_name = "OHM", value_parser = values::ohms)]
    seen_impedance: Option<Reading>,
    /// Velocity factor
    #[arg(long, value_name = "RATIO", value_parser = values::velocity_factor)]
    seen_velocity_factor: Option<Reading>,
    /// Loss at a frequency, for example 11dB/100m@100MHz; may be repeated
    #[arg(long, value_name = "LOSS", value_parser = values::attenuation_at)]
    seen_loss: Vec<AttenuationReading>,
    #[command(flatten)]
    facts: SaidArgs<Types>,
}

impl Ask for TypesArgs {
    type Answer = Answered;

    fn ask(&self) -> Result<Answered, Unanswered> {
        let catalogue = catalogue(self.own.as_deref())?;
        if let Some(found) = identify(&catalogue, &self.seen.observed()) {
            return Ok(Answered::Identified(IdentificationAnswer::of(found)));
        }
        let Some(name) = &self.name else {
            return Ok(Answered::Types(self.filter.of(&catalogue)));
        };
        let found = catalogue.find(name).map_err(SourceError::from)?;
        Ok(Answered::Types(TypesAnswer {
            sources: Some(catalogue.documents_of(found)),
            types: vec![found.clone()],
        }))
    }

    fn json(&self) -> bool {
        self.json
    }
}

impl Ask for FilterArgs {
    type Answer = TypesAnswer;

    fn ask(&self) -> Result<TypesAnswer, Unanswered> {
        Ok(self.of(Catalogue::built_in()))
    }
}

impl Ask for SeenArgs {
    type Answer = IdentificationAnswer;

    fn ask(&self) -> Result<IdentificationAnswer, Unanswered> {
        let found = identify(Catalogue::built_in(), &self.observed());
        let found =
            found.ok_or_else(|| Unanswered::usage("nothing that identifies a type was given"));
        found.map(IdentificationAnswer::of)
    }
}

impl FilterArgs {
    /// The types that are left.
    fn of(&self, catalogue: &Catalogue) -> TypesAnswer {
        let filter = Filter {
            ohm: self.ohms.map(|r| r.value),
            text: self.with.clone(),
            most_loss: self
                .most_loss
                .and_then(|l| Some((l.at_hz?.value, l.db_per_100m.value / 100.0))),
            most_diameter_m: self.most_diameter.map(|r| r.value),
        };
        let left = catalogue.types().iter().filter(|t| filter.keeps(t));
        TypesAnswer::of(left.cloned().collect())
    }
}

impl SeenArgs {
    /// What was seen of a cable.
    fn observed(&self) -> Observed {
        let loss = |l: &AttenuationReading| {
            Some(LossSeen {
                freq_hz: l.at_hz?.value,
                per: Per::Metre,
                db: values::by_instrument(l.db_per_100m).scaled(0.01),
            })
        };
        Observed {
            impedance_ohm: self.seen_impedance.map(values::by_instrument),
            velocity_factor: self.seen_velocity_factor.map(values::by_instrument),
            loss: self.seen_loss.iter().filter_map(loss).collect(),
            marking: self.facts.read(|typed| typed.get(&table::MARKED)),
            ..self.facts.read(facts::observed)
        }
    }
}
