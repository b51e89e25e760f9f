//! Pages of no question: they are not in the navigation.

pub mod enter;
mod units;

use axum::Router;
use axum::http::Uri;
use axum::response::{IntoResponse, Response};

use super::refusal::Refusal;
use super::shared::Shared;

/// Pages of no question.
pub fn router() -> Router<Shared> {
    Router::new().merge(enter::router()).merge(units::router())
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
