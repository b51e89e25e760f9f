//! Two cables of the shelf, or two assays of one.

use axum::Json;
use axum::extract::{Query, State};
use serde::Deserialize;
use serde_json::{Value, json};
use utoipa::IntoParams;

use crate::server::form::Typed;
use crate::server::pages::compare::{Side, compared};
use crate::server::refusal::{Refusal, Refused};
use crate::server::shared::Shared;

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

/// What differs beyond the intervals; of one cable also what its sweeps say.
#[utoipa::path(get, path = "/api/compare", params(Named),
    responses((status = 200, body = Value), (status = 404, body = Refused)))]
pub(super) async fn compare(
    State(shared): State<Shared>,
    Query(named): Query<Named>,
) -> Result<Json<Value>, Refusal> {
    let typed = Typed::default()
        .with("one", &named.one)
        .with("two", &named.two)
        .with("assay", &named.assay.unwrap_or_default());
    let pair = compared(&shared, &typed).await?;
    let side = |side: &Side| json!({"tag": side.tag, "at": side.at});
    Ok(Json(json!({
        "schema": 1,
        "one": side(&pair.one),
        "two": side(&pair.two),
        "differences": pair.differences,
        "sweeps": pair.sweeps,
    })))
}
