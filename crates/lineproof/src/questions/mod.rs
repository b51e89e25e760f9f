//! Every question in a folder of its own: what it is asked with, what it answers, how it is asked and
//! shown. The command line, the pages and the API know questions by [`ALL`] and none by its name.

pub mod ask;
mod earlier;
pub mod numbered;
mod plan;
mod readings;

use ask::Question;

use crate::server::frame::Link;

/// All questions, in the order of the help.
pub const ALL: [Question; 14] = [
    earlier::ASSAY,
    earlier::COMPARE,
    readings::QUESTION,
    earlier::CORRECT,
    plan::QUESTION,
    earlier::SHELF,
    earlier::REPORT,
    earlier::LABEL,
    earlier::SORT,
    earlier::USE,
    earlier::CUT,
    earlier::NETWORK,
    earlier::REMOVE_LINE,
    earlier::TYPES,
];

/// The pages of the navigation, in its order.
pub fn pages() -> Vec<Link> {
    let mut pages: Vec<_> = ALL.iter().filter_map(|q| q.page).collect();
    pages.sort_unstable_by_key(|page| page.0);
    pages.into_iter().map(|page| page.1).collect()
}
