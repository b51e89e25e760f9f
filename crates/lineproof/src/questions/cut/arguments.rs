//! What to cut, and of what.

use clap::{ArgGroup, Args, Subcommand};
use lineproof_core::quantity::{Reading, Units};
use lineproof_core::sections::{
    CutError, FaultAnswer, FaultByHand, FaultCutError, PieceWanted, PiecesAsked, cut, cut_faults,
};

use super::answer::CutAnswer;
use crate::cli::facts::{self, SAID, SaidArgs};
use crate::exit;
use crate::facts::table::cut as of_cut;
use crate::facts::{Help, Typed};
use crate::questions::ask::Ask;
use crate::questions::cable::arguments::SourceArgs;
use crate::questions::cable::source;
use crate::questions::unanswered::Unanswered;

/// Examples under the help of the verb.
pub(super) const EXAMPLES: &str = "\
Examples:
  lineproof cut transformer --type RG-59B/U --frequency 14.1MHz --from 50ohm --to 100ohm
  lineproof cut stub --finding reel.json --frequency 7.1MHz --end short --notch
  lineproof cut stub --type RG-213 --frequency 145MHz --end open --match 60-j80ohm
  lineproof cut phasing --type RG-213 --frequency 7.05MHz --angle 84deg --plug-delay 120ps
  lineproof cut delay --type RG-58C/U --frequency 100MHz --delay 25ns
  lineproof cut set --type RG-58C/U --frequency 100MHz --delays 50.2ns,51.0ns,50.6ns
  lineproof cut fault --finding reel.json
  lineproof cut fault --open open.s1p --load load.s1p --length 20.02m
  lineproof cut fault --at 7.2m --at-error 10cm --span 30cm --whole 20m";

/// Arguments of `cut`.
#[derive(Args, Debug)]
pub(crate) struct CutArgs {
    /// What to cut
    #[command(subcommand)]
    piece: Piece,
}

