//! Each verb from its arguments to output and exit code.

mod report;
mod shelf;
mod sort;

pub(crate) use report::report;
pub(crate) use shelf::shelf;
pub(crate) use sort::sort;

use lineproof_core::method::readings;
use lineproof_core::plan;

use crate::cli::assay::AssayArgs;
use crate::cli::plan::PlanArgs;
use crate::cli::readings::ReadingsArgs;
use crate::report as text;
use crate::workflow::assay::{self, Outcome};
use crate::workflow::gather::GatherError;
use crate::{diagnostics, exit, output};

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
    if let Ok(finding) = &outcome.finding {
        code = shelf::keep(arguments, &outcome, finding, code);
        code = report::files(arguments, &outcome, finding, code);
    }
    match outcome.finding {
        Ok(finding) if arguments.json => output::json(&finding, code),
        Ok(finding) => output::result(&text::finding::text(&finding), code),
        Err(GatherError::NothingLeft) if !outcome.unread.is_empty() => code,
        Err(error) => {
            output::error(&error, error.help().as_deref());
            code
        }
    }
}

fn code(outcome: &Outcome) -> u8 {
    match &outcome.finding {
        Err(GatherError::Knowledge(_)) => exit::USAGE,
        Err(_) => exit::NOTHING_READ,
        Ok(finding) if finding.impedance.is_none() && finding.delay.is_none() => exit::UNDETERMINED,
        Ok(_) if outcome.unread.is_empty() && outcome.refused.is_empty() => exit::ANSWERED,
        Ok(_) => exit::ANSWERED_IN_PART,
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
        output::json(&text::readings::json(&answer), code)
    } else {
        output::result(&text::readings::text(&answer), code)
    }
}

/// `lineproof plan`.
pub(crate) fn plan(arguments: &PlanArgs) -> u8 {
    match plan::plan(&arguments.request()) {
        Ok(plan) if arguments.json => output::json(&text::plan::json(&plan), exit::ANSWERED),
        Ok(plan) => output::result(&text::plan::text(&plan), exit::ANSWERED),
        Err(error) => {
            output::error(&error, None);
            exit::USAGE
        }
    }
}
