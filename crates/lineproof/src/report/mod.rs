//! Results for people: plain text, readable at 80 columns; and for programs, in [`answer`].

pub mod answer;
pub mod compare;
pub mod content;
pub mod correct;
pub mod cut;
#[cfg(test)]
mod every_key;
pub mod fault_cut;
pub mod finding;
pub mod fitness;
pub mod html;
pub mod label;
pub mod line_files;
pub mod methods;
pub mod number;
pub mod numbers_csv;
pub mod page;
pub mod pdf;
pub mod picture;
pub mod shelf;
pub mod sort;
pub mod subject;
pub mod summary;
pub mod types;
pub mod units;
