//! The token form, for visitors from other machines.

use axum::Router;
use axum::extract::{Form, State};
use axum::http::header::SET_COOKIE;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::html;
use serde::Deserialize;

use crate::server::frame::{Frame, Page};
use crate::server::shared::Shared;

pub(super) fn router() -> Router<Shared> {
    Router::new().route("/enter", get(ask).post(enter))
}

#[derive(Deserialize)]
struct Shown {
    token: String,
}

async fn ask() -> Page {
    form(None)
}

async fn enter(State(shared): State<Shared>, Form(shown): Form<Shown>) -> Response {
    let access = shared.access();
    let token = shown.token.trim();
    let cookie = format!(
        "{}={token}; Path=/; SameSite=Strict; HttpOnly",
        access.cookie()
    );
    match HeaderValue::from_str(&cookie) {
        Ok(cookie) if access.admits(Some(token)) => {
            ([(SET_COOKIE, cookie)], Redirect::to("/")).into_response()
        }
        _ => {
            let wrong = form(Some("This is not the token."));
            (StatusCode::UNAUTHORIZED, wrong).into_response()
        }
    }
}

/// The form that asks for it.
pub fn form(wrong: Option<&str>) -> Page {
    let main = html! {
        h1 { "Enter the token" }
        p { "The terminal where `lineproof serve` was started shows it." }
        form.stack method="post" action="/enter" {
            label for="token" { "Token" }
            input id="token" name="token" type="password" autocomplete="current-password" required
                aria-describedby=[wrong.map(|_| "wrong")];
            @if let Some(wrong) = wrong { p.refused id="wrong" role="alert" { (wrong) } }
            button { "Enter" }
        }
    };
    Frame::new("Enter", "").show(main)
}
