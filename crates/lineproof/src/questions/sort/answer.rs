//! A sorted box for programs.

use serde::Serialize;
use utoipa::ToSchema;

use super::rows::Row;
use crate::finding::SCHEMA;

/// The cables of a box.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Table {
    /// Number of this layout.
    schema: u32,
    /// The cables, worst first.
    cables: Vec<Row>,
}

impl Table {
    /// The table of these rows.
    pub fn of(rows: Vec<Row>) -> Self {
        Self {
            schema: SCHEMA,
            cables: rows,
        }
    }
}
