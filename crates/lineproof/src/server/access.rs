//! Access control: names that the server answers to, the token, and the security headers.
//!
//! A page from elsewhere can have its own name point to this machine and then read what it likes
//! (DNS rebinding); so only known names in `Host` are answered, before anything else. Literal
//! addresses can't be rebound. What changes things must come from our own pages (`Sec-Fetch-Site`,
//! `Origin`), and clients on other machines need the token.

use std::net::{IpAddr, SocketAddr};

use axum::extract::{Request, State};
use axum::http::header::{AUTHORIZATION, CACHE_CONTROL, COOKIE, HOST};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, Uri};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};

use super::pages::enter;
use super::refusal::Refusal;
use super::shared::Shared;

/// Who may connect.
#[derive(Clone, Debug)]
pub struct AccessControl {
    address: SocketAddr,
    names: Vec<String>,
    token: Option<String>,
}

impl AccessControl {
    /// The loopback interface at this address; no token.
    pub fn loopback(address: SocketAddr) -> Self {
        Self {
            address,
            names: Vec::new(),
            token: None,
        }
    }

    /// Any interface, by these names besides its address, for clients that send the token.
    pub fn with_token(address: SocketAddr, names: Vec<String>, token: String) -> Self {
        Self {
            address,
            names,
            token: Some(token),
        }
    }

    /// Whether other machines may connect.
    pub fn serves_others(&self) -> bool {
        self.token.is_some()
    }

    /// Name of the cookie that holds the token: cookies know no ports.
    pub fn cookie(&self) -> String {
        format!("lineproof-{}", self.address.port())
    }

    /// Whether this is the token, or none is needed. Digests are compared, so that the time it takes
    /// says nothing.
    pub fn admits(&self, token: Option<&str>) -> bool {
        let digest = |text: &str| Sha256::digest(text.as_bytes());
        match &self.token {
            None => true,
            Some(wanted) => token.is_some_and(|token| digest(token) == digest(wanted)),
        }
    }

    /// Whether the server answers to this authority, `name:port`.
    fn answers_to(&self, authority: &str) -> bool {
        let (name, port) = match authority.rsplit_once(':') {
            Some((name, port)) if !port.ends_with(']') => (name, port),
            _ => (authority, "80"),
        };
        if port.parse() != Ok(self.address.port()) {
            return false;
        }
        let name = name.trim_start_matches('[').trim_end_matches(']');
        match name.parse::<IpAddr>() {
            Ok(ip) => ip.is_loopback() || self.serves_others(),
            Err(_) => {
                name.eq_ignore_ascii_case("localhost")
                    || self.names.iter().any(|n| n.eq_ignore_ascii_case(name))
            }
        }
    }
}

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_known_names_are_answered() {
        let inside = AccessControl::loopback("127.0.0.1:7550".parse().unwrap());
        let outside = AccessControl::with_token(
            "0.0.0.0:7550".parse().unwrap(),
            vec!["bench.example".to_owned()],
            "0123456789abcdef".to_owned(),
        );
        let cases = [
            ("127.0.0.1:7550", true, true),
            ("localhost:7550", true, true),
            ("LOCALHOST:7550", true, true),
            ("[::1]:7550", true, true),
            ("192.0.2.7:7550", false, true),
            ("bench.example:7550", false, true),
            ("evil.example:7550", false, false),
            ("localhost.evil.example:7550", false, false),
            ("127.0.0.1:80", false, false),
            ("127.0.0.1", false, false),
            ("[::1]", false, false),
            ("", false, false),
        ];
        for (authority, by_inside, by_outside) in cases {
            assert_eq!(inside.answers_to(authority), by_inside, "{authority}");
            assert_eq!(outside.answers_to(authority), by_outside, "{authority}");
        }
    }

    #[test]
    fn only_the_whole_token_admits() {
        let access = AccessControl::with_token(
            "0.0.0.0:7550".parse().unwrap(),
            Vec::new(),
            "0123456789abcdef".to_owned(),
        );
        assert!(access.admits(Some("0123456789abcdef")));
        for wrong in [
            None,
            Some(""),
            Some("0123456789abcde"),
            Some("0123456789abcdeF"),
        ] {
            assert!(!access.admits(wrong), "{wrong:?}");
        }
    }
}
