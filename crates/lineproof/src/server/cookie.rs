//! Cookies of a request.

use axum::http::HeaderMap;
use axum::http::header::COOKIE;

/// A cookie of the request.
pub fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    let lines = headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok());
    lines
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(n, _)| *n == name)
        .map(|(_, value)| value.to_owned())
}
