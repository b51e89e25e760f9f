//! Two cables of the shelf, or two assays of one.

use axum::Json;
use axum::extract::{Query, State};
use axum::routing::get;
use lineproof_core::comparison::Comparison;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::page::{Side, compared, page};
use crate::finding::SCHEMA;
use crate::server::form::Typed;
use crate::server::refusal::{Refusal, Refused};
use crate::server::shared::Shared;
use lineproof_core::finding::judge::history::Change;

/// The page and the route.
pub(super) fn routes() -> OpenApiRouter<Shared> {
    OpenApiRouter::new()
        .route("/compare", get(page))
        .routes(routes!(compare))
}

/// Which two.
#[derive(Deserialize, IntoParams)]
pub(super) struct Named {
    /// Tag of the first cable.
    one: String,
    /// Tag of the second cable.
    two: String,
    /// Id of an assay of the first cable; its newest if absent.
    assay: Option<String>,
}

/// What two cables of the shelf, or two assays of one, differ in.
#[derive(Serialize, ToSchema)]
pub(super) struct CompareAnswer {
    /// Number of this layout.
    schema: u32,
    /// The first.
    one: Compared,
    /// The second.
    two: Compared,
    /// What differs beyond the intervals, from the first to the second.
    differences: Vec<Change>,
    /// Of one cable: the comparison by its sweeps, as `compare --json` prints it; null for two cables.
    #[schema(required)]
    sweeps: Option<Comparison>,
}

/// One of the two.
#[derive(Serialize, ToSchema)]
struct Compared {
    /// Tag of the cable.
    tag: String,
    /// When it was swept, RFC 3339 in UTC.
    at: String,
}

/// What differs beyond the intervals; of one cable also what its sweeps say.
#[utoipa::path(get, path = "/api/compare", tag = "shelf", params(Named),
    responses((status = 200, body = CompareAnswer), (status = 404, body = Refused)))]
pub(super) async fn compare(
    State(shared): State<Shared>,
    Query(named): Query<Named>,
) -> Result<Json<CompareAnswer>, Refusal> {
    let typed = Typed::default()
        .with("one", &named.one)
        .with("two", &named.two)
        .with("assay", &named.assay.unwrap_or_default());
    let pair = compared(&shared, &typed).await?;
    Ok(Json(CompareAnswer {
        schema: SCHEMA,
        one: pair.one.into(),
        two: pair.two.into(),
        differences: pair.differences,
        sweeps: pair.sweeps,
    }))
}

impl From<Side> for Compared {
    fn from(side: Side) -> Self {
        Self {
            tag: side.tag,
            at: side.at,
        }
    }
}
