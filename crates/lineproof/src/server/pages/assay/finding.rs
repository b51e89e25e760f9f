//! The right of the page: the finding, sentence first, then numbers, pictures, methods and advice.

use lineproof_core::quantity::format_length;
use maud::{Markup, PreEscaped, html};

use super::form;
use crate::finding::Advice;
use crate::kept::{Event, Kept};
use crate::report::html as report;
use crate::server::assays::answer::AssayAnswer;
use crate::server::assays::run::{Step, Working};
use crate::server::assays::{Done, Session, Stage};
use crate::server::assets;
use crate::server::refusal::Refused;
use crate::server::units::Units;
use crate::workflow::pictures;

/// Warnings that the page shows where they belong.
const SHOWN_ELSEWHERE: [&str; 1] = ["far-end-guessed"];

/// The finding, or how far it is.
pub(super) fn result(session: &Session, answer: &AssayAnswer, units: Units) -> Markup {
    let stage = session.now().stage;
    html! {
        section.beside id="result" tabindex="-1" aria-label="Finding" data-stage=(answer.stage)
            data-not-understood=[not_understood(answer)] {
            @match &stage {
                Stage::Waiting => { (working(&answer.id, None)) }
                Stage::Working(now) => { (working(&answer.id, Some(now))) }
                Stage::Cancelled => { (cancelled()) }
                Stage::Refused(refused) => { (not_found(refused)) }
                Stage::Done(done) => {
                    @match &answer.refused {
                        Some(refused) => { (not_found(refused)) }
                        None => { (found(&answer.id, session.name(), done, units)) }
                    }
                }
            }
        }
    }
}

/// Fields that are not understood, as JSON for the script that says so beside each.
fn not_understood(answer: &AssayAnswer) -> Option<String> {
    let fields = &answer.refused.as_ref()?.fields;
    (!fields.is_empty()).then(|| serde_json::to_string(fields).unwrap_or_default())
}

/// What is known at once: the sweeps themselves, and whether they are those of a good cable.
fn working(id: &str, now: Option<&Working>) -> Markup {
    let seeks_faults = now.is_some_and(|now| now.step() == Step::SeekFaults);
    let sweeps = now.map_or(&[][..], |now| &now.sweeps);
    let nothing_yet = Kept::default();
    html! {
        p.looking {
            @if seeks_faults {
                "These are not the sweeps of a good cable. What is wrong with it, and where, is being looked for. "
            } @else {
                "Working. "
            }
            noscript { a href={ "/assay/" (id) } { "Look again" } }
        }
        @if !sweeps.is_empty() {
            h2 { "The sweeps as they were read" }
            div.pictures {
                (still(&lineproof_draw::smith(&pictures::smith(sweeps, &nothing_yet)), "Reflections, clockwise with rising frequency."))
                (still(&lineproof_draw::return_loss(&pictures::return_loss(sweeps)), "Return loss."))
            }
        }
    }
}

fn still(svg: &str, caption: &str) -> Markup {
    html! {
        figure.picture {
            (PreEscaped(svg))
            figcaption { (caption) }
        }
    }
}

fn cancelled() -> Markup {
    html! {
        p.refused { "Cancelled. The sweeps are still here." }
        div.actions { button id="again" type="button" { "Find again" } }
    }
}

fn not_found(refused: &Refused) -> Markup {
    html! {
        div.refused {
            p { (refused.error) }
            @for field in &refused.fields { p { (field.error) } }
            @if let Some(help) = &refused.help { p { (help) } }
        }
    }
}

fn found(id: &str, name: &str, done: &Done, units: Units) -> Markup {
    let kept = &done.kept;
    let warnings = kept.warnings.iter();
    let warnings = warnings.filter(|w| !SHOWN_ELSEWHERE.contains(&w.code.as_str()));
    let warnings = warnings.map(|w| w.text.as_str());
    let advice = done.finding().map_or(&[][..], |f| &f.advice);
    html! {
        (report::decision(kept, units))
        (events(kept, units))
        div.columns {
            div.wide { (report::numbers(kept, units)) (report::in_system(kept)) }
            div.wide { (report::criteria(kept.verdict.as_ref())) }
        }
        (report::calibration(kept))
        (report::sentences("Warnings", warnings))
        (figures(id, done))
        @if kept.methods.iter().any(|m| m.reason.is_none()) {
            details id="methods" {
                summary { h2 { "How do we know" } }
                (report::methods(kept))
            }
        }
        (help(advice))
        (report::cautions(kept))
        (saving(id, done))
        (keeping(id, name))
    }
}

/// Advice, each with the way to the field that takes what it gives.
fn help(advice: &[Advice]) -> Markup {
    html! {
        @if !advice.is_empty() {
            h2 { "What would help" }
            ul {
                @for one in advice {
                    li {
                        (one.text)
                        @if let Some(field) = one.gives.map(form::field_of) {
                            ": " a.screen href={ "#" (field.name) } { (field.label) }
                        }
                    }
                }
            }
        }
    }
}

