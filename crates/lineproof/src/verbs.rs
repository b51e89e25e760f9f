//! Each verb from its arguments to output and exit code.

use lineproof_core::method::readings;
use lineproof_core::plan;

use crate::cli::assay::AssayArgs;
use crate::cli::compare::CompareArgs;
use crate::cli::correct::CorrectArgs;
use crate::cli::plan::PlanArgs;
use crate::cli::readings::ReadingsArgs;
use crate::finding::Condition;
use crate::workflow::assay::{self, Outcome};
use crate::workflow::compare;
use crate::workflow::correct::{self, CorrectError};
use crate::workflow::gather::GatherError;
use crate::workflow::views;
use crate::{diagnostics, exit, output, report};

/// `lineproof assay`.
pub(crate) fn assay(arguments: &AssayArgs) -> u8 {
    let outcome = assay::assay(&arguments.request());
    for error in &outcome.unread {
        output::message(&diagnostics::load_error(error));
    }
    for error in &outcome.refused {
        output::error(error, error.help().as_deref());
    }
    let mut code = code(&outcome);
    if let Some(path) = arguments.along.as_ref().filter(|_| outcome.finding.is_ok()) {
        code = output::file(path, &views::csv(&outcome.views), code);
    }
    match outcome.finding {
        Ok(finding) if arguments.json => output::json(&finding, code),
        Ok(finding) => output::result(&report::finding::text(&finding), code),
        Err(GatherError::NothingLeft) if !outcome.unread.is_empty() => code,
        Err(error) => {
            output::error(&error, error.help().as_deref());
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
        output::error(error, error.help().as_deref());
    }
    let comparison = match outcome.comparison {
        Ok(comparison) => comparison,
        Err(error) => {
            output::error(&error, error.help().as_deref());
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
        output::result(&report::compare::text(&comparison), code)
    }
}

/// `lineproof readings`.
pub(crate) fn readings(arguments: &ReadingsArgs) -> u8 {
    let readings = match arguments.readings() {
        Ok(readings) => readings,
        Err(error) => {
            output::error(&error, error.help().as_deref());
            return exit::USAGE;
        }
    };
    let answer = readings::answer(&readings);
    if answer.reports.is_empty() && answer.unserved.is_empty() {
        output::message("error: no reading that a method could use");
        output::message("help: `lineproof readings --help` lists them with examples");
        return exit::USAGE;
    }
    let code = match (answer.reports.is_empty(), answer.unserved.is_empty()) {
        (true, _) => exit::UNDETERMINED,
        (false, false) => exit::ANSWERED_IN_PART,
        (false, true) => exit::ANSWERED,
    };
    if arguments.json {
        output::json(&report::readings::json(&answer), code)
    } else {
        output::result(&report::readings::text(&answer), code)
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
                output::json(&report::correct::json(&correction), code)
            } else {
                output::result(&report::correct::text(&correction), code)
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

/// `lineproof plan`.
pub(crate) fn plan(arguments: &PlanArgs) -> u8 {
    match plan::plan(&arguments.request()) {
        Ok(plan) if arguments.json => output::json(&report::plan::json(&plan), exit::ANSWERED),
        Ok(plan) => output::result(&report::plan::text(&plan), exit::ANSWERED),
        Err(error) => {
            output::error(&error, None);
            exit::USAGE
        }
    }
}
