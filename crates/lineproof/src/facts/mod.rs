//! What a person can say besides the sweeps: one table, a row for each fact.
//!
//! A row has the fact's name, how its text is read, and its words: label, hint, help, group. Command-line
//! options, the page's form, the API's schema and the stored set-up are all made from it, so a new fact is one
//! row in [`table`] and the place in the request that it fills (`request.rs`, or the arguments of the one question
//! that asks it). What a file can be has rows in [`ends`].
//!
//! Texts are kept as they were typed ([`Said`]), so that a form comes back as it was left and a set-up can be
//! read by a later program.

pub mod ends;
mod fact;
mod older;
mod read;
mod request;
mod said;
mod setup;
mod stored;
mod surface;
pub mod table;
pub mod values;
mod word;

pub use ends::Ended;
pub use fact::{About, Choice, Fact, Group, Question, Reader, Row, Shape, Spelling};
pub use request::{marking, observed, read_options, request};
pub use said::{Refused, Said, Typed};
pub use setup::{NotUnderstood, Setup};
pub use surface::{Help, Surface};
pub use word::Word;
