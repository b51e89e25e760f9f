//! What the catalogue is asked.

use clap::Args;
use lineproof_core::catalogue::{Catalogue, Filter};
use lineproof_core::identify::{LossSeen, Observed, Per, identify};
use lineproof_core::quantity::{AttenuationReading, Reading};

use super::answer::{Answered, IdentificationAnswer, TypesAnswer};
use crate::cli::facts::{SaidArgs, Types, TypesListed};
use crate::facts::table::{self, types as asked};
use crate::facts::{self, Typed, values};
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
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    filter: FilterArgs,
    #[command(flatten)]
    seen: SeenArgs,
}

/// Which types are listed.
#[derive(Args, Debug)]
pub(crate) struct FilterArgs {
    #[command(flatten)]
    facts: SaidArgs<TypesListed>,
}

/// What is seen of a cable.
#[derive(Args, Debug)]
pub(crate) struct SeenArgs {
    #[command(flatten)]
    facts: SaidArgs<Types>,
}

impl Ask for TypesArgs {
    type Answer = Answered;

    fn ask(&self) -> Result<Answered, Unanswered> {
        let catalogue = self.filter.catalogue();
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
        Ok(self.of(&self.catalogue()))
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
    /// The built-in types with a person's own before them.
    fn catalogue(&self) -> Catalogue {
        let own = self.facts.read(|typed| typed.get(&table::OWN_TYPES));
        catalogue(own.as_ref())
    }

    /// The types that are left.
    fn of(&self, catalogue: &Catalogue) -> TypesAnswer {
        let filter = self.facts.read(filter);
        let left = catalogue.types().iter().filter(|t| filter.keeps(t));
        TypesAnswer::of(left.cloned().collect())
    }
}

fn filter(typed: &mut Typed<'_>) -> Filter {
    let most_loss = typed.get(&asked::MOST_LOSS);
    Filter {
        ohm: typed.get(&asked::OHMS).map(|r| r.value),
        text: typed.get(&asked::WITH),
        most_loss: most_loss.and_then(|l| Some((l.at_hz?.value, l.db_per_100m.value / 100.0))),
        most_diameter_m: typed.get(&asked::MOST_DIAMETER).map(|r| r.value),
    }
}

impl SeenArgs {
    /// What was seen of a cable.
    fn observed(&self) -> Observed {
        self.facts.read(observed)
    }
}

fn observed(typed: &mut Typed<'_>) -> Observed {
    let loss = |l: AttenuationReading| {
        Some(LossSeen {
            freq_hz: l.at_hz?.value,
            per: Per::Metre,
            db: values::by_instrument(l.db_per_100m).scaled(0.01),
        })
    };
    let losses = typed.get(&asked::SEEN_LOSS).unwrap_or_default();
    let by_instrument = |r: Option<Reading>| r.map(values::by_instrument);
    Observed {
        impedance_ohm: by_instrument(typed.get(&asked::SEEN_IMPEDANCE)),
        velocity_factor: by_instrument(typed.get(&asked::SEEN_VELOCITY_FACTOR)),
        loss: losses.into_iter().filter_map(loss).collect(),
        marking: typed.get(&table::MARKED),
        ..facts::observed(typed)
    }
}
