//! The JSON API, which the pages use too. Each route is a handler with its description; the document
//! at `/api/openapi.json` is made from them, so it can't fall behind.

mod about;

use axum::routing::get;
use axum::{Json, Router};
use utoipa::OpenApi;
use utoipa::openapi::OpenApi as Document;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::shared::Shared;
use crate::questions;

/// Path of the description.
pub const DOCUMENT: &str = "/api/openapi.json";

#[derive(OpenApi)]
#[openapi(info(
    title = "Lineproof",
    description = "What a coaxial cable is, from the sweeps of a vector network analyser. SI units, except where a key says otherwise; `u95` is the half-width of a 95 % interval. A quantity that the sweeps do not determine is absent, and a warning says why. Requests that change something are refused from other sites; a server that others can reach needs `Authorization: Bearer TOKEN`.",
    license(name = "MIT OR Apache-2.0")
), tags(
    (name = "assays", description = "Sweeps of one cable: send them, state what is known, follow the progress, read the finding, store it"),
    (name = "shelf", description = "Cables of the shelf: find, show, change, compare, label"),
    (name = "sort", description = "A whole box of cables"),
    (name = "questions", description = "The questions `plan`, `readings`, `use` and `cut`, with the same fields as the commands; answers as `--json` prints them"),
    (name = "types", description = "Types of the catalogue, and which one a cable may be; answers as `types --json` prints them"),
    (name = "server", description = "The server itself")
))]
struct Described;

/// All routes with their description: those of the questions, and the rest.
pub fn router() -> OpenApiRouter<Shared> {
    let routes = OpenApiRouter::with_openapi(Described::openapi());
    let routes = questions::ALL
        .iter()
        .fold(routes, |routes, question| routes.merge((question.routes)()));
    routes.routes(routes!(about::about))
}

/// Serves the description.
pub fn document(document: Document) -> Router<Shared> {
    Router::new().route(DOCUMENT, get(async move || Json(document.clone())))
}
