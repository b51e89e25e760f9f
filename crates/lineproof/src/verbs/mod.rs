//! Each verb from its arguments to output and exit code.

mod label;
mod report;
mod serve;
mod shelf;
mod sort;

use std::path::Path;

use lineproof_core::identify;

use crate::cli::assay::AssayArgs;
use crate::cli::compare::CompareArgs;
use crate::cli::correct::CorrectArgs;
use crate::cli::cut::{CutArgs, FaultArgs};
use crate::cli::fitness::UseArgs;
use crate::cli::line_files::{NetworkArgs, RemovalArgs};
use crate::cli::types::TypesArgs;
use crate::facts::{Setup, Surface};
use crate::finding::Condition;
use crate::report as text;
use crate::report::answer::{
    CorrectAnswer, FaultAnswer, IdentificationAnswer, PiecesAnswer, RemovalAnswer, TypesAnswer,
    UseAnswer,
};
use crate::report::units::Units;
use crate::workflow::assay::{self, Outcome};
use crate::workflow::compare;
use crate::workflow::correct::{self, CorrectError};
use crate::workflow::cut::{self, CutError};
use crate::workflow::fault_cut::{self, FaultCutError};
use crate::workflow::fitness::{self, FitnessError};
use crate::workflow::gather::GatherError;
use crate::workflow::line_files::{self, LineFileError};
use crate::workflow::load;
use crate::workflow::source::{self, SourceError};
use crate::workflow::views;
use crate::{diagnostics, exit, output};

pub(crate) use label::label;
pub(crate) use report::report;
pub(crate) use serve::serve;
pub(crate) use shelf::shelf;
pub(crate) use sort::sort;

/// `lineproof assay`.
pub(crate) fn assay(arguments: &AssayArgs) -> u8 {
    let request = arguments.request();
    let outcome = match arguments.along {
        Some(_) => assay::assay_with_views(&request),
        None => assay::assay(&request),
    };
    for error in &outcome.unread {
        output::message(&diagnostics::load_error(error));
    }
    for error in &outcome.refused {
        output::error(error, error.help(Surface::Terminal).as_deref());
    }
    let mut code = code(&outcome);
    if let Ok(finding) = &outcome.finding {
        let mut setup = Setup::of(&arguments.facts.said, &request.plane);
        arguments.record.note(&mut setup);
        code = shelf::keep(&arguments.record, &setup, &outcome, finding, code);
        code = report::files(arguments, &setup, &outcome, finding, code);
        if let Some(path) = &arguments.along {
            code = output::file(path, &views::csv(&outcome.views), code);
        }
    }
    match outcome.finding {
        Ok(finding) if arguments.json => output::json(&finding, code),
        Ok(finding) => output::result(&text::finding::text(&finding, Units::Metres), code),
        Err(GatherError::NothingLeft) if !outcome.unread.is_empty() => code,
        Err(error) => {
            output::error(&error, error.help(Surface::Terminal).as_deref());
            code
        }
    }
}

fn code(outcome: &Outcome) -> u8 {
    match &outcome.finding {
        Err(GatherError::Knowledge(_) | GatherError::Plane { .. }) => exit::USAGE,
        Err(_) => exit::NOTHING_READ,
        Ok(finding) if finding.condition == Condition::Undetermined => exit::UNDETERMINED,
        Ok(_) if outcome.unread.is_empty() && outcome.refused.is_empty() => exit::ANSWERED,
        Ok(_) => exit::ANSWERED_IN_PART,
    }
}

/// `lineproof compare`.
pub(crate) fn compare(arguments: &CompareArgs) -> u8 {
    let outcome = compare::compare(&arguments.request());
    for error in &outcome.unread {
        output::message(&diagnostics::load_error(error));
    }
    for error in &outcome.refused {
        output::error(error, error.help(Surface::Terminal).as_deref());
    }
    let comparison = match outcome.comparison {
        Ok(comparison) => comparison,
        Err(error) => {
            output::error(&error, error.help(Surface::Terminal).as_deref());
            return match error {
                GatherError::Knowledge(_) => exit::USAGE,
                _ => exit::NOTHING_READ,
            };
        }
    };
    let whole = outcome.unread.is_empty() && outcome.refused.is_empty();
    let code = match comparison.changed {
        None => exit::UNDETERMINED,
        Some(_) if whole => exit::ANSWERED,
        Some(_) => exit::ANSWERED_IN_PART,
    };
    if arguments.json {
        output::json(&comparison, code)
    } else {
        output::result(&text::compare::text(&comparison), code)
    }
}

