//! The assay page: sweeps in, finding out.

use axum::Router;
use axum::routing::get;
use maud::{Markup, html};

use crate::server::frame::Frame;
use crate::server::shared::Shared;
use crate::server::units::Units;

pub(super) fn router() -> Router<Shared> {
    Router::new().route("/", get(first))
}

async fn first(units: Units) -> Markup {
    let main = html! { h1 { "Assay a cable" } };
    Frame::new("Assay", "/", units).show(&main)
}
