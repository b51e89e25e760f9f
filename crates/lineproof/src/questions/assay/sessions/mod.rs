//! Assays that are open while a person works on them: sweeps, what was said besides, and the
//! finding, under an id that nobody guesses. A page that is loaded again finds its assay here; the
//! oldest go when there are too many. What is to last goes onto the shelf.

pub mod answer;
pub mod charts;
pub mod demo;
pub mod facts;
pub mod file;
pub mod files;
pub mod run;
pub mod session;

pub use facts::Facts;
pub use run::{Done, Stage};
pub use session::{Session, Sessions};
