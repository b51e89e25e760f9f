//! `lineproof assay`: the finding, and what is kept and written of it.

use super::arguments::AssayArgs;
use crate::facts::{Setup, Surface};
use crate::finding::Condition;
use crate::questions::report::verb as report;
use crate::questions::shelf::verb as shelf;
use crate::report as text;
use crate::workflow::assay::{self, Outcome};
use crate::workflow::worded::AssayError;
use crate::{diagnostics, exit, output};
use lineproof_core::finding::judge::along;
use lineproof_core::gather::GatherError;
use lineproof_core::quantity::Units;

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
            code = output::file(path, &along::csv(&outcome.views), code);
        }
    }
    match outcome.finding {
        Ok(finding) if arguments.json => output::json(&finding, code),
        Ok(finding) if arguments.full => {
            output::result(&text::finding::text(&finding, Units::Metres), code)
        }
        Ok(finding) => output::result(&text::brief_text::text(&finding, Units::Metres), code),
        Err(AssayError::Gather(GatherError::NothingLeft)) if !outcome.unread.is_empty() => code,
        Err(error) => {
            output::error(&error, error.help(Surface::Terminal).as_deref());
            code
        }
    }
}

fn code(outcome: &Outcome) -> u8 {
    match &outcome.finding {
        Err(AssayError::Gather(GatherError::Knowledge(_)) | AssayError::Plane { .. }) => {
            exit::USAGE
        }
        Err(_) => exit::NOTHING_READ,
        Ok(finding) if finding.condition == Condition::Undetermined => exit::UNDETERMINED,
        Ok(_) if outcome.unread.is_empty() && outcome.refused.is_empty() => exit::ANSWERED,
        Ok(_) => exit::ANSWERED_IN_PART,
    }
}