/// What to cut. What other arguments share comes last in each: a heading of theirs holds for all that
/// follows.
#[derive(Debug, Subcommand)]
pub(crate) enum Piece {
    /// Quarter-wave section between two resistances
    Transformer {
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        facts: SaidArgs<facts::Transformer>,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Stub: a reactance, a notch or a match
    Stub {
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        aim: AimArgs,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Half wave, or several
    HalfWave {
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        facts: SaidArgs<facts::HalfWave>,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Phasing line of an electrical length in degrees
    Phasing {
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        facts: SaidArgs<facts::Phasing>,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Line of a given delay
    Delay {
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        facts: SaidArgs<facts::Delay>,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Matched set: several lines cut to equal the shortest
    Set {
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        facts: SaidArgs<facts::Equal>,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Cut out faults: those of a finding, or one whose place you give
    Fault(FaultArgs),
}

/// How a stub ends and the one thing that it is to do.
#[derive(Args, Debug)]
#[command(group = ArgGroup::new("aim").args(["notch", "stub_reactance", "stub_match"]).required(true))]
pub(crate) struct AimArgs {
    #[command(flatten)]
    facts: SaidArgs<facts::Stub>,
}

/// Where a fault is.
#[derive(Args, Debug)]
pub(crate) struct FaultArgs {
    #[command(flatten)]
    facts: SaidArgs<facts::FaultCut>,
    /// Lengths in feet and inches
    #[arg(long)]
    feet: bool,
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    source: SourceArgs,
}

/// Arguments of every piece that is cut to a frequency.
#[derive(Args, Debug)]
pub(crate) struct CommonArgs {
    #[command(flatten)]
    facts: SaidArgs<facts::Piece>,
    /// Lengths in feet and inches
    #[arg(long)]
    feet: bool,
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    source: SourceArgs,
}

impl Ask for CutArgs {
    type Answer = CutAnswer;

    fn ask(&self) -> Result<CutAnswer, Unanswered> {
        let (Some(asked), Some(common)) = (self.asked(), self.common()) else {
            return self.fault_out().map(CutAnswer::Fault);
        };
        let cable = source::cable(&common.source.source(&[asked.freq_hz]))?;
        match cut(&cable, &asked) {
            Ok(answer) => Ok(CutAnswer::Pieces(answer)),
            Err(CutError::Cable(error)) => Err(error.into()),
            Err(error) => Err(Unanswered::usage(error)),
        }
    }

    fn json(&self) -> bool {
        match &self.piece {
            Piece::Fault(fault) => fault.json,
            _ => self.common().is_some_and(|c| c.json),
        }
    }

    fn units(&self) -> Units {
        let feet = match &self.piece {
            Piece::Fault(fault) => fault.feet,
            _ => self.common().is_some_and(|c| c.feet),
        };
        if feet { Units::Feet } else { Units::Metres }
    }

    fn cable(&mut self) -> Option<&mut SourceArgs> {
        match &mut self.piece {
            Piece::Transformer { common, .. }
            | Piece::Stub { common, .. }
            | Piece::HalfWave { common, .. }
            | Piece::Phasing { common, .. }
            | Piece::Delay { common, .. }
            | Piece::Set { common, .. } => Some(&mut common.source),
            Piece::Fault(fault) => Some(&mut fault.source),
        }
    }
}

impl FaultArgs {
    /// The fault as it was placed by hand.
    fn by_hand(&self) -> Option<FaultByHand> {
        self.facts.read(|typed| {
            let error = typed.get(&of_cut::AT_ERROR)?;
            Some(FaultByHand {
                begin_m: crate::finding::from_u95(typed.get(&of_cut::AT)?.value, error.value),
                span_m: typed.get(&of_cut::SPAN).map_or(0.0, |s| s.value),
                whole_m: typed.get(&of_cut::WHOLE)?.value,
            })
        })
    }

    /// The cuts around the fault that was placed, or around those of a finding.
    fn cuts(&self) -> Result<FaultAnswer, Unanswered> {
        let source = self.source.source(&[]);
        let answer = if let Some(by_hand) = self.by_hand() {
            let named = source.is_found() || source.type_name.is_some();
            let cable = named.then(|| source::cable(&source)).transpose()?;
            by_hand.cut(cable.as_ref())
        } else {
            let (finding, name) = source::finding(&source)?;
            let whole = self.facts.read(|typed| typed.get(&of_cut::WHOLE));
            cut_faults(&finding, &name, whole.map(|w| w.value))
        };
        answer.map_err(|error| Unanswered {
            code: match error {
                FaultCutError::Section(_) => exit::USAGE,
                _ => exit::UNDETERMINED,
            },
            help: help(&error),
            ..Unanswered::usage(error)
        })
    }
}

/// One next step after a fault that is not cut out.
fn help(error: &FaultCutError) -> Option<Help> {
    match error {
        FaultCutError::Undetermined(_) => Some(Help::each(
            "see what `lineproof assay` says about its sweeps",
            "see what its assay on the shelf says about its sweeps",
        )),
        FaultCutError::NoPlace(_) => {
            let sweep = "sweep to a higher stop or with the far end loaded, and from the other end";
            Some(Help::each(
                format!("{sweep}; if you know the place, give --at"),
                format!("{sweep}; if you know the place, say where the fault begins"),
            ))
        }
        _ => None,
    }
}

impl CutArgs {
    /// What is wanted of the cable; nothing for a fault.
    fn asked(&self) -> Option<PiecesAsked> {
        let wanted = match &self.piece {
            Piece::Transformer { facts, .. } => facts.read(transformer),
            Piece::Stub { aim, .. } => aim.facts.read(stub),
            Piece::HalfWave { facts, .. } => {
                facts.read(|typed| typed.get(&of_cut::COUNT).map(PieceWanted::HalfWaves))
            }
            Piece::Phasing { facts, .. } => facts.read(|typed| {
                let angle = typed.get(&of_cut::ANGLE)?;
                Some(PieceWanted::Angle(angle.to_radians()))
            }),
            Piece::Delay { facts, .. } => facts.read(|typed| {
                let delay = typed.get(&of_cut::DELAY)?;
                Some(PieceWanted::Delay(delay.value))
            }),
            Piece::Set { facts, .. } => facts.read(|typed| {
                let delays = typed.get(&of_cut::DELAYS)?.into_iter();
                Some(PieceWanted::Equal(delays.map(Reading::uncertain).collect()))
            }),
            Piece::Fault(_) => return None,
        };
        let wanted = wanted.expect(SAID);
        self.common()?.facts.read(|typed| {
            Some(PiecesAsked {
                wanted,
                freq_hz: typed.get(&of_cut::FREQUENCY)?.value,
                plug_delay_s: typed.get(&of_cut::PLUG_DELAY).map_or(0.0, |d| d.value),
            })
        })
    }

    fn fault_out(&self) -> Result<FaultAnswer, Unanswered> {
        match &self.piece {
            Piece::Fault(fault) => fault.cuts(),
            _ => unreachable!("every other piece asks"),
        }
    }

    fn common(&self) -> Option<&CommonArgs> {
        match &self.piece {
            Piece::Transformer { common, .. }
            | Piece::Stub { common, .. }
            | Piece::HalfWave { common, .. }
            | Piece::Phasing { common, .. }
            | Piece::Delay { common, .. }
            | Piece::Set { common, .. } => Some(common),
            Piece::Fault(_) => None,
        }
    }
}

fn transformer(typed: &mut Typed<'_>) -> Option<PieceWanted> {
    Some(PieceWanted::Transformer {
        from_ohm: typed.get(&of_cut::FROM)?.value,
        to_ohm: typed.get(&of_cut::TO)?.value,
    })
}

fn stub(typed: &mut Typed<'_>) -> Option<PieceWanted> {
    let end = typed.get(&of_cut::END)?;
    let line_ohm = typed.get(&of_cut::LINE)?.value;
    let reactance = typed.get(&of_cut::REACTANCE);
    let matching = typed.get(&of_cut::MATCH);
    Some(match (reactance, matching) {
        (Some(reactance), _) => PieceWanted::Reactance {
            end,
            ohm: reactance.value,
        },
        (None, Some(load_ohm)) => PieceWanted::Match {
            end,
            load_ohm,
            line_ohm,
        },
        (None, None) => PieceWanted::Notch { end, line_ohm },
    })
}