/// `lineproof correct`.
pub(crate) fn correct(arguments: &CorrectArgs) -> u8 {
    match correct::correct(&arguments.request()) {
        Ok(correction) => {
            correction.failed.iter().for_each(refused);
            let code = if correction.failed.is_empty() {
                exit::ANSWERED
            } else {
                exit::ANSWERED_IN_PART
            };
            if arguments.json {
                output::json(&CorrectAnswer::of(correction), code)
            } else {
                output::result(&text::correct::text(&correction), code)
            }
        }
        Err(error) => {
            refused(&error);
            match error {
                CorrectError::Load(_) => exit::NOTHING_READ,
                CorrectError::Calibration { .. } => exit::UNDETERMINED,
                CorrectError::Write { .. } => exit::OUTPUT,
                _ => exit::USAGE,
            }
        }
    }
}

fn refused(error: &CorrectError) {
    match error {
        CorrectError::Load(error) => output::message(&diagnostics::load_error(error)),
        other => output::error(other, other.help().as_deref()),
    }
}

/// `lineproof types`.
pub(crate) fn types(arguments: &TypesArgs) -> u8 {
    let catalogue = match source::catalogue(arguments.own.as_deref()) {
        Ok(catalogue) => catalogue,
        Err(error) => return source_error(&error),
    };
    let seen = arguments.observed();
    if let Some(found) = identify::identify(&catalogue, &seen) {
        return if arguments.json {
            output::json(&IdentificationAnswer::of(found), exit::ANSWERED)
        } else {
            output::result(&text::types::identification(&found), exit::ANSWERED)
        };
    }
    if let Some(name) = &arguments.name {
        return match catalogue.find(name) {
            Ok(found) if arguments.json => output::json(&TypesAnswer::of(&[found]), exit::ANSWERED),
            Ok(found) => output::result(&text::types::one(&catalogue, found), exit::ANSWERED),
            Err(error) => source_error(&error.into()),
        };
    }
    let filter = arguments.filter();
    let kept: Vec<_> = catalogue
        .types()
        .iter()
        .filter(|t| filter.keeps(t))
        .collect();
    let code = if kept.is_empty() {
        exit::UNDETERMINED
    } else {
        exit::ANSWERED
    };
    if arguments.json {
        output::json(&TypesAnswer::of(&kept), code)
    } else {
        output::result(&text::types::list(&kept), code)
    }
}

/// `lineproof use`.
pub(crate) fn fitness(arguments: &UseArgs) -> u8 {
    let cable = match source::cable(&arguments.source()) {
        Ok(cable) => cable,
        Err(error) => return source_error(&error),
    };
    let asked = arguments.asked();
    match fitness::fitness(&cable, &asked) {
        Ok(found) if arguments.json => output::json(&UseAnswer::of(found, &asked), exit::ANSWERED),
        Ok(found) => output::result(&text::fitness::text(&found, &asked), exit::ANSWERED),
        Err(FitnessError::Cable(error)) => source_error(&error.into()),
        Err(error) => {
            output::error(&error, None);
            exit::USAGE
        }
    }
}

/// `lineproof cut`.
pub(crate) fn cut(arguments: &CutArgs) -> u8 {
    if let Some(fault) = arguments.fault() {
        return match fault_out(arguments, fault) {
            Ok(code) => code,
            Err(error) => source_error(&error),
        };
    }
    let cable = match source::cable(&arguments.source()) {
        Ok(cable) => cable,
        Err(error) => return source_error(&error),
    };
    let asked = arguments.asked().expect("every piece but a fault asks");
    match cut::cut(&cable, &asked) {
        Ok(answer) if arguments.json() => {
            output::json(&PiecesAnswer::of(answer, &asked), exit::ANSWERED)
        }
        Ok(answer) => {
            let text = text::cut::text(&answer, &asked, arguments.feet());
            output::result(&text, exit::ANSWERED)
        }
        Err(CutError::Cable(error)) => source_error(&error.into()),
        Err(error) => {
            output::error(&error, None);
            exit::USAGE
        }
    }
}

