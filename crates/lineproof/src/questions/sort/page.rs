//! A whole box: files in, a table out that fills while it is being sorted, worst first.

use std::path::Path;
use std::sync::Arc;

use axum::Json;
use axum::extract::{Form, Multipart, Path as InPath, State};
use axum::http::HeaderMap;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Redirect, Response};
use lineproof_core::quantity::format_frequency;
use maud::{Markup, html};
use serde::Deserialize;
use utoipa::ToSchema;

use super::answer::Table;
use super::boxes::{self, AskedOfAll, Boxes, Named, Progress, Sorting};
use super::rows::Row;
use super::{group, text};
use crate::cli::facts::{SaidArgs, Sort};
use crate::questions::assay::sessions::{Facts, Session, Sessions};
use crate::report::number::{pair, significant};
use crate::server::form::{Field, Fields, Typed, marked};
use crate::server::frame::{Frame, Page};
use crate::server::refusal::{Refusal, Refused, RefusedPage};
use crate::server::shared::Shared;
use crate::server::{link, parts};
use lineproof_core::finding::judge::grade::Grade;

/// Fields besides the files.
pub const FIELDS: [Field; 2] = [Field::fact("impedance"), Field::fact("load-ohms")];

/// Field that says that more files will come, so that there may be none yet.
pub const WATCHED: &str = "watched";

pub(super) async fn first() -> Page {
    ask(&Typed::default(), None)
}

/// Files and fields of a form.
///
/// # Errors
/// [`Refusal`] if the form is broken or too large.
pub async fn received(
    shared: &Shared,
    headers: &HeaderMap,
    mut form: Multipart,
) -> Result<(Vec<Named>, Typed), Refusal> {
    let _held_until_read = shared.room(headers).await;
    let (mut files, mut typed) = (Vec::new(), Typed::default());
    let broken = |e: axum::extract::multipart::MultipartError| {
        Refusal::new(e.status(), e.body_text()).help("send fewer files at once")
    };
    while let Some(part) = form.next_field().await.map_err(broken)? {
        let name = part.name().unwrap_or_default().to_owned();
        match part.file_name().map(str::to_owned) {
            // A browser sends an empty part for a chooser that nobody used.
            Some(file) if file.is_empty() => {}
            Some(file) => files.push((file, part.bytes().await.map_err(broken)?.to_vec())),
            None => typed = typed.with(&name, &part.text().await.map_err(broken)?),
        }
    }
    Ok((files, typed))
}

/// Begins to sort what was sent. Only a box whose folder is watched may wait for its first sweep.
///
/// # Errors
/// [`Refusal`] of a field or of the files.
pub fn begun(shared: &Shared, files: Vec<Named>, typed: &Typed) -> Result<Arc<Sorting>, Refusal> {
    let fields = Fields::of::<SaidArgs<Sort>>(&FIELDS, None);
    let asked: SaidArgs<Sort> = fields.read(typed)?;
    let is_sweep = |file: &Named| group::is_sweep(Path::new(&file.0));
    if typed.get(WATCHED).is_empty() && !files.iter().any(is_sweep) {
        let none = Refusal::field("files", "no sweeps found");
        return Err(none.help("sweeps end in .s1p, .s2p, .ts, .csv, .tsv or .txt"));
    }
    let asked = AskedOfAll {
        request: asked.request(),
        facts: Facts {
            said: asked.said,
            ..Facts::default()
        },
    };
    let sorting = boxes::begin(shared, asked);
    sorting.add(shared, files)?;
    Ok(sorting)
}

/// Holds the sweeps of one cable of a box as an assay, so that it can be looked at and kept.
///
/// # Errors
/// [`Refusal`] if the box or its cable is not there.
pub fn opened(shared: &Shared, id: &str, cable: &str) -> Result<Arc<Session>, Refusal> {
    let found = found(shared, id)?.cable(cable);
    let none = || Refusal::missing(format!("there is no cable `{cable}` in this box"));
    let (files, facts) = found.ok_or_else(none)?;
    let session = shared.held::<Sessions>().open_named(cable, files, facts);
    session.start(shared);
    Ok(session)
}

/// Which cable of a box.
#[derive(Deserialize, ToSchema)]
pub struct OfBox {
    /// Its name in the box.
    pub cable: String,
}

pub(super) async fn open(
    State(shared): State<Shared>,
    InPath(id): InPath<String>,
    Form(named): Form<OfBox>,
) -> Result<Redirect, RefusedPage> {
    let session = opened(&shared, &id, &named.cable)?;
    Ok(Redirect::to(&link::path(&["assay", session.id()])))
}

