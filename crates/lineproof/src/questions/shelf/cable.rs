//! One cable of the shelf: its newest finding with pictures, what has changed, what was decided, and
//! the forms that add to its record. Nothing is ever deleted.

use axum::extract::{Form, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use lineproof_core::finding::said::sentences;
use lineproof_core::finding::said::summary::summary;
use lineproof_record::Cable;
use maud::{Markup, PreEscaped, html};

use super::change::{Change, Said, apply};
use super::text::{History, Shown, day};
use crate::finding::Finding;

use crate::report::content;
use crate::report::html as partial;
use crate::report::subject::{self, Subject, SubjectError};
use crate::server::form::Typed;
use crate::server::frame::{Frame, Page};
use crate::server::refusal::{Refusal, Refused, RefusedPage};
use crate::server::shared::Shared;
use crate::server::units::Units;
use crate::server::{link, parts, record};

/// Everything that the page shows.
struct Looked {
    shown: Shown,
    subject: Option<Subject>,
}

/// A change that was refused, with what was typed.
struct Attempt {
    change: Change,
    said: Said,
    refused: Refused,
}

pub(super) async fn page(
    State(shared): State<Shared>,
    units: Units,
    Path(tag): Path<String>,
    Query(typed): Query<Typed>,
) -> Result<Page, RefusedPage> {
    let looked = looked(&shared, tag).await?;
    Ok(show(&looked, units, done(typed.get("done")), None))
}

/// Looks at one cable.
async fn looked(shared: &Shared, tag: String) -> Result<Looked, Refusal> {
    let look = move |shelf: &lineproof_record::Shelf| {
        let subject = match subject::of_shelf(shelf, &tag) {
            Ok(subject) => Some(subject),
            Err(SubjectError::NoAssay { .. }) => None,
            Err(SubjectError::Shelf(error)) => return Err(error.into()),
        };
        Ok(Looked {
            shown: Shown::of(shelf, &tag)?,
            subject,
        })
    };
    record::look(shared, look).await
}

/// The report of one cable, to print or to send.
pub(super) async fn report(
    State(shared): State<Shared>,
    units: Units,
    Path(tag): Path<String>,
) -> Result<axum::response::Html<String>, RefusedPage> {
    let page = record::look(&shared, move |shelf| match subject::of_shelf(shelf, &tag) {
        Ok(subject) => Ok(partial::page(&[subject], units)),
        Err(SubjectError::Shelf(error)) => Err(error.into()),
        Err(error) => Err(Refusal::missing(error.to_string())),
    });
    Ok(axum::response::Html(page.await?))
}

/// Changes the record and goes back to the page, which says so.
pub(super) async fn change(
    State(shared): State<Shared>,
    units: Units,
    Path((tag, change)): Path<(String, Change)>,
    Form(said): Form<Said>,
) -> Result<Response, RefusedPage> {
    match apply(&shared, &tag, change, &said).await {
        Ok(changed) => {
            let page = link::path(&["shelf", &changed.tag]);
            let done = link::query(&page, [("done", change.name())]);
            Ok(Redirect::to(&done).into_response())
        }
        Err(refusal) if refusal.status() == StatusCode::NOT_FOUND => Err(refusal.into()),
        Err(refusal) => {
            let attempt = Attempt {
                change,
                said,
                refused: refusal.said.clone(),
            };
            let looked = looked(&shared, tag).await?;
            let page = show(&looked, units, None, Some(&attempt));
            Ok((refusal.status(), page).into_response())
        }
    }
}

/// What is said after a change: fixed sentences, so that a link can't say anything else.
fn done(change: &str) -> Option<&'static str> {
    Some(match change {
        "edit" => "The cable is changed.",
        "retire" => "The cable is retired. Its record is kept, and you can take it back into use.",
        "take-back" => "The cable is in use again.",
        "decide" => "The decision is saved.",
        "note" => "The note is saved.",
        "again" => "Assayed again with this program. The old finding is kept.",
        "shelved" => "The cable is on the shelf, with its sweeps.",
        _ => return None,
    })
}

