//! Labels for cables of the shelf.

use axum::Json;
use axum::extract::{Query, RawQuery, State};
use axum::routing::get;
use serde::Serialize;
use utoipa::openapi::path::{Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::schema::{ArrayBuilder, ObjectBuilder, Type};
use utoipa::{IntoParams, ToSchema};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::arguments::DrawnArgs;
use super::page;
use crate::server::form::{Fields, Typed};
use crate::server::refusal::{Refusal, Refused};
use crate::server::shared::Shared;
use crate::server::units::Units;

/// The pages and the route.
pub(super) fn routes() -> OpenApiRouter<Shared> {
    OpenApiRouter::new()
        .route("/labels", get(page::page))
        .route("/labels/print", get(page::to_print))
        .route("/labels/labels.pdf", get(page::as_pdf))
        .routes(routes!(labels))
}

/// Which cables, and how their labels look.
pub(super) struct LabelParameters;

impl IntoParams for LabelParameters {
    fn into_params(_in: impl Fn() -> Option<ParameterIn>) -> Vec<Parameter> {
        let text = || ObjectBuilder::new().schema_type(Type::String);
        let cables = ParameterBuilder::new()
            .name(page::CABLE)
            .parameter_in(ParameterIn::Query)
            .description(Some("Tags of the cables, each as a parameter of its own"))
            .schema(Some(ArrayBuilder::new().items(text())))
            .build();
        let all = ParameterBuilder::new()
            .name(page::ALL)
            .parameter_in(ParameterIn::Query)
            .description(Some("All cables in use"))
            .schema(Some(text()))
            .build();
        let mut parameters = vec![cables, all];
        parameters.extend(Fields::of::<DrawnArgs>(&page::FIELDS, None).parameters());
        parameters
    }
}

/// Labels that are drawn.
#[derive(Serialize, ToSchema)]
pub(super) struct Labels {
    /// Sheets of paper, each an SVG document in its size.
    sheets: Vec<String>,
    /// Tags of cables that were never assayed.
    without: Vec<String>,
}

/// Labels of cables on the shelf, on sheets.
#[utoipa::path(get, path = "/api/labels", tag = "shelf", params(LabelParameters),
    responses((status = 200, body = Labels), (status = 404, body = Refused), (status = 422, body = Refused)))]
pub(super) async fn labels(
    State(shared): State<Shared>,
    RawQuery(raw): RawQuery,
    Query(typed): Query<Typed>,
) -> Result<Json<Labels>, Refusal> {
    let drawn = page::drawn(&shared, page::cables(raw.as_deref()), &typed, Units::Metres).await?;
    Ok(Json(Labels {
        sheets: drawn.sheets,
        without: drawn.without,
    }))
}
