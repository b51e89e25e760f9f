//! What of an assay is saved as a file: report, finding, numbers, pictures.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};

use crate::finding::Finding;
use crate::questions::assay::route::done;
use crate::questions::assay::sessions::{Done, Sessions};
use crate::questions::label::page::not_set;
use crate::report::subject::Subject;
use crate::report::{html, numbers_csv, pdf};
use crate::server::refusal::{Refusal, RefusedPage};
use crate::server::shared::Shared;
use crate::server::units::Units;
use crate::workflow::pictures;

const SVG: &str = "image/svg+xml";

pub(super) async fn file(
    State(shared): State<Shared>,
    units: Units,
    Path((id, file)): Path<(String, String)>,
) -> Result<Response, RefusedPage> {
    let done = done(&shared.held::<Sessions>(), &id).await?;
    let finding = done.finding()?;
    let (kind, text) = match file.as_str() {
        "report.pdf" => {
            return Ok(attached(
                "application/pdf",
                &file,
                as_pdf(&shared, done, units).await?,
            ));
        }
        "report.html" => (
            "text/html; charset=utf-8",
            html::page(&[subject(&done, finding)], units),
        ),
        "finding.json" => (
            "application/json",
            serde_json::to_string_pretty(finding).expect("findings hold only words and numbers"),
        ),
        "finding.csv" => ("text/csv; charset=utf-8", numbers_csv::csv(finding)),
        picture => (SVG, svg(&done, finding, picture, units)?),
    };
    Ok(attached(kind, &file, text))
}

fn attached(kind: &str, name: &str, content: impl IntoResponse) -> Response {
    let attached = format!("attachment; filename=\"{name}\"");
    (
        [(CONTENT_TYPE, kind), (CONTENT_DISPOSITION, &attached)],
        content,
    )
        .into_response()
}

async fn as_pdf(shared: &Shared, done: Arc<Done>, units: Units) -> Result<Vec<u8>, Refusal> {
    let set = move || -> Result<_, Refusal> {
        let subject = subject(&done, done.finding()?);
        pdf::report(&[subject], units).map_err(not_set)
    };
    shared.work().run(|| (), set).await?
}

fn svg(done: &Done, finding: &Finding, name: &str, units: Units) -> Result<String, Refusal> {
    let sweeps = &done.sweeps;
    match name {
        "smith.svg" => Some(lineproof_draw::smith(&pictures::smith(sweeps, finding))),
        "loss.svg" => Some(lineproof_draw::loss(&pictures::loss(finding))),
        "return-loss.svg" => Some(lineproof_draw::return_loss(&pictures::return_loss(sweeps))),
        "profile.svg" => pictures::profile(finding, units).map(|p| lineproof_draw::profile(&p)),
        _ => None,
    }
    .ok_or_else(|| Refusal::missing("this file does not exist"))
}

fn subject(done: &Done, finding: &Finding) -> Subject {
    let first = finding.sweeps.first().map_or("", |s| s.file.as_str());
    Subject {
        name: format!("of {first}"),
        description: String::new(),
        day: String::new(),
        setup: done.setup.facts(),
        finding: finding.clone(),
        sweeps: done.sweeps.clone(),
    }
}
