//! Why the tables of the catalogue can't be read.

use thiserror::Error;

/// Why the data can't be read.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CatalogueError {
    /// A table that is no table.
    #[error("{table}: {source}")]
    Table {
        /// Name of the file.
        table: &'static str,
        /// What the reader says.
        source: csv::Error,
    },
    /// A row that contradicts itself.
    #[error("{table}: {designation}: {what}")]
    Row {
        /// Name of the file.
        table: &'static str,
        /// Type the row is about.
        designation: String,
        /// What is wrong.
        what: String,
    },
}
