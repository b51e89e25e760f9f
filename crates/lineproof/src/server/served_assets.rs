//! The files of the page as they are served.

use axum::Router;
use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use axum::routing::get;

use super::assets;
use super::refusal::Refusal;
use super::shared::Shared;

/// Serves the files. A path with an old digest gives what there is now, and is not cached.
pub fn router() -> Router<Shared> {
    Router::new().route("/assets/{digest}/{name}", get(file))
}

async fn file(Path((digest, name)): Path<(String, String)>) -> Response {
    let Some((known, kind, bytes)) = assets::file(&name) else {
        return Refusal::missing("this file does not exist").into_response();
    };
    let keep = if known == digest {
        "public, max-age=31536000, immutable"
    } else {
        "no-store"
    };
    if let Some(bytes) = overridden(&name) {
        return ([(CONTENT_TYPE, kind), (CACHE_CONTROL, "no-store")], bytes).into_response();
    }
    ([(CONTENT_TYPE, kind), (CACHE_CONTROL, keep)], bytes).into_response()
}

/// The file as it lies in the folder `LINEPROOF_ASSETS`, for those who work on the pages. Only names
/// that are built in come this far.
fn overridden(name: &str) -> Option<Vec<u8>> {
    let folder = std::env::var_os("LINEPROOF_ASSETS")?;
    std::fs::read(std::path::Path::new(&folder).join(name)).ok()
}
