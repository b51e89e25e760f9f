//! A whole box: begin, follow, stop, read.

use std::convert::Infallible;

use axum::Json;
use axum::extract::{Multipart, Path, State};
use axum::http::HeaderMap;
use axum::response::Sse;
use axum::response::sse::{Event, KeepAlive, KeepAliveStream};
use axum::routing::{get, post};
use serde::Serialize;
use tokio::sync::{mpsc, watch};
use tokio_stream::wrappers::ReceiverStream;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::page;

use super::answer::Table;
use super::boxes::{Progress, Sorting};
use super::page::{OfBox, begun, found, opened, received};
use crate::server::refusal::{Refusal, Refused};
use crate::server::shared::Shared;

/// The pages and the routes.
pub(super) fn routes() -> OpenApiRouter<Shared> {
    OpenApiRouter::new()
        .route("/sort", get(page::first).post(page::begin))
        .route("/sort/{id}", get(page::page))
        .route("/sort/{id}/cancel", post(page::cancel))
        .route("/sort/{id}/open", post(page::open))
        .route("/sort/{id}/cables.csv", get(page::csv))
        .route("/sort/{id}/cables.json", get(page::json))
        .routes(routes!(begin))
        .routes(routes!(add))
        .routes(routes!(read))
        .routes(routes!(events))
        .routes(routes!(cancel))
        .routes(routes!(open))
}

/// Files of a box with what holds for all of its cables.
#[derive(ToSchema)]
#[expect(dead_code, reason = "describes a form that is read part by part")]
pub(super) struct BoxOfFiles {
    /// Sweeps; names tell which belong together.
    #[schema(value_type = Vec<String>, format = Binary)]
    files: Vec<u8>,
    /// Impedance that the system needs, ohm.
    impedance: Option<String>,
    /// Resistance of the calibration load by ohmmeter, ohm.
    #[schema(rename = "load-ohms")]
    load_ohms: Option<String>,
    /// Anything if more files will come by `…/files`; only then there may be none yet.
    watched: Option<String>,
}

/// More files of a box.
#[derive(ToSchema)]
#[expect(dead_code, reason = "describes a form that is read part by part")]
pub(super) struct MoreFiles {
    /// Sweeps; one with the name of an earlier one takes its place.
    #[schema(value_type = Vec<String>, format = Binary)]
    files: Vec<u8>,
}

/// A box that is being sorted.
#[derive(Serialize, ToSchema)]
pub(super) struct Started {
    /// Its id.
    id: String,
    /// How far it is.
    progress: Progress,
}

impl Started {
    fn of(sorting: &Sorting) -> Self {
        Self {
            id: sorting.id.clone(),
            progress: sorting.progress(),
        }
    }
}

/// A box with the cables that are done.
#[derive(Serialize, ToSchema)]
pub(super) struct Sorted {
    /// How far it is.
    progress: Progress,
    /// The table, as `sort --json` prints it.
    table: Table,
}

/// Begins to sort a box.
#[utoipa::path(post, path = "/api/sort", tag = "sort", operation_id = "begin_box", request_body(content = BoxOfFiles, content_type = "multipart/form-data"),
    responses((status = 200, body = Started), (status = 422, body = Refused)))]
pub(super) async fn begin(
    State(shared): State<Shared>,
    headers: HeaderMap,
    form: Multipart,
) -> Result<Json<Started>, Refusal> {
    let (files, typed) = received(&shared, &headers, form).await?;
    let sorting = begun(&shared, files, &typed)?;
    Ok(Json(Started::of(&sorting)))
}

/// Puts more files into a box, as they arrive in a folder that is watched or as a large folder is sent in parts.
/// New cables are sorted, and those whose files have changed once more.
#[utoipa::path(post, path = "/api/sort/{id}/files", tag = "sort", operation_id = "add_to_box", params(("id" = String, Path, description = "Id of the box")),
    request_body(content = MoreFiles, content_type = "multipart/form-data"),
    responses((status = 200, body = Started), (status = 404, body = Refused),
        (status = 409, body = Refused, description = "the box was stopped"),
        (status = 413, body = Refused, description = "the box is full")))]
pub(super) async fn add(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    headers: HeaderMap,
    form: Multipart,
) -> Result<Json<Started>, Refusal> {
    let sorting = found(&shared, &id)?;
    let (files, _nothing_else) = received(&shared, &headers, form).await?;
    sorting.add(&shared, files)?;
    Ok(Json(Started::of(&sorting)))
}

/// The cables that are done, worst first.
#[utoipa::path(get, path = "/api/sort/{id}", tag = "sort", params(("id" = String, Path, description = "Id of the box")),
    responses((status = 200, body = Sorted), (status = 404, body = Refused)))]
pub(super) async fn read(
    State(shared): State<Shared>,
    Path(id): Path<String>,
) -> Result<Json<Sorted>, Refusal> {
    let sorting = found(&shared, &id)?;
    Ok(Json(Sorted {
        progress: sorting.progress(),
        table: Table::of(sorting.rows()),
    }))
}

/// An assay of one cable of a box.
#[derive(Serialize, ToSchema)]
pub(super) struct Opened {
    /// Id of the assay.
    id: String,
}

/// Holds the sweeps of one cable as an assay.
#[utoipa::path(post, path = "/api/sort/{id}/open", tag = "sort", params(("id" = String, Path, description = "Id of the box")),
    request_body = OfBox, responses((status = 200, body = Opened), (status = 404, body = Refused)))]
pub(super) async fn open(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    Json(named): Json<OfBox>,
) -> Result<Json<Opened>, Refusal> {
    let session = opened(&shared, &id, &named.cable)?;
    let id = session.id().to_owned();
    Ok(Json(Opened { id }))
}

/// How far it is, as events until it is over.
#[utoipa::path(get, path = "/api/sort/{id}/events", tag = "sort", params(("id" = String, Path, description = "Id of the box")),
    responses((status = 200, description = "Events `progress`", content_type = "text/event-stream", body = Progress),
        (status = 404, body = Refused)))]
pub(super) async fn events(
    State(shared): State<Shared>,
    Path(id): Path<String>,
) -> Result<Sse<KeepAliveStream<ReceiverStream<Result<Event, Infallible>>>>, Refusal> {
    let progress = found(&shared, &id)?.follow();
    let (sender, events) = mpsc::channel(4);
    tokio::spawn(tell(progress, sender));
    Ok(Sse::new(ReceiverStream::new(events)).keep_alive(KeepAlive::default()))
}

/// Stops: no further cable is begun, and what is done stays.
#[utoipa::path(post, path = "/api/sort/{id}/cancel", tag = "sort", operation_id = "cancel_box", params(("id" = String, Path, description = "Id of the box")),
    responses((status = 200, body = Progress), (status = 404, body = Refused)))]
pub(super) async fn cancel(
    State(shared): State<Shared>,
    Path(id): Path<String>,
) -> Result<Json<Progress>, Refusal> {
    let sorting = found(&shared, &id)?;
    sorting.cancel();
    Ok(Json(sorting.progress()))
}

/// Ends with the event that says that it is over, or when nobody listens any more.
async fn tell(
    mut progress: watch::Receiver<Progress>,
    listener: mpsc::Sender<Result<Event, Infallible>>,
) {
    loop {
        let now = *progress.borrow_and_update();
        let event = Event::default().event("progress").json_data(now);
        let event = event.expect("progress holds only words and numbers");
        let heard = listener.send(Ok(event)).await.is_ok();
        if !heard || now.over || progress.changed().await.is_err() {
            return;
        }
    }
}
