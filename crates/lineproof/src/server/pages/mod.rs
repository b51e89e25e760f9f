//! Pages: each a module with its routes, gathered here. `enter` and `units` are not in the navigation.

mod assay;
mod cable;
pub mod compare;
pub mod cut;
pub mod enter;
pub mod fitness;
pub mod labels;
pub mod shelf;
pub mod sort;
pub mod source;
pub mod types;
mod units;

use axum::Router;
use axum::http::Uri;
use axum::response::{IntoResponse, Response};

#[cfg(test)]
pub(crate) use assay::page_of_finding;

use super::refusal::Refusal;
use super::shared::Shared;

/// Pages that no question has yet.
pub fn router() -> Router<Shared> {
    Router::new()
        .merge(assay::router())
        .merge(cable::router())
        .merge(compare::router())
        .merge(cut::router())
        .merge(enter::router())
        .merge(fitness::router())
        .merge(labels::router())
        .merge(shelf::router())
        .merge(sort::router())
        .merge(types::router())
        .merge(units::router())
}

/// The answer for an unknown path.
pub async fn not_found(uri: Uri) -> Response {
    let refusal = Refusal::missing("this page does not exist");
    if uri.path().starts_with("/api/") {
        refusal.into_response()
    } else {
        refusal.page().into_response()
    }
}