/// `lineproof cut fault`.
fn fault_out(arguments: &CutArgs, fault: &FaultArgs) -> Result<u8, SourceError> {
    let source = arguments.source();
    let answer = if let Some(by_hand) = fault.by_hand() {
        let named = source.is_found() || source.type_name.is_some();
        let cable = named.then(|| source::cable(&source)).transpose()?;
        by_hand.cut(cable.as_ref())
    } else {
        let (finding, name) = source::finding(&source)?;
        fault_cut::of_finding(&finding, &name, fault.whole_m())
    };
    Ok(match answer {
        Ok(answer) if arguments.json() => output::json(&FaultAnswer::of(answer), exit::ANSWERED),
        Ok(answer) => {
            let text = text::fault_cut::text(&answer, arguments.feet());
            output::result(&text, exit::ANSWERED)
        }
        Err(error) => {
            output::error(&error, error.help());
            match error {
                FaultCutError::Section(_) => exit::USAGE,
                _ => exit::UNDETERMINED,
            }
        }
    })
}

/// `lineproof network`.
pub(crate) fn network(arguments: &NetworkArgs) -> u8 {
    let cable = match source::cable(&arguments.source()) {
        Ok(cable) => cable,
        Err(error) => return source_error(&error),
    };
    match line_files::network(&cable, &arguments.asked()) {
        Ok(file) => match write(&arguments.write, &file.text) {
            exit::ANSWERED => {
                let written = arguments.write.display().to_string();
                output::result(&text::line_files::network(&file, &written), exit::ANSWERED)
            }
            code => code,
        },
        Err(error) => line_file_error(error),
    }
}

/// `lineproof remove-line`.
pub(crate) fn remove_line(arguments: &RemovalArgs) -> u8 {
    let cable = match source::cable(&arguments.source()) {
        Ok(cable) => cable,
        Err(error) => return source_error(&error),
    };
    let sweep = match load::load(&arguments.sweep, &arguments.read()) {
        Ok(loaded) => loaded.measurement.network,
        Err(error) => {
            output::message(&diagnostics::load_error(&error));
            return exit::NOTHING_READ;
        }
    };
    let removed = match line_files::removed(&cable, &sweep, arguments.asked()) {
        Ok(removed) => removed,
        Err(error) => return line_file_error(error),
    };
    if let Some(path) = &arguments.write {
        let code = match line_files::far_end_file(&removed) {
            Ok(text) => write(path, &text),
            Err(error) => return line_file_error(error),
        };
        if code != exit::ANSWERED {
            return code;
        }
    }
    let code = if removed.left_out == 0 {
        exit::ANSWERED
    } else {
        exit::ANSWERED_IN_PART
    };
    if arguments.json {
        output::json(&RemovalAnswer::of(removed), code)
    } else {
        output::result(&text::line_files::text(&removed), code)
    }
}

fn write(path: &Path, text: &str) -> u8 {
    match std::fs::write(path, text) {
        Ok(()) => exit::ANSWERED,
        Err(error) => {
            let path = path.display();
            output::message(&format!("error: cannot write `{path}`: {error}"));
            exit::OUTPUT
        }
    }
}

fn line_file_error(error: LineFileError) -> u8 {
    match error {
        LineFileError::Cable(error) => source_error(&error.into()),
        error => {
            output::error(&error, None);
            exit::USAGE
        }
    }
}

/// Why there is no cable, and the exit code of it.
fn source_error(error: &SourceError) -> u8 {
    if let SourceError::Sweeps(outcome) = error {
        for unread in &outcome.unread {
            output::message(&diagnostics::load_error(unread));
        }
    }
    output::error(error, error.help().as_deref());
    match error {
        SourceError::Read { .. }
        | SourceError::Sweeps(_)
        | SourceError::Json { .. }
        | SourceError::Shelf(_) => exit::NOTHING_READ,
        SourceError::NoFinding(_) | SourceError::Cable(_) | SourceError::Gather(_) => {
            exit::UNDETERMINED
        }
        _ => exit::USAGE,
    }
}