/// The events as keys: one that is pressed is shown in every picture.
fn events(kept: &Kept, units: Units) -> Markup {
    let length_m = kept.length.as_ref().map(|l| l.m);
    html! {
        @if !kept.events.is_empty() {
            h2 { "Along the cable" }
            ul.events {
                @for (i, event) in kept.events.iter().enumerate() {
                    li {
                        button type="button" data-event=(i) aria-pressed="false" {
                            (event.text_in(units)) (from_far_end(event, length_m, units))
                        }
                    }
                }
            }
        }
    }
}

fn from_far_end(event: &Event, length_m: Option<f64>, units: Units) -> String {
    let rest = event.at_m.zip(length_m).map(|(at, length)| length - at);
    rest.filter(|m| *m >= 0.0).map_or_else(String::new, |m| {
        format!("; {:.2} {} from the far end", units.of_m(m), units.length())
    })
}

fn figures(id: &str, done: &Done) -> Markup {
    let kept = &done.kept;
    html! {
        h2 { "Pictures" }
        div.pictures id="pictures" data-id=(id) data-charts=[assets::has_charts().then(|| assets::path("charts.js"))]
            data-script=(assets::path("pictures.js")) {
            @if !done.sweeps.is_empty() {
                div.cursor hidden {
                    label for="cursor" { "Frequency" }
                    input id="cursor" type="range" min="0" max="1000" value="0";
                    button id="play" type="button" aria-pressed="false" { "Run through" }
                    output id="reading" for="cursor" {}
                }
                (picture(id, "smith", &lineproof_draw::smith(&pictures::smith(&done.sweeps, kept)),
                    "Reflections, clockwise with rising frequency. Circled: the points that methods read."))
            }
            @if let Some(profile) = pictures::profile(kept) {
                (picture(id, "profile", &lineproof_draw::profile(&profile),
                    "Impedance along the cable with its 95 % band."))
            }
            @if !kept.loss.is_empty() {
                (picture(id, "loss", &lineproof_draw::loss(&pictures::loss(kept)),
                    "Loss of the piece, one way, as if everything were matched; beside it the catalogue’s for a piece as long."))
            }
            @if !done.sweeps.is_empty() {
                (picture(id, "return-loss", &lineproof_draw::return_loss(&pictures::return_loss(&done.sweeps)),
                    "Return loss of the sweeps as they were read."))
            }
        }
        @if !assets::has_charts() {
            p.soft { "Interactive charts are not built into this program: these are still pictures." }
        }
        @if let Some(resolution) = resolution(kept) {
            p.soft { "Two places closer than " (resolution) " look like one." }
        }
    }
}

fn picture(id: &str, name: &str, svg: &str, caption: &str) -> Markup {
    html! {
        figure.picture data-picture=(name) {
            (PreEscaped(svg))
            figcaption {
                (caption) " "
                a.screen href={ "/assay/" (id) "/" (name) ".svg" } download { "Save" span.hush { " the picture: " (name) } }
            }
        }
    }
}

fn resolution(kept: &Kept) -> Option<String> {
    let metres = kept.profile.as_ref()?["resolution_m"].as_f64()?;
    Some(format_length(metres))
}

fn saving(id: &str, done: &Done) -> Markup {
    let files = [
        ("report.html", "Report"),
        ("finding.csv", "Numbers (CSV)"),
        ("finding.json", "Finding (JSON)"),
    ];
    html! {
        @if done.finding().is_ok() {
            h2.screen { "Save" }
            div.actions {
                @if cfg!(feature = "pdf") {
                    a.button href={ "/assay/" (id) "/report.pdf" } download { "Report (PDF)" }
                }
                @for (file, name) in files {
                    a.button href={ "/assay/" (id) "/" (file) } download { (name) }
                }
            }
        }
    }
}

fn keeping(id: &str, called: &str) -> Markup {
    let fields = [
        ("tag", "Tag of the cable", "mast-1"),
        ("swept_on", "Swept on", "2026-05-31, or today"),
        ("instrument", "Analyser", "in your words"),
        ("kit_note", "Calibration kit", "in your words"),
    ];
    html! {
        form id="keep" method="post" action={ "/assay/" (id) "/keep" } {
            h2 { "Keep on the shelf" }
            div.fields {
                @for (name, label, example) in fields {
                    div {
                        label for={ "keep-" (name) } { (label) }
                        input id={ "keep-" (name) } name=(name) placeholder=(example) autocomplete="off"
                            value=[(name == "tag" && !called.is_empty()).then_some(called)] required[name == "tag"];
                    }
                }
            }
            div.actions { button.main { "Keep" } span id="kept" role="status" {} }
        }
    }
}