/// The box with this id.
///
/// # Errors
/// [`Refusal`] if it is forgotten or never was.
pub fn found(shared: &Shared, id: &str) -> Result<Arc<Sorting>, Refusal> {
    let found = shared.held::<Boxes>().find(id);
    found.ok_or_else(|| {
        Refusal::missing("this box is no longer kept")
            .help("the server keeps only the newest boxes: sort it again")
    })
}

pub(super) async fn begin(
    State(shared): State<Shared>,
    headers: HeaderMap,
    form: Multipart,
) -> Result<Response, RefusedPage> {
    let (files, typed) = received(&shared, &headers, form).await?;
    match begun(&shared, files, &typed) {
        Ok(sorting) => Ok(Redirect::to(&link::path(&["sort", &sorting.id])).into_response()),
        Err(refusal) => {
            let page = ask(&typed, Some(&refusal.said));
            Ok((refusal.status(), page).into_response())
        }
    }
}

pub(super) async fn cancel(
    State(shared): State<Shared>,
    InPath(id): InPath<String>,
) -> Result<Redirect, RefusedPage> {
    found(&shared, &id)?.cancel();
    Ok(Redirect::to(&link::path(&["sort", &id])))
}

pub(super) async fn csv(
    State(shared): State<Shared>,
    InPath(id): InPath<String>,
) -> Result<Response, RefusedPage> {
    let table = text::csv(&found(&shared, &id)?.rows());
    let kind = [(CONTENT_TYPE, "text/csv; charset=utf-8")];
    Ok(file("cables.csv", (kind, table)))
}

pub(super) async fn json(
    State(shared): State<Shared>,
    InPath(id): InPath<String>,
) -> Result<Response, RefusedPage> {
    let table = Table::of(found(&shared, &id)?.rows());
    Ok(file("cables.json", Json(table)))
}

fn file(name: &str, content: impl IntoResponse) -> Response {
    let kept_as = format!("attachment; filename=\"{name}\"");
    ([(CONTENT_DISPOSITION, kept_as)], content).into_response()
}

fn ask(typed: &Typed, refused: Option<&Refused>) -> Page {
    let fields = Fields::of::<SaidArgs<Sort>>(&FIELDS, None);
    let main = html! {
        h1 { "Sort a box" }
        p { "Drop the sweeps of many cables at once. The table has one line for each cable, worst first. Name the sweeps of one cable alike apart from the far end: " code { "mast1-open.s1p" } " and " code { "mast1-load.s1p" } "; files named only " code { "open.s1p" } ", " code { "load.s1p" } " belong to the cable that their folder is named after." }
        (parts::refused(refused))
        form id="box" method="post" action="/sort" enctype="multipart/form-data" {
            div.drop id="drop" {
                div.fields {
                    div.field data-field="files" {
                        label for="folder" { "A folder with its subfolders" }
                        input id="folder" name="files" type="file" webkitdirectory multiple;
                    }
                    div.field {
                        label for="files" { "Or single files" }
                        input id="files" name="files" type="file" multiple accept=".s1p,.s2p,.ts,.csv,.tsv,.txt";
                    }
                }
                p.soft id="dropped" role="status" { "Files stay on this machine." }
                p id="watch" hidden { label { input type="checkbox" id="watched"; " Watch the folder: take sweeps as they arrive" } }
                div.actions { button type="button" id="pick" hidden { "Choose a folder to watch" } }
            }
            (fields.show(&FIELDS, typed, refused))
            div.actions { button.main { "Sort" } }
            p.soft { "To watch a memory card or a synchronised folder, drop it above: each cable appears when its sweeps arrive. In a terminal, use " code { "lineproof sort FOLDER --watch" } "." }
        }
    };
    Frame::new("Sort a box", "/sort")
        .scripts(&["sort.js"])
        .show(main)
}

pub(super) async fn page(
    State(shared): State<Shared>,
    InPath(id): InPath<String>,
) -> Result<Page, RefusedPage> {
    let sorting = found(&shared, &id)?;
    let (progress, rows) = (sorting.progress(), sorting.rows());
    let main = html! {
        p.trail { a href="/sort" { "Sort another box" } }
        h1 data-part="head" { "Box of " (progress.of) @if progress.of == 1 { " cable" } @else { " cables" } }
        (watching())
        div data-part="progress" { (how_far(progress, &id)) }
        div data-part="rows" {
            (table(&rows, &sorting))
            @if !rows.is_empty() {
                div.actions {
                    a.button href=(link::path(&["sort", &id, "cables.csv"])) { "Table for a spreadsheet (CSV)" }
                    a.button href=(link::path(&["sort", &id, "cables.json"])) { "JSON" }
                }
            }
        }
    };
    Ok(Frame::new("Sort a box", "/sort")
        .scripts(&["sort.js"])
        .again(!progress.over)
        .show(main))
}

