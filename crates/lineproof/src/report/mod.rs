//! Results for people: plain text, readable at 80 columns; and for programs, in [`answer`].

pub mod content;
#[cfg(test)]
mod every_key;
pub mod finding;
pub mod html;
pub mod methods;
pub mod number;
pub mod numbers_csv;
pub mod page;
pub mod pdf;
pub mod picture;
pub mod subject;
pub mod summary;
pub mod types;
pub mod units;
