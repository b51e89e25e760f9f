//! Questions that still have their parts in the folders of the surfaces.

use clap::{ArgMatches, Args};
use utoipa_axum::router::OpenApiRouter;

use super::ask::Question;
use crate::cli::assay::{self, AssayArgs};
use crate::cli::compare::{self, CompareArgs};
use crate::cli::correct::{self, CorrectArgs};
use crate::cli::cut::{self, CutArgs};
use crate::cli::fitness::{self, UseArgs};
use crate::cli::label::{self, LabelArgs};
use crate::cli::line_files::{self, NetworkArgs, RemovalArgs};
use crate::cli::report::{self, ReportArgs};
use crate::cli::shelf::{self, ShelfArgs};
use crate::cli::sort::{self, SortArgs};
use crate::cli::types::{self, TypesArgs};
use crate::{output, verbs};

pub(super) const ASSAY: Question = Question {
    page: Some((1, ("/", "Assay"))),
    ..verb::<AssayArgs>(
        "assay",
        "From all sweeps of one cable: impedance, delay, loss, and whether the jacket is right",
        assay::EXAMPLES,
        |matches| done(matches, verbs::assay),
    )
};
pub(super) const COMPARE: Question = verb::<CompareArgs>(
    "compare",
    "What changed between two sets of sweeps of one cable, and where",
    compare::EXAMPLES,
    |matches| done(matches, verbs::compare),
);
pub(super) const CORRECT: Question = verb::<CorrectArgs>(
    "correct",
    "From raw sweeps, or a calibration that took its standards as ideal, to corrected sweeps",
    correct::EXAMPLES,
    |matches| done(matches, verbs::correct),
);
pub(super) const SHELF: Question = Question {
    page: Some((2, ("/shelf", "Shelf"))),
    ..verb::<ShelfArgs>(
        "shelf",
        "The record of cables: list, show, edit, export",
        shelf::EXAMPLES,
        |matches| done(matches, verbs::shelf),
    )
};
pub(super) const REPORT: Question = verb::<ReportArgs>(
    "report",
    "A page about one cable or many that prints well",
    report::EXAMPLES,
    |matches| done(matches, verbs::report),
);
pub(super) const LABEL: Question = verb::<LabelArgs>(
    "label",
    "Labels to stick onto cables, with a code for a phone's camera",
    label::EXAMPLES,
    |matches| done(matches, verbs::label),
);
pub(super) const SORT: Question = Question {
    page: Some((3, ("/sort", "Sort"))),
    ..verb::<SortArgs>(
        "sort",
        "A whole box: one line for each cable, worst first",
        sort::EXAMPLES,
        |matches| done(matches, verbs::sort),
    )
};
pub(super) const USE: Question = Question {
    page: Some((6, ("/use", "Use"))),
    ..verb::<UseArgs>(
        "use",
        "What a cable does for a use: loss, SWR, voltage, heat",
        fitness::EXAMPLES,
        |matches| done(matches, verbs::fitness),
    )
};
pub(super) const CUT: Question = Question {
    page: Some((7, ("/cut", "Cut"))),
    ..verb::<CutArgs>(
        "cut",
        "Where to cut: transformers, stubs, phasing and delay lines, a fault out",
        cut::EXAMPLES,
        |matches| done(matches, verbs::cut),
    )
};
pub(super) const NETWORK: Question = verb::<NetworkArgs>(
    "network",
    "A cable as a computed two-port Touchstone file of any length",
    line_files::NETWORK_EXAMPLES,
    |matches| done(matches, verbs::network),
);
pub(super) const REMOVE_LINE: Question = verb::<RemovalArgs>(
    "remove-line",
    "What stands behind a known line, from a sweep at its near end",
    line_files::REMOVAL_EXAMPLES,
    |matches| done(matches, verbs::remove_line),
);
pub(super) const TYPES: Question = Question {
    page: Some((8, ("/types", "Types"))),
    ..verb::<TypesArgs>(
        "types",
        "The catalogue: all types, one of them, or which one something may be",
        types::EXAMPLES,
        |matches| done(matches, verbs::types),
    )
};

const fn verb<A: Args>(
    name: &'static str,
    about: &'static str,
    examples: &'static str,
    print: fn(&ArgMatches) -> u8,
) -> Question {
    Question {
        name,
        about,
        examples,
        arguments: A::augment_args,
        print,
        page: None,
        routes: OpenApiRouter::new,
    }
}

fn done<A: Args>(matches: &ArgMatches, verb: impl FnOnce(&A) -> u8) -> u8 {
    match A::from_arg_matches(matches) {
        Ok(arguments) => verb(&arguments),
        Err(error) => output::usage(&error),
    }
}
