//! Every question in a folder of its own: what it is asked with, what it answers, how it is asked and
//! shown. The command line, the pages and the API know questions by [`ALL`] and none by its name.

pub mod ask;
pub mod assay;
pub mod cable;
pub mod compare;
pub mod correct;
mod cut;
mod fitness;
pub mod label;
pub mod line_files;
pub mod numbered;
mod plan;
mod readings;
pub mod report;
pub mod shelf;
pub mod sort;
mod types;
pub mod unanswered;

use ask::Question;

use crate::server::frame::Link;

/// All questions, in the order of the help.
pub const ALL: [Question; 14] = [
    assay::QUESTION,
    compare::QUESTION,
    readings::QUESTION,
    correct::QUESTION,
    plan::QUESTION,
    shelf::QUESTION,
    report::QUESTION,
    label::QUESTION,
    sort::QUESTION,
    fitness::QUESTION,
    cut::QUESTION,
    line_files::NETWORK,
    line_files::REMOVE_LINE,
    types::QUESTION,
];

/// The pages of the navigation, in its order.
pub fn pages() -> Vec<Link> {
    let mut pages: Vec<_> = ALL.iter().filter_map(|q| q.page).collect();
    pages.sort_unstable_by_key(|page| page.0);
    pages.into_iter().map(|page| page.1).collect()
}
