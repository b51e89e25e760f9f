//! The bench in the browser: `lineproof serve`.
//!
//! [`router`] is built from a state value, so tests call it without a socket. [`pages`] render HTML,
//! [`api`] answers JSON and documents itself; [`live`] makes page and route of a question that a form
//! asks. [`access`] and [`guard`] say who may connect, [`work`] how much is computed at once, [`frame`]
//! how every page looks, [`units`] in which units lengths are shown, [`refusal`] turns errors into
//! status, JSON and page, [`form`] makes forms of the command line's arguments, [`record`] opens the
//! shelf, [`link`] writes paths, [`shared`] is the state.

pub mod access;
pub mod api;
pub mod assets;
pub mod cookie;
pub mod form;
pub mod frame;
pub mod guard;
pub mod link;
pub mod listen;
pub mod live;
pub mod pages;
pub mod parts;
pub mod record;
pub mod refusal;
pub mod served_assets;
pub mod shared;
pub mod units;
pub mod which_cable;
pub mod work;

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::StatusCode;
use axum::middleware;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::timeout::TimeoutLayer;

use crate::questions;
pub use shared::{LARGEST_BODY_BYTES, Settings, Shared};

/// Longest time until an answer begins.
pub const LONGEST_ANSWER: Duration = Duration::from_mins(2);

/// Everything that is served. Layers stand inside out: the `Host` check comes first of all.
pub fn router(shared: Shared) -> Router {
    let open = shared.access().serves_others();
    let (api, document) = api::router().split_for_parts();
    let mut router = Router::new()
        .merge(pages::router())
        .merge(api)
        .merge(api::document(document))
        .merge(served_assets::router())
        .fallback(pages::not_found)
        .layer(DefaultBodyLimit::max(LARGEST_BODY_BYTES))
        .layer(TimeoutLayer::with_status_code(
            StatusCode::REQUEST_TIMEOUT,
            LONGEST_ANSWER,
        ))
        .layer(middleware::from_fn_with_state(shared.clone(), guard::token))
        .layer(CsrfLayer::new().with_rejection_response(refusal::foreign_origin))
        .layer(CatchPanicLayer::custom(refusal::panicked))
        .layer(middleware::from_fn_with_state(
            Arc::from(questions::pages()),
            frame::around,
        ));
    if open {
        // On the loopback interface compressing takes longer than sending.
        router = router.layer(CompressionLayer::new());
    }
    router
        .layer(middleware::map_response(guard::policies))
        .layer(middleware::from_fn_with_state(shared.clone(), guard::host))
        .with_state(shared)
}
