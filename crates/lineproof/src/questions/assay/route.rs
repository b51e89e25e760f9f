//! Assays: drop sweeps, say something else, follow the progress, cancel, keep.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::Json;
use axum::extract::{Multipart, Path, Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::sse::{Event, Sse};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use tokio::sync::{mpsc, watch};
use tokio::time::{interval, timeout};
use tokio_stream::wrappers::ReceiverStream;
use utoipa::{IntoParams, ToSchema};

use super::sessions::answer::AssayAnswer;
use super::sessions::charts::Charts;
use super::sessions::facts::Facts;
use super::sessions::run::{Done, Stage, Step};
use super::sessions::{Session, Sessions, files};
use crate::finding::Finding;
use crate::server::refusal::{Refusal, Refused};
use crate::server::shared::Shared;
use crate::workflow::shelf;

/// How long an answer waits for a finding before it says how far it is.
pub(crate) const LONGEST_WAIT: Duration = Duration::from_secs(100);
/// How often progress is said while nothing changes.
const TICK: Duration = Duration::from_millis(200);
/// How long progress is streamed at most.
const LONGEST_STREAM: Duration = Duration::from_mins(15);

/// Whether to wait.
#[derive(Clone, Copy, Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct Waits {
    /// Whether the answer waits for the finding. If not, follow `…/progress`.
    #[serde(default = "yes")]
    wait: bool,
}

fn yes() -> bool {
    true
}

/// A form of files and facts.
#[derive(ToSchema)]
#[expect(dead_code, reason = "describes what multipart reading takes apart")]
pub(super) struct SweepsForm {
    /// Sweeps of one cable: Touchstone, or delimited text with a header.
    #[schema(value_type = Vec<String>, format = Binary)]
    files: Vec<u8>,
    /// Every fact, each in a part of its own; `far_ends` and `parts` once for each file.
    #[schema(inline = false)]
    facts: Facts,
}

/// Takes all sweeps of one cable and finds what it is.
#[utoipa::path(
    post,
    path = "/api/assays",
    tag = "assays",
    params(Waits),
    request_body(content = SweepsForm, content_type = "multipart/form-data"),
    responses(
        (status = 200, body = AssayAnswer, description = "done, or refused with reasons"),
        (status = 202, body = AssayAnswer, description = "not waited for"),
        (status = 413, body = Refused), (status = 422, body = Refused), (status = 503, body = Refused)
    )
)]
pub(crate) async fn begin(
    State(shared): State<Shared>,
    Query(waits): Query<Waits>,
    headers: HeaderMap,
    parts: Multipart,
) -> Result<Response, Refusal> {
    let session = open_session(&shared, &headers, parts).await?;
    Ok(answer(&session, waits.wait).await)
}

/// Reads the form and starts; for pages too.
pub(crate) async fn open_session(
    shared: &Shared,
    headers: &HeaderMap,
    parts: Multipart,
) -> Result<Arc<Session>, Refusal> {
    let room = shared.room(headers).await;
    let form = files::form(parts).await?;
    drop(room);
    if form.files.is_empty() {
        return Err(Refusal::field("files", "no file was chosen"));
    }
    let session = shared.held::<Sessions>().open(form.files, form.facts);
    session.start(shared);
    Ok(session)
}

/// An assay that is open.
#[utoipa::path(
    get,
    path = "/api/assays/{id}",
    tag = "assays",
    params(("id" = String, Path, description = "Id of the assay"), Waits),
    responses(
        (status = 200, body = AssayAnswer), (status = 202, body = AssayAnswer),
        (status = 404, body = Refused)
    )
)]
pub(crate) async fn look(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    Query(waits): Query<Waits>,
) -> Result<Response, Refusal> {
    let session = shared.held::<Sessions>().find(&id)?;
    Ok(answer(&session, waits.wait).await)
}

/// Says something else of the same sweeps, and finds again.
#[utoipa::path(
    put,
    path = "/api/assays/{id}/facts",
    tag = "assays",
    params(("id" = String, Path, description = "Id of the assay"), Waits),
    request_body = Facts,
    responses(
        (status = 200, body = AssayAnswer), (status = 202, body = AssayAnswer),
        (status = 404, body = Refused)
    )
)]
pub(crate) async fn say(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    Query(waits): Query<Waits>,
    Json(facts): Json<Facts>,
) -> Result<Response, Refusal> {
    let session = shared.held::<Sessions>().find(&id)?;
    session.say(&shared, facts);
    Ok(answer(&session, waits.wait).await)
}

