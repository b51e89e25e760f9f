//! A finding for people: text, page, PDF, table; and what all texts are made with.

pub mod brief_text;
pub mod content;
pub mod finding;
pub mod html;
pub mod methods;
pub mod number;
pub mod numbers_csv;
pub mod page;
pub mod pdf;
pub mod picture;
pub mod subject;
pub mod types;