fn show(looked: &Looked, units: Units, done: Option<&str>, attempt: Option<&Attempt>) -> Page {
    let (shown, cable) = (&looked.shown, &looked.shown.cable);
    let findings = shown.findings();
    let history = History::of(shown, &findings);
    let main = html! {
        p.trail { a href="/shelf" { "Shelf" } }
        h1 { "Cable " (cable.tag) }
        (head(cable))
        @if let Some(done) = done { p.done role="status" { (done) } }
        @if let Some(attempt) = attempt { (parts::refused(Some(&attempt.refused))) }
        @match &looked.subject {
            Some(subject) => (finding(subject, cable, units)),
            None => p { "This cable has not been assayed yet." },
        }
        (past(shown, &history, &findings, units))
        section.screen aria-labelledby="record" {
            h2 id="record" { "Add to its record" }
            (forms(cable, attempt))
        }
    };
    let title = format!("Cable {}", cable.tag);
    Frame::new(title, "/shelf").show(main)
}

fn head(cable: &Cable) -> Markup {
    let said = [&cable.description, &cable.place]
        .into_iter()
        .filter(|s| !s.is_empty());
    let said: Vec<&str> = said.map(String::as_str).collect();
    html! {
        @if !said.is_empty() { p.soft { (said.join(", ")) } }
        @if let Some(retired) = &cable.retired {
            p.retired {
                strong { "Retired " (day(Some(&retired.at))) }
                @if !retired.why.is_empty() { ": " (retired.why) }
            }
        }
    }
}

fn finding(subject: &Subject, cable: &Cable, units: Units) -> Markup {
    let finding = &subject.finding;
    let tag = cable.tag.as_str();
    let [warnings, help, care] = sentences::remarks(finding, units);
    html! {
        p.soft { "Newest finding, of sweeps of " (subject.day) ", by lineproof "
            (finding.program_version) "." }
        (partial::decision(finding, units))
        div.wide tabindex="0" role="region" aria-label="At the frequencies of use" { (partial::at_use(finding, units)) }
        div.actions {
            a.button href=(link::path(&["shelf", tag, "report"])) { "Report to print" }
            a.button href=(link::query("/labels", [("cable", tag)])) { "Label to print" }
            a.button href=(link::query("/use", [("tag", tag)])) { "Use it" }
            a.button href=(link::query("/cut", [("tag", tag)])) { "Cut from it" }
            a.button href=(link::query("/compare", [("one", tag)])) { "Compare it" }
            a.button href=(link::path(&["api", "shelf", tag])) { "JSON" }
        }
        div.columns {
            div { (partial::sentences(&warnings)) (partial::sentences(&help)) (partial::criteria(finding.verdict.as_ref(), units)) }
            div { (partial::numbers(finding, units)) (partial::in_system(finding)) (partial::beside_numbers(finding, units)) }
        }
        (pictures(subject, units))
        details { summary { "How do we know: each method with its arithmetic" } (partial::methods(finding, units)) }
        details { summary { "Set-up and sweeps" } (partial::setup(subject)) }
        details { summary { "Safety" } (partial::sentences(&care)) }
    }
}

fn pictures(subject: &Subject, units: Units) -> Markup {
    html! {
        h2 { "Pictures" }
        div.pictures {
            @for picture in content::pictures(subject, units) {
                figure.picture { (PreEscaped(picture.svg)) figcaption { (picture.caption) } }
            }
        }
    }
}

