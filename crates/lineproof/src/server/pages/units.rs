//! The choice between metres and feet.

use axum::extract::Form;
use axum::http::header::{REFERER, SET_COOKIE};
use axum::http::{HeaderMap, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::post;
use axum::{Router, http::HeaderValue};
use serde::Deserialize;

use crate::server::shared::Shared;
use crate::server::units::{COOKIE, Units};

pub(super) fn router() -> Router<Shared> {
    Router::new().route("/units", post(choose))
}

#[derive(Deserialize)]
struct Choice {
    units: Units,
}

/// Keeps the choice for a year and goes back to where the person was.
async fn choose(headers: HeaderMap, Form(choice): Form<Choice>) -> Response {
    let cookie = format!(
        "{COOKIE}={}; Path=/; Max-Age=31536000; SameSite=Strict; HttpOnly",
        choice.units.name()
    );
    let cookie = HeaderValue::from_str(&cookie).expect("our own words make a header");
    ([(SET_COOKIE, cookie)], Redirect::to(&back(&headers))).into_response()
}

/// Path and query of the page that sent the form: never another site.
fn back(headers: &HeaderMap) -> String {
    let from = headers.get(REFERER).and_then(|v| v.to_str().ok());
    let path = from
        .and_then(|from| from.parse::<Uri>().ok())
        .and_then(|uri| Some(uri.path_and_query()?.as_str().to_owned()));
    path.filter(|path| path.starts_with('/') && !path.starts_with("//"))
        .unwrap_or_else(|| "/".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_back_stays_on_this_site() {
        let cases = [
            ("http://127.0.0.1:7550/assay/x?a=b", "/assay/x?a=b"),
            ("http://evil.example//evil.example/", "/"),
            ("nonsense", "/"),
        ];
        for (from, wanted) in cases {
            let mut headers = HeaderMap::new();
            headers.insert(REFERER, HeaderValue::from_str(from).unwrap());
            assert_eq!(back(&headers), wanted, "{from}");
        }
    }
}
