//! Pages: each a module with its routes, gathered here. `enter` and `units` are not in the navigation.

mod assay;
pub mod enter;
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
        .merge(enter::router())
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
