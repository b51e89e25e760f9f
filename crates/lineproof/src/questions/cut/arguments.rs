//! What to cut, and of what.

use clap::{Args, Subcommand, ValueEnum};
use lineproof_core::quantity::{self, Reading, Units};
use lineproof_core::sections::{
    CutError, FaultAnswer, FaultByHand, FaultCutError, PieceWanted, PiecesAsked, StubEnd, cut,
    cut_faults,
};
use num_complex::Complex64;

use super::answer::CutAnswer;
use crate::exit;
use crate::facts::{Help, values};
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
        /// Resistance at one end
        #[arg(long, value_name = "OHM", value_parser = values::ohms)]
        from: Reading,
        /// Resistance at the other end
        #[arg(long, value_name = "OHM", value_parser = values::ohms)]
        to: Reading,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Stub: a reactance, a notch or a match
    Stub {
        /// Far end of the stub
        #[arg(long, value_enum)]
        end: EndName,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        aim: AimArgs,
        /// Impedance of the line that it is connected to
        #[arg(long, value_name = "OHM", default_value = "50ohm", value_parser = values::ohms)]
        system: Reading,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Half wave, or several
    HalfWave {
        /// Number of half waves
        #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1000))]
        count: u32,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Phasing line of an electrical length in degrees
    Phasing {
        /// Angle, for example 84deg
        #[arg(long, value_name = "ANGLE", value_parser = values::angle_deg)]
        angle: f64,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Line of a given delay
    Delay {
        /// One-way delay
        #[arg(long, value_name = "DELAY", value_parser = quantity::parse_delay_s)]
        delay: Reading,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Matched set: several lines cut to equal the shortest
    Set {
        /// One-way delays as measured, in order
        #[arg(long, value_name = "DELAYS", value_delimiter = ',', required = true, value_parser = quantity::parse_delay_s)]
        delays: Vec<Reading>,
        #[command(flatten)]
        #[allow(missing_docs, reason = "described in its own type")]
        common: CommonArgs,
    },
    /// Cut out faults: those of a finding, or one whose place you give
    Fault(FaultArgs),
}

/// What a stub is to do.
#[derive(Args, Debug)]
#[group(required = true, multiple = false)]
pub(crate) struct AimArgs {
    /// Notch at this frequency
    #[arg(long)]
    notch: bool,
    /// Reactance to present, for example -86.6ohm
    #[arg(long, value_name = "REACTANCE", allow_hyphen_values = true, value_parser = quantity::parse_reactance_ohm)]
    reactance: Option<Reading>,
    /// Load to match, for example 60-j80ohm
    #[arg(long = "match", value_name = "IMPEDANCE", allow_hyphen_values = true, value_parser = values::impedance_point)]
    matching: Option<Complex64>,
}

/// Where a fault is.
#[derive(Args, Debug)]
pub(crate) struct FaultArgs {
    /// Where the fault begins, from the near end
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, requires = "whole", value_parser = quantity::parse_length_m)]
    at: Option<Reading>,
    /// Error of that place (95 %)
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, default_value = "20cm", value_parser = quantity::parse_length_m)]
    at_error: Reading,
    /// Length of the fault
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, requires = "at", value_parser = quantity::parse_length_m)]
    span: Option<Reading>,
    /// Length of the whole cable, if the finding has none
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    whole: Option<Reading>,
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
    /// Frequency of the piece
    #[arg(long, value_name = "FREQUENCY", value_parser = quantity::parse_frequency_hz)]
    frequency: Reading,
    /// One-way delay of plugs, tee and fixture together
    #[arg(long, value_name = "DELAY", value_parser = quantity::parse_delay_s)]
    plug_delay: Option<Reading>,
    /// Lengths in feet and inches
    #[arg(long)]
    feet: bool,
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    source: SourceArgs,
}

/// How a stub ends.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum EndName {
    /// Open
    Open,
    /// Shorted
    Short,
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
        Some(FaultByHand {
            begin_m: crate::finding::from_u95(self.at?.value, self.at_error.value),
            span_m: self.span.map_or(0.0, |s| s.value),
            whole_m: self.whole?.value,
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
            cut_faults(&finding, &name, self.whole.map(|w| w.value))
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

impl EndName {
    fn core(self) -> StubEnd {
        match self {
            Self::Open => StubEnd::Open,
            Self::Short => StubEnd::Short,
        }
    }
}

impl CutArgs {
    /// What is wanted of the cable; nothing for a fault.
    fn asked(&self) -> Option<PiecesAsked> {
        let wanted = match &self.piece {
            Piece::Transformer { from, to, .. } => PieceWanted::Transformer {
                from_ohm: from.value,
                to_ohm: to.value,
            },
            Piece::Stub {
                end, aim, system, ..
            } => stub(end.core(), aim, system.value),
            Piece::HalfWave { count, .. } => PieceWanted::HalfWaves(*count),
            Piece::Phasing { angle, .. } => PieceWanted::Angle(angle.to_radians()),
            Piece::Delay { delay, .. } => PieceWanted::Delay(delay.value),
            Piece::Set { delays, .. } => {
                PieceWanted::Equal(delays.iter().map(|d| d.uncertain()).collect())
            }
            Piece::Fault(_) => return None,
        };
        Some(PiecesAsked {
            wanted,
            freq_hz: self.common().map_or(0.0, |c| c.frequency.value),
            plug_delay_s: self
                .common()
                .and_then(|c| c.plug_delay)
                .map_or(0.0, |d| d.value),
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

fn stub(end: StubEnd, aim: &AimArgs, line_ohm: f64) -> PieceWanted {
    match (aim.reactance, aim.matching) {
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
    }
}