fn past(shown: &Shown, history: &History, findings: &[Finding], units: Units) -> Markup {
    let tag = shown.cable.tag.as_str();
    html! {
        section aria-labelledby="history" {
            h2 id="history" { "History" }
            @if !shown.assays.is_empty() {
                div.wide {
                    table {
                        caption { "Assays, oldest first" }
                        thead { tr { th scope="col" { "Swept" } th scope="col" { "Sweeps" } th scope="col" { "Found" } th scope="col" { span.hush { "Compare" } } } }
                        tbody {
                            @for (i, (assay, finding)) in shown.assays.iter().zip(findings).enumerate() {
                                tr {
                                    th scope="row" { (day(Some(&assay.at))) }
                                    td.value { (assay.sweeps) }
                                    td { (summary(finding, units)) }
                                    td {
                                        @if i + 1 < shown.assays.len() {
                                            a href=(link::query("/compare", [("one", tag), ("assay", assay.id.as_str()), ("two", tag)])) { "with the newest" }
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
            }
            @for (at, changes) in &history.changes {
                h3 { "Changed by " (day(Some(at))) }
                ul { @for change in changes { li { (units.text(&change.text)) } } }
            }
            @if shown.cable.retired.is_none() { p { "Next: " (history.retest.1) "." } }
            (journal("Decisions", shown.decisions.iter().map(|d| {
                let why = if d.reason.is_empty() { "" } else { ": " };
                (d.at.as_str(), format!("{}{why}{}", d.action, d.reason))
            })))
            (journal("Notes", shown.notes.iter().map(|n| (n.at.as_str(), n.text.clone()))))
            @if shown.photos > 0 { p.soft { "Photos: " (shown.photos) "; `lineproof shelf export` gives them." } }
        }
    }
}

fn journal<'a>(heading: &str, entries: impl Iterator<Item = (&'a str, String)>) -> Markup {
    let entries: Vec<_> = entries.collect();
    html! {
        @if !entries.is_empty() {
            h3 { (heading) }
            ul { @for (at, text) in &entries { li { span.soft { (day(Some(at))) } " " (text) } } }
        }
    }
}

fn forms(cable: &Cable, attempt: Option<&Attempt>) -> Markup {
    let to = |change: Change| link::path(&["shelf", &cable.tag, change.name()]);
    let typed = |change: Change, field: fn(&Said) -> &String, else_: &str| {
        let mine = attempt.filter(|a| a.change == change);
        mine.map_or_else(|| else_.to_owned(), |a| field(&a.said).clone())
    };
    html! {
        div.columns {
            form.stack method="post" action=(to(Change::Note)) {
                h3 { "Note" }
                label for="text" { "For next year" }
                textarea id="text" name="text" rows="2" required { (typed(Change::Note, |s| &s.text, "")) }
                button { "Save the note" }
            }
            form.stack method="post" action=(to(Change::Decide)) {
                h3 { "Decision" }
                label for="action" { "Decision" }
                input id="action" name="action" list="actions" required value=(typed(Change::Decide, |s| &s.action, ""));
                datalist id="actions" { @for word in ["keep", "use elsewhere", "repair", "discard", "measure again"] { option value=(word) {} } }
                label for="decide-why" { "Why (optional)" }
                input id="decide-why" name="why" value=(typed(Change::Decide, |s| &s.why, ""));
                button { "Save the decision" }
            }
            form.stack method="post" action=(to(Change::Edit)) {
                h3 { "Tag, description, place" }
                label for="new_tag" { "Tag" }
                input id="new_tag" name="new_tag" maxlength="32" required value=(typed(Change::Edit, |s| &s.new_tag, &cable.tag));
                label for="description" { "Description" }
                input id="description" name="description" value=(typed(Change::Edit, |s| &s.description, &cable.description));
                label for="place" { "Place" }
                input id="place" name="place" value=(typed(Change::Edit, |s| &s.place, &cable.place));
                button { "Change" }
            }
            div.stack {
                form.stack method="post" action=(to(Change::Again)) {
                    h3 { "Assay again" }
                    p.soft { "From the stored sweeps, with this version of the program. The old findings are kept." }
                    button { "Assay again" }
                }
                @if cable.retired.is_some() {
                    form.stack method="post" action=(to(Change::TakeBack)) {
                        h3 { "Take back" }
                        button { "Take it back into use" }
                    }
                } @else {
                    form.stack method="post" action=(to(Change::Retire)) {
                        h3 { "Retire" }
                        label for="retire-why" { "Why (optional)" }
                        input id="retire-why" name="why" value=(typed(Change::Retire, |s| &s.why, ""));
                        button { "Retire it" }
                    }
                }
            }
        }
    }
}

impl Change {
    /// Its name in a path.
    fn name(self) -> &'static str {
        match self {
            Self::Edit => "edit",
            Self::Retire => "retire",
            Self::TakeBack => "take-back",
            Self::Decide => "decide",
            Self::Note => "note",
            Self::Again => "again",
        }
    }
}
