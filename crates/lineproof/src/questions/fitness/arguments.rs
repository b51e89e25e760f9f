//! What a cable shall be fit for.

use clap::Args;
use lineproof_core::fitness::{BANDS_HZ, Fitness, FitnessError, Use, UseLoad, fitness};

use crate::cli::facts::{self as arguments, SAID, SaidArgs};
use crate::facts::Typed;
use crate::facts::table::{self, fitness as of_use, line};
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
    facts: SaidArgs<arguments::Use>,
    /// Print JSON
    #[arg(long, help_heading = "Output")]
    json: bool,
}

impl Ask for UseArgs {
    type Answer = Fitness;

    fn ask(&self) -> Result<Fitness, Unanswered> {
        let asked = self.asked();
        let frequencies_hz = [[asked.freq_hz].as_slice(), &BANDS_HZ].concat();
        let cable = source::cable(&self.source.source(&frequencies_hz))?;
        fitness(&cable, asked).map_err(|error| match error {
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
        self.facts.read(asked).expect(SAID)
    }
}

fn asked(typed: &mut Typed<'_>) -> Option<Use> {
    let impedance = typed.get(&of_use::LOAD_IMPEDANCE);
    let swr = typed.get(&of_use::SWR).map_or(1.0, |r| r.value);
    let mode = typed.get(&of_use::MODE)?;
    Some(Use {
        freq_hz: typed.get(&table::USE_AT)?,
        run_m: typed.get(&line::RUN).map(|r| r.value),
        peak_w: typed.get(&of_use::POWER).map(|r| r.value),
        duty: typed.get(&of_use::DUTY).map_or(mode, |r| r.value),
        load: impedance.map_or(UseLoad::Swr(swr), UseLoad::Impedance),
        system_ohm: typed.get(&of_use::SYSTEM).map(|r| r.value),
        ambient_c: typed.get(&of_use::AMBIENT)?,
        most_loss_db: typed.get(&of_use::MOST_LOSS).map(|r| r.value),
    })
}
