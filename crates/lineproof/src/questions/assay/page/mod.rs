//! The assay page: sweeps in, finding out. The first visit explains the three far ends and offers
//! examples. Without scripts everything works by forms; with them the page follows by itself.

mod finding;
mod first;
mod form;
mod save;

pub use finding::page_of_finding;

use std::time::Duration;

use axum::extract::{Form, Multipart, Path, Query, State};
use axum::http::header::SET_COOKIE;
use axum::http::{HeaderMap, HeaderValue};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;
use tokio::time::timeout;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use crate::questions::assay::route::{self, Keep, LONGEST_WAIT, kept, open_session};
use crate::questions::assay::sessions::answer::AssayAnswer;
use crate::questions::assay::sessions::demo::Demo;
use crate::questions::assay::sessions::{Session, Sessions, files};
use crate::server::cookie::cookie;
use crate::server::frame::{Frame, Page};
use crate::server::link;
use crate::server::refusal::{Refusal, RefusedPage};
use crate::server::shared::Shared;
use crate::server::units::Units;

/// Cookie of somebody who has seen a finding and knows the three far ends.
const MET: &str = "lineproof-met";
/// How long a page waits for its finding before it shows progress instead.
const PATIENCE: Duration = Duration::from_millis(1500);

/// The pages and the routes.
pub(super) fn routes() -> OpenApiRouter<Shared> {
    OpenApiRouter::new()
        .route("/", get(empty))
        .route("/assay", post(begin))
        .route("/demo/{name}", post(demo))
        .route("/assay/{id}", get(page).post(change))
        .route("/assay/{id}/part", get(part))
        .route("/assay/{id}/keep", post(keep))
        .route("/assay/{id}/{file}", get(save::file))
        .routes(routes!(route::begin))
        .routes(routes!(route::look))
        .routes(routes!(route::say))
        .routes(routes!(route::add))
        .routes(routes!(route::cancel))
        .routes(routes!(route::progress))
        .routes(routes!(route::finding))
        .routes(routes!(route::charts))
        .routes(routes!(route::keep))
}

async fn empty(headers: HeaderMap) -> Page {
    let met = cookie(&headers, MET).is_some();
    let main = html! {
        h1 { "Assay a cable" }
        div.bench {
            (form::form(None))
            div.beside { (first::words(met)) (first::demos()) }
        }
    };
    frame().show(main)
}

/// Sweeps from a form; then to their page.
async fn begin(
    State(shared): State<Shared>,
    headers: HeaderMap,
    parts: Multipart,
) -> Result<Redirect, RefusedPage> {
    let session = open_session(&shared, &headers, parts).await?;
    Ok(to(&session))
}

/// An example, as if its sweeps had been dropped.
async fn demo(
    State(shared): State<Shared>,
    Path(name): Path<String>,
) -> Result<Redirect, RefusedPage> {
    let demo = Demo::named(&name).ok_or_else(|| Refusal::missing("this example does not exist"))?;
    let session = shared.held::<Sessions>().open(demo.files(), demo.facts());
    session.start(&shared);
    Ok(to(&session))
}

fn to(session: &Session) -> Redirect {
    Redirect::to(&format!("/assay/{}", session.id()))
}

#[derive(Deserialize)]
struct Came {
    /// Tag that the assay was just kept under.
    kept: Option<String>,
}

async fn page(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    Query(came): Query<Came>,
    units: Units,
) -> Result<Response, RefusedPage> {
    let session = shared.held::<Sessions>().find(&id)?;
    let _or_show_progress = timeout(PATIENCE, session.over()).await;
    let answer = AssayAnswer::of(&session);
    let over = session.now().stage.is_over();
    let main = html! {
        h1 { "Assay a cable" }
        @if let Some(tag) = &came.kept {
            p.done {
                "Stored under " b { (tag) } "."
                a href=(link::query("/labels", [("cable", &**tag)])) { "Print its label" }
                a href=(link::path(&["shelf", tag])) { "Open it on the shelf" }
            }
        }
        div.bench {
            (form::form(Some(&answer)))
            (finding::result(&session, &answer, units))
        }
    };
    let met =
        HeaderValue::from_static("lineproof-met=1; Path=/; Max-Age=31536000; SameSite=Strict");
    Ok(([(SET_COOKIE, met)], frame().again(!over).show(main)).into_response())
}

#[derive(Deserialize)]
struct Wanted {
    /// Whether to wait for the end of the run.
    #[serde(default)]
    wait: bool,
}

/// What of the page changes with the finding.
async fn part(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    Query(wanted): Query<Wanted>,
    units: Units,
) -> Result<Markup, Refusal> {
    let session = shared.held::<Sessions>().find(&id)?;
    if wanted.wait {
        let _or_ask_again = timeout(LONGEST_WAIT, session.over()).await;
    }
    let answer = AssayAnswer::of(&session);
    Ok(html! {
        (form::sweeps(Some(&answer)))
        (finding::result(&session, &answer, units))
    })
}

/// Facts and perhaps more sweeps, from a form.
async fn change(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    headers: HeaderMap,
    parts: Multipart,
) -> Result<Redirect, RefusedPage> {
    let session = shared.held::<Sessions>().find(&id)?;
    let room = shared.room(&headers).await;
    let form = files::form(parts).await?;
    drop(room);
    session.change(&shared, form.files, form.facts);
    Ok(to(&session))
}

async fn keep(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    Form(keep): Form<Keep>,
) -> Result<Redirect, RefusedPage> {
    let kept = kept(&shared, &id, keep).await?;
    let page = link::path(&["assay", &id]);
    Ok(Redirect::to(&link::query(&page, [("kept", &*kept.tag)])))
}

fn frame() -> Frame {
    Frame::new("Assay", "/").scripts(&["assay.js"])
}