/// Shown by the script of a page that looks into a folder.
fn watching() -> Markup {
    html! {
        section.watching id="watching" aria-labelledby="watching-head" hidden {
            h2 id="watching-head" tabindex="-1" { "Watching the folder" }
            p { "Cables appear when their sweeps arrive, while this page stays open." }
            p.answer id="newest" role="status" {}
            div.actions { button type="button" id="unwatch" { "Stop watching" } }
        }
    }
}

fn how_far(progress: Progress, id: &str) -> Markup {
    let Progress { done, of, .. } = progress;
    html! {
        @if progress.cancelled {
            p.done role="status" { "Stopped after " (done) " of " (of) " cables. What was done stands below." }
        } @else if !progress.over {
            span hidden data-events=(link::path(&["api", "sort", id, "events"])) {}
            label for="far" { (done) " of " (of) " cables" }
            progress id="far" value=(done) max=(of) {}
            form.actions method="post" action=(link::path(&["sort", id, "cancel"])) { button { "Stop" } }
        }
    }
}

fn table(rows: &[Row], sorting: &Sorting) -> Markup {
    let left_out: Vec<String> = rows.iter().flat_map(|row| row.left_out.clone()).collect();
    html! {
        @if !rows.is_empty() {
            p.answer { (summary(rows)) }
            div.wide tabindex="0" role="region" aria-label="Cables" {
                // Roles in words: a narrow screen shows each row as a card, and it stays a table.
                table.list.stacks role="table" {
                    caption { "Worst first" }
                    thead role="rowgroup" { tr role="row" {
                        th role="columnheader" { "Cable" } th role="columnheader" { "Grade" } th role="columnheader" { "What to do" } th.value role="columnheader" { "Impedance" }
                        th.value role="columnheader" { "Loss at " (format_frequency(1e8)) } th role="columnheader" { "Why" }
                    } }
                    tbody role="rowgroup" { @for row in rows { (line(row, &sorting.id)) } }
                }
            }
        }
        (parts::sentences("Left out", &left_out))
        @if sorting.passed_over() > 0 {
            p.soft {
                @match sorting.passed_over() {
                    1 => "1 file was skipped: its name does not end like that of a sweep.",
                    several => { (several) " files were skipped: their names do not end like those of sweeps." }
                }
            }
        }
    }
}

/// `2 faulty, 11 good`.
fn summary(rows: &[Row]) -> String {
    let mut counts: Vec<(Grade, usize)> = Vec::new();
    for row in rows {
        match counts.iter_mut().find(|(grade, _)| *grade == row.grade) {
            Some((_, count)) => *count += 1,
            None => counts.push((row.grade, 1)),
        }
    }
    let words = counts
        .iter()
        .map(|(grade, count)| format!("{count} {}", grade.word()));
    words.collect::<Vec<_>>().join(", ")
}

fn line(row: &Row, id: &str) -> Markup {
    let ohm = match (row.impedance_ohm, row.u95_impedance_ohm) {
        (Some(ohm), Some(u95)) => {
            let (ohm, u95) = pair(ohm, u95);
            format!("{ohm} ± {u95} ohm")
        }
        _ => String::new(),
    };
    let mark = match row.grade {
        Grade::Faulty => "faulty",
        Grade::Good => "sound",
        Grade::Undetermined => "undetermined",
        _ => "suspect",
    };
    let loss = row
        .loss_db_at_100mhz
        .map_or_else(String::new, |db| format!("{} dB", significant(db, 2)));
    let says = match ohm.as_str() {
        "" => row.grade.word().to_owned(),
        ohm => format!("{}, {ohm}", row.grade.word()),
    };
    html! {
        tr role="row" data-cable=(row.cable) data-says=(says) {
            th scope="row" role="rowheader" {
                form.open method="post" action=(link::path(&["sort", id, "open"])) {
                    button name="cable" value=(row.cable) title="Open it: pictures, numbers, keep on the shelf" { (row.cable) }
                }
            }
            td role="cell" { span.condition data-condition=(mark) { (row.grade.word()) } }
            td role="cell" { (row.to_do()) }
            td.value role="cell" { (ohm) }
            td.value role="cell" { (loss) }
            td role="cell" { (marked(&row.why)) }
        }
    }
}