/// Adds sweeps, and finds again. Facts in this form are not read.
#[utoipa::path(
    post,
    path = "/api/assays/{id}/files",
    tag = "assays",
    params(("id" = String, Path, description = "Id of the assay"), Waits),
    request_body(content = SweepsForm, content_type = "multipart/form-data"),
    responses(
        (status = 200, body = AssayAnswer), (status = 202, body = AssayAnswer),
        (status = 404, body = Refused), (status = 413, body = Refused), (status = 422, body = Refused)
    )
)]
pub(crate) async fn add(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    Query(waits): Query<Waits>,
    headers: HeaderMap,
    parts: Multipart,
) -> Result<Response, Refusal> {
    let session = shared.held::<Sessions>().find(&id)?;
    let room = shared.room(&headers).await;
    let form = files::form(parts).await?;
    drop(room);
    if form.files.is_empty() {
        return Err(Refusal::field("files", "no file was chosen"));
    }
    session.add(&shared, form.files);
    Ok(answer(&session, waits.wait).await)
}

/// Does not want the finding any more. The sweeps stay; saying anything finds again.
#[utoipa::path(
    delete,
    path = "/api/assays/{id}/run",
    tag = "assays",
    params(("id" = String, Path, description = "Id of the assay")),
    responses((status = 204), (status = 404, body = Refused))
)]
pub(crate) async fn cancel(
    State(shared): State<Shared>,
    Path(id): Path<String>,
) -> Result<StatusCode, Refusal> {
    shared.held::<Sessions>().find(&id)?.cancel();
    Ok(StatusCode::NO_CONTENT)
}

/// How far an assay is.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = AssayProgress)]
pub(super) struct Progress {
    /// `waiting`, `working`, `done`, `refused` or `cancelled`.
    stage: &'static str,
    /// What it is about, while it is computed.
    #[serde(skip_serializing_if = "Option::is_none")]
    step: Option<Step>,
    /// How long it has been computed, s.
    seconds: f64,
    /// How many cables wait for their turn.
    waiting: usize,
}

/// Streams how far an assay is, until it is over: events named `progress`.
#[utoipa::path(
    get,
    path = "/api/assays/{id}/progress",
    tag = "assays",
    params(("id" = String, Path, description = "Id of the assay")),
    responses(
        (status = 200, body = Progress, content_type = "text/event-stream"),
        (status = 404, body = Refused)
    )
)]
pub(crate) async fn progress(
    State(shared): State<Shared>,
    Path(id): Path<String>,
) -> Result<Sse<ReceiverStream<Result<Event, Infallible>>>, Refusal> {
    let stage = shared.held::<Sessions>().find(&id)?.watch();
    let (sender, events) = mpsc::channel(4);
    tokio::spawn(timeout(LONGEST_STREAM, tell(shared, stage, sender)));
    Ok(Sse::new(ReceiverStream::new(events)))
}

/// Ends with the run, or when nobody listens any more.
async fn tell(
    shared: Shared,
    mut stage: watch::Receiver<Stage>,
    listener: mpsc::Sender<Result<Event, Infallible>>,
) {
    let mut tick = interval(TICK);
    loop {
        let now = stage.borrow_and_update().clone();
        let working = match &now {
            Stage::Working(working) => Some(working),
            _ => None,
        };
        let progress = Progress {
            stage: now.name(),
            step: working.map(|working| working.step()),
            seconds: working.map_or(0.0, |working| working.since.elapsed().as_secs_f64()),
            waiting: shared.work().waiting(),
        };
        let event = Event::default().event("progress").json_data(progress);
        let event = event.expect("progress holds only words and numbers");
        if listener.send(Ok(event)).await.is_err() || now.is_over() {
            return;
        }
        tokio::select! {
            changed = stage.changed() => if changed.is_err() { return },
            _ = tick.tick() => {}
        }
    }
}

/// The finding alone, as `lineproof assay --json` prints it.
#[utoipa::path(
    get,
    path = "/api/assays/{id}/finding",
    tag = "assays",
    params(("id" = String, Path, description = "Id of the assay")),
    responses(
        (status = 200, body = Finding), (status = 404, body = Refused),
        (status = 409, body = Refused), (status = 422, body = Refused)
    )
)]
pub(crate) async fn finding(
    State(shared): State<Shared>,
    Path(id): Path<String>,
) -> Result<Json<Finding>, Refusal> {
    let done = done(&shared.held::<Sessions>(), &id).await?;
    done.finding().cloned().map(Json)
}

