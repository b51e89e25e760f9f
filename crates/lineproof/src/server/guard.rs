//! What every request passes: the `Host` check, the token, and the security headers of the answer.

use axum::extract::{Request, State};
use axum::http::header::{AUTHORIZATION, CACHE_CONTROL, HOST};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, Uri};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::access::AccessControl;
use super::cookie::cookie;
use super::pages::enter;
use super::refusal::Refusal;
use super::shared::Shared;

/// Refuses names that the server does not go by.
pub async fn host(State(shared): State<Shared>, request: Request, next: Next) -> Response {
    if known(shared.access(), request.uri(), request.headers()) {
        return next.run(request).await;
    }
    let refusal = Refusal::new(
        StatusCode::MISDIRECTED_REQUEST,
        "this server does not go by that name",
    );
    refusal
        .help("use the address that `lineproof serve` printed, or name it with `--name`")
        .into_response()
}

fn known(access: &AccessControl, uri: &Uri, headers: &HeaderMap) -> bool {
    let mut hosts = headers.get_all(HOST).iter();
    let (Some(host), None) = (hosts.next(), hosts.next()) else {
        return false;
    };
    let written = uri.authority().map(axum::http::uri::Authority::as_str);
    host.to_str()
        .is_ok_and(|host| access.answers_to(host) && written.is_none_or(|a| access.answers_to(a)))
}

/// Asks for the token where one is needed.
pub async fn token(State(shared): State<Shared>, request: Request, next: Next) -> Response {
    let path = request.uri().path();
    let free = path == "/enter" || path.starts_with("/assets/");
    let access = shared.access();
    if free || access.admits(shown(access, request.headers()).as_deref()) {
        return next.run(request).await;
    }
    if path.starts_with("/api/") {
        let refusal = Refusal::new(StatusCode::UNAUTHORIZED, "this server asks for its token");
        return refusal
            .help("send it as `Authorization: Bearer TOKEN`")
            .into_response();
    }
    (StatusCode::UNAUTHORIZED, enter::form(None)).into_response()
}

/// The token that a request shows, in its `Authorization` or its cookie.
fn shown(access: &AccessControl, headers: &HeaderMap) -> Option<String> {
    let bearer = headers.get(AUTHORIZATION).and_then(|v| v.to_str().ok());
    let bearer = bearer.and_then(|v| v.strip_prefix("Bearer "));
    bearer
        .map(str::to_owned)
        .or_else(|| cookie(headers, &access.cookie()))
}

/// Charts set styles of their own, hence `unsafe-inline` there; no script stands in a page.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; \
    img-src 'self' data: blob:; connect-src 'self'; form-action 'self'; base-uri 'none'; \
    frame-ancestors 'none'";

/// Headers of every answer.
const POLICIES: [(&str, &str); 6] = [
    ("content-security-policy", POLICY),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("x-frame-options", "DENY"),
];

/// Adds the headers; an answer without a cache policy is revalidated.
pub async fn policies(mut response: Response) -> Response {
    let headers = response.headers_mut();
    for (name, value) in POLICIES {
        headers.insert(
            HeaderName::from_static(name),
            HeaderValue::from_static(value),
        );
    }
    headers
        .entry(CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-cache"));
    response
}
