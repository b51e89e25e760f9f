//! The shelf: its cables, one of them, and what changes about it.

use axum::Json;
use axum::extract::{Path, Query, State};
use axum::routing::{get, post};
use lineproof_record::Shelf;
use utoipa::IntoParams;
use utoipa::openapi::path::{Parameter, ParameterIn};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::answer::{CableAnswer, ShelfAnswer};
use super::arguments::ListArgs;
use super::change::{Change, Changed, Said, apply};
use super::text::Shown;
use super::{cable, page};
use crate::server::form::{Fields, Typed};
use crate::server::record;
use crate::server::refusal::{Refusal, Refused};
use crate::server::shared::Shared;

/// The pages and the routes.
pub(super) fn routes() -> OpenApiRouter<Shared> {
    OpenApiRouter::new()
        .route("/shelf", get(page::page))
        .route("/shelf/{tag}", get(cable::page))
        .route("/shelf/{tag}/report", get(cable::report))
        .route("/shelf/{tag}/{change}", post(cable::change))
        .routes(routes!(list))
        .routes(routes!(show))
        .routes(routes!(change))
}

/// Fields of the search.
pub(super) struct ListParameters;

impl IntoParams for ListParameters {
    fn into_params(_in: impl Fn() -> Option<ParameterIn>) -> Vec<Parameter> {
        Fields::of::<ListArgs>(&page::FIELDS, None).parameters()
    }
}

/// Cables on the shelf with the newest finding of each.
#[utoipa::path(get, path = "/api/shelf", tag = "shelf", params(ListParameters),
    responses((status = 200, body = ShelfAnswer), (status = 422, body = Refused)))]
pub(super) async fn list(
    State(shared): State<Shared>,
    Query(typed): Query<Typed>,
) -> Result<Json<ShelfAnswer>, Refusal> {
    let fields = Fields::of::<ListArgs>(&page::FIELDS, None);
    let cables = page::list(&shared, &fields, &typed).await?;
    Ok(Json(ShelfAnswer::of(cables)))
}

/// Show one cable: findings, changes, decisions, notes.
#[utoipa::path(get, path = "/api/shelf/{tag}", tag = "shelf", params(("tag" = String, Path, description = "Tag of the cable")),
    responses((status = 200, body = CableAnswer), (status = 404, body = Refused)))]
pub(super) async fn show(
    State(shared): State<Shared>,
    Path(tag): Path<String>,
) -> Result<Json<CableAnswer>, Refusal> {
    let look = move |shelf: &Shelf| Ok(CableAnswer::of(Shown::of(shelf, &tag)?));
    Ok(Json(record::look(&shared, look).await?))
}

/// Changes what is kept of a cable.
#[utoipa::path(post, path = "/api/shelf/{tag}/{change}", tag = "shelf", request_body = Said,
    params(("tag" = String, Path, description = "Tag of the cable"), ("change" = inline(Change), Path, description = "What changes")),
    responses((status = 200, body = Changed), (status = 404, body = Refused),
        (status = 409, description = "The new tag belongs to another cable", body = Refused), (status = 422, body = Refused)))]
pub(super) async fn change(
    State(shared): State<Shared>,
    Path((tag, change)): Path<(String, Change)>,
    Json(said): Json<Said>,
) -> Result<Json<Changed>, Refusal> {
    Ok(Json(apply(&shared, &tag, change, &said).await?))
}