/// What the charts of an assay show.
#[utoipa::path(
    get,
    path = "/api/assays/{id}/charts",
    tag = "assays",
    params(("id" = String, Path, description = "Id of the assay")),
    responses(
        (status = 200, body = Charts), (status = 404, body = Refused), (status = 409, body = Refused)
    )
)]
pub(crate) async fn charts(
    State(shared): State<Shared>,
    Path(id): Path<String>,
) -> Result<Json<Charts>, Refusal> {
    let done = done(&shared.held::<Sessions>(), &id).await?;
    Ok(Json(Charts::of(&done, done.finding()?)))
}

/// Where an assay is to be kept.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Keep {
    /// Tag of the cable: a new one makes a new cable.
    tag: String,
    /// When the sweeps were taken, `2026-05-31`; today if empty.
    #[serde(default)]
    measured_on: String,
    /// The analyser, in the owner's words.
    #[serde(default)]
    instrument: String,
    /// The calibration kit, in the owner's words.
    #[serde(default)]
    kit_note: String,
}

/// Where an assay was kept.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct KeptUnder {
    /// Tag of the cable.
    pub(crate) tag: String,
    /// Whether the cable is new on the shelf.
    pub(crate) new_cable: bool,
}

/// Keeps sweeps and finding on the shelf.
#[utoipa::path(
    post,
    path = "/api/assays/{id}/keep",
    tag = "assays",
    params(("id" = String, Path, description = "Id of the assay")),
    request_body = Keep,
    responses(
        (status = 200, body = KeptUnder), (status = 404, body = Refused),
        (status = 409, body = Refused), (status = 422, body = Refused)
    )
)]
pub(crate) async fn keep(
    State(shared): State<Shared>,
    Path(id): Path<String>,
    Json(keep): Json<Keep>,
) -> Result<Json<KeptUnder>, Refusal> {
    kept(&shared, &id, keep).await.map(Json)
}

/// Keeps; for pages too.
pub(crate) async fn kept(shared: &Shared, id: &str, keep: Keep) -> Result<KeptUnder, Refusal> {
    let done = done(&shared.held::<Sessions>(), id).await?;
    let path = shared.shelf().map(std::path::Path::to_owned);
    let path = path.ok_or_else(|| Refusal::missing("this system has no place for a shelf"))?;
    let at = day(&keep.measured_on)?;
    let mut setup = done.setup.clone();
    setup.instrument = said(&keep.instrument);
    setup.kit_note = said(&keep.kit_note);
    let tag = keep.tag.trim().to_owned();
    let work = move || {
        let finding = done.finding()?;
        let shelved = shelf::shelve(&path, &tag, &at, &setup, &done.outcome, finding)?;
        Ok(KeptUnder {
            tag,
            new_cable: shelved.new_cable,
        })
    };
    shared.work().run(|| {}, work).await?
}

fn said(text: &str) -> Option<String> {
    let text = text.trim();
    (!text.is_empty()).then(|| text.to_owned())
}

fn day(text: &str) -> Result<String, Refusal> {
    match said(text) {
        None => Ok(shelf::now()),
        Some(text) => crate::questions::shelf::arguments::date(&text)
            .map_err(|e| Refusal::field("measured_on", e)),
    }
}

/// The assay when it is over.
///
/// # Errors
/// [`Refusal`] if there is none, or it did not come to its end.
pub(crate) async fn done(sessions: &Sessions, id: &str) -> Result<Arc<Done>, Refusal> {
    let session = sessions.find(id)?;
    let _or_say_how_far = timeout(LONGEST_WAIT, session.over()).await;
    match session.now().stage {
        Stage::Done(done) => Ok(done),
        Stage::Refused(refused) => Err(Refusal::of(refused.as_ref().clone())),
        stage => Err(Refusal::new(
            StatusCode::CONFLICT,
            format!("the assay is {}", stage.name()),
        )),
    }
}

async fn answer(session: &Session, wait: bool) -> Response {
    if wait {
        let _or_say_how_far = timeout(LONGEST_WAIT, session.over()).await;
    }
    let answer = AssayAnswer::of(session);
    let over = session.now().stage.is_over();
    let status = if over {
        StatusCode::OK
    } else {
        StatusCode::ACCEPTED
    };
    (status, Json(answer)).into_response()
}
