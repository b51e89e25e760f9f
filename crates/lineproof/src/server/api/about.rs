//! What this server is.

use axum::Json;
use axum::extract::State;
use serde::Serialize;
use utoipa::ToSchema;

use crate::finding::SCHEMA;
use crate::server::assets;
use crate::server::shared::LARGEST_BODY_BYTES;
use crate::server::shared::Shared;

/// What this server is.
#[derive(Serialize, ToSchema)]
pub(super) struct About {
    /// Version of the program.
    version: &'static str,
    /// Number of the finding's layout.
    schema: u32,
    /// Whether interactive charts are built in.
    charts: bool,
    /// Whether there is a place for a shelf.
    shelf: bool,
    /// Most bytes of a request's body.
    largest_body_bytes: usize,
}

/// What this server is and can do.
#[utoipa::path(get, path = "/api/about", tag = "server", responses((status = 200, body = About)))]
pub(super) async fn about(State(shared): State<Shared>) -> Json<About> {
    Json(About {
        version: env!("CARGO_PKG_VERSION"),
        schema: SCHEMA,
        charts: assets::has_charts(),
        shelf: shared.shelf().is_some(),
        largest_body_bytes: LARGEST_BODY_BYTES,
    })
}
