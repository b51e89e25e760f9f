//! `lineproof types`: the catalogue, one type, or which type something may be.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::identify::{LossSeen, Observed, Per};
use lineproof_core::quantity::{self, AttenuationReading, Reading};

use super::facts::{SaidArgs, Types};
use super::values;
use crate::facts::{self, table};
use crate::workflow::types::Filter;

/// Examples under the help of the verb.
pub const EXAMPLES: &str = "\
Examples:
  lineproof types
  lineproof types --ohms 50 --most-loss 6dB/100m@145MHz --most-diameter 11mm
  lineproof types RG-213
  lineproof types --own my-reels.toml --ohms 50
  lineproof types --seen-impedance 74.3ohm --seen-velocity-factor 0.66 --seen-diameter 6.1mm";

/// Arguments of `types`.
#[derive(Args, Debug)]
pub struct TypesArgs {
    /// Show this type with its loss curve
    #[arg(value_name = "TYPE")]
    pub name: Option<String>,
    /// Your own types, in TOML; they are checked and stand first
    #[arg(long, value_name = "FILE")]
    pub own: Option<PathBuf>,
    /// Print JSON for programs
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    filter: FilterArgs,
    #[command(flatten)]
    seen: SeenArgs,
}

#[derive(Args, Debug)]
#[command(next_help_heading = "List only")]
struct FilterArgs {
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
#[command(next_help_heading = "What it may be, from what you see")]
struct SeenArgs {
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

impl TypesArgs {
    /// What the list is narrowed to.
    pub fn filter(&self) -> Filter {
        let filter = &self.filter;
        Filter {
            ohm: filter.ohms.map(|r| r.value),
            text: filter.with.clone(),
            most_loss: filter
                .most_loss
                .and_then(|l| Some((l.at_hz?.value, l.db_per_100m.value / 100.0))),
            most_diameter_m: filter.most_diameter.map(|r| r.value),
        }
    }

    /// What was seen of a cable.
    pub fn observed(&self) -> Observed {
        let seen = &self.seen;
        let loss = |l: &AttenuationReading| {
            Some(LossSeen {
                freq_hz: l.at_hz?.value,
                per: Per::Metre,
                db: values::by_instrument(l.db_per_100m).scaled(0.01),
            })
        };
        Observed {
            impedance_ohm: seen.seen_impedance.map(values::by_instrument),
            velocity_factor: seen.seen_velocity_factor.map(values::by_instrument),
            loss: seen.seen_loss.iter().filter_map(loss).collect(),
            marking: seen.facts.read(|typed| typed.get(&table::MARKED)),
            ..seen.facts.read(facts::observed)
        }
    }
}
