//! Results for people: plain text, readable at 80 columns.

pub mod finding;
pub mod html;
pub mod methods;
pub mod number;
pub mod page;
pub mod picture;
pub mod plan;
pub mod readings;
pub mod shelf;
pub mod sort;
