//! Which units the person likes, kept in a cookie.

use axum::http::HeaderMap;

use super::cookie::cookie;
pub use lineproof_core::quantity::Units;

/// Name of the cookie.
pub const COOKIE: &str = "lineproof-units";

/// The units that the cookie of a request says.
pub fn liked(headers: &HeaderMap) -> Units {
    match cookie(headers, COOKIE).as_deref() {
        Some("feet") => Units::Feet,
        _ => Units::Metres,
    }
}
