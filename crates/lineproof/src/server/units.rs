//! Which units the person likes, kept in a cookie.

use std::convert::Infallible;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;

use super::cookie::cookie;
pub use crate::report::units::Units;

/// Name of the cookie.
pub const COOKIE: &str = "lineproof-units";

impl<S: Send + Sync> FromRequestParts<S> for Units {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _state: &S) -> Result<Self, Infallible> {
        Ok(match cookie(&parts.headers, COOKIE).as_deref() {
            Some("feet") => Self::Feet,
            _ => Self::Metres,
        })
    }
}
