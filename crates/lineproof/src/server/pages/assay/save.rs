//! What of an assay is saved as a file: report, finding, numbers, pictures.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};

use crate::kept::Kept;
use crate::report::subject::Subject;
use crate::report::{html, pdf};
use crate::server::api::assays::done;
use crate::server::assays::Done;
use crate::server::pages::labels::not_set;
use crate::server::refusal::{Refusal, RefusedPage};
use crate::server::shared::Shared;
use crate::workflow::pictures;

const SVG: &str = "image/svg+xml";

pub(super) async fn file(
    State(shared): State<Shared>,
    Path((id, file)): Path<(String, String)>,
) -> Result<Response, RefusedPage> {
    let done = done(shared.sessions(), &id).await?;
    let finding = done.finding()?;
    let (kind, text) = match file.as_str() {
        "report.pdf" => {
            return Ok(attached(
                "application/pdf",
                &file,
                as_pdf(&shared, done).await?,
            ));
        }
        "report.html" => ("text/html; charset=utf-8", html::page(&[subject(&done)])),
        "finding.json" => (
            "application/json",
            serde_json::to_string_pretty(finding).expect("findings hold only words and numbers"),
        ),
        "finding.csv" => ("text/csv; charset=utf-8", csv(&done.kept)),
        picture => (SVG, svg(&done, picture)?),
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

async fn as_pdf(shared: &Shared, done: Arc<Done>) -> Result<Vec<u8>, Refusal> {
    let set = move || pdf::report(&[subject(&done)]);
    shared.work().run(|| (), set).await?.map_err(not_set)
}

fn svg(done: &Done, name: &str) -> Result<String, Refusal> {
    let (kept, sweeps) = (&done.kept, &done.sweeps);
    match name {
        "smith.svg" => Some(lineproof_draw::smith(&pictures::smith(sweeps, kept))),
        "loss.svg" => Some(lineproof_draw::loss(&pictures::loss(kept))),
        "return-loss.svg" => Some(lineproof_draw::return_loss(&pictures::return_loss(sweeps))),
        "profile.svg" => pictures::profile(kept).map(|p| lineproof_draw::profile(&p)),
        _ => None,
    }
    .ok_or_else(|| Refusal::missing("there is no such file"))
}

fn subject(done: &Done) -> Subject {
    let first = done.kept.sweeps.first().map_or("", |s| s.file.as_str());
    Subject {
        name: format!("of {first}"),
        description: String::new(),
        day: String::new(),
        setup: done.setup.facts(),
        kept: done.kept.clone(),
        sweeps: done.sweeps.clone(),
    }
}

/// Every number of the finding: what, where or at which frequency, value, 95 % half-width, unit.
fn csv(kept: &Kept) -> String {
    let mut rows = vec!["quantity,at_hz,at_m,value,u95,unit".to_owned()];
    let mut add =
        |what: &str, hz: Option<f64>, m: Option<f64>, value: f64, u95: f64, unit: &str| {
            let at = |x: Option<f64>| x.map_or_else(String::new, |x| x.to_string());
            rows.push(format!("{what},{},{},{value},{u95},{unit}", at(hz), at(m)));
        };
    if let Some(z) = &kept.impedance {
        add("impedance", Some(z.at_hz), None, z.ohm, z.u95_ohm, "ohm");
    }
    if let Some(d) = kept.delay {
        add("one-way delay", None, None, d.one_way_s, d.u95_s, "s");
    }
    if let Some(v) = kept.velocity_factor {
        add("velocity factor", None, None, v.ratio, v.u95, "");
    }
    if let Some(l) = &kept.length {
        add("length", None, None, l.m, l.u95_m, "m");
    }
    for row in &kept.loss {
        add("loss", Some(row.at_hz), None, row.db, row.u95_db, "dB");
    }
    for point in pictures::profile(kept).iter().flat_map(|p| &p.points) {
        add(
            "impedance along the cable",
            None,
            Some(point.at_m),
            point.ohm,
            point.u95_ohm,
            "ohm",
        );
    }
    rows.push(String::new());
    rows.join("\r\n")
}
