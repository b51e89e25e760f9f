//! The right of the page: the finding, sentence first, then numbers, pictures, methods and advice.

use lineproof_core::finding::said::{Sentences, decision, sentences, short};
use maud::{Markup, PreEscaped, html};

use crate::facts::table;
use crate::finding::{Advice, Finding, WarningCode};

use crate::questions::assay::sessions::answer::AssayAnswer;
use crate::questions::assay::sessions::run::{Step, Working};
use crate::questions::assay::sessions::{Done, Session, Stage};
use crate::report::html as report;
use crate::server::assets;
use crate::server::refusal::Refused;
use crate::server::units::Units;
use crate::workflow::pictures;

/// Warnings that the page shows where they belong.
const SHOWN_ELSEWHERE: [WarningCode; 1] = [WarningCode::FarEndGuessed];

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
                    @match done.finding() {
                        Err(refusal) => { (not_found(&refusal.said)) }
                        Ok(finding) => { (found(&answer.id, session.name(), done, finding, units)) }
                    }
                }
            }
        }
    }
}

/// Fields that are not understood, as JSON for the script that says so beside each.
fn not_understood(answer: &AssayAnswer) -> Option<String> {
    let fields = &answer.refused.as_ref()?.fields;
    (!fields.is_empty())
        .then(|| serde_json::to_string(fields).expect("fields hold only names and words"))
}

/// What is known at once: the sweeps themselves, and whether they are those of a good cable.
fn working(id: &str, now: Option<&Working>) -> Markup {
    let seeks_faults = now.is_some_and(|now| now.step() == Step::SeekFaults);
    let sweeps = now.map_or(&[][..], |now| &now.sweeps);
    let nothing_yet = Finding::default();
    html! {
        p.looking {
            @if seeks_faults {
                "These are not the sweeps of a good cable. The program is looking for the fault. "
            } @else {
                "Working. "
            }
            noscript { a href={ "/assay/" (id) } { "Look again" } }
        }
        @if !sweeps.is_empty() {
            h2 { "The sweeps as read" }
            div.pictures {
                (still(&lineproof_draw::smith(&pictures::smith(sweeps, &nothing_yet)), "Reflections; frequency rises clockwise."))
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
        div.actions { button id="again" type="button" { "Run again" } }
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

fn found(id: &str, name: &str, done: &Done, finding: &Finding, units: Units) -> Markup {
    html! {
        (before_pictures(finding, units))
        (figures(id, done, finding, units))
        (after_pictures(finding, units))
        (saving(id))
        (keeping(id, name))
    }
}

/// The short answer, above the pictures.
fn before_pictures(finding: &Finding, units: Units) -> Markup {
    html! {
        (report::brief_decision(finding, units))
        (events(finding, units))
        div.wide tabindex="0" role="region" aria-label="At the frequencies of use" {
            (report::at_use(finding, units))
            (other_system(finding, units))
        }
        (help(&finding.advice, units))
    }
}

/// Where to say that the cable is for a system of its own impedance.
fn other_system(finding: &Finding, units: Units) -> Markup {
    let other_ohm = short::answer(finding, units)
        .at_use
        .and_then(|at| at.other_ohm);
    let field = &table::SYSTEM_IMPEDANCE.about;
    html! {
        @if let Some(ohm) = other_ohm {
            p.soft { "For a " (ohm) "-ohm system say so: " a.screen href={ "#" (field.name) } { (field.label) } }
        }
    }
}

/// Everything else, below the pictures and folded.
fn after_pictures(finding: &Finding, units: Units) -> Markup {
    let [_, _, care] = sentences::remarks(finding, units);
    html! {
        details id="all-results" {
            summary { h2 { "All results" } }
            (full(finding, units))
        }
        @if !finding.methods.is_empty() {
            details id="methods" {
                summary { h2 { "How do we know" } }
                (report::methods(finding, units))
            }
        }
        (report::sentences(&care))
    }
}

/// All that was found apart from the methods.
fn full(finding: &Finding, units: Units) -> Markup {
    let warnings = finding.warnings.iter();
    let warnings = warnings.filter(|w| !SHOWN_ELSEWHERE.contains(&w.code));
    let warnings = Sentences {
        heading: "Warnings",
        items: units.texts(warnings.map(|w| &w.text)),
    };
    html! {
        (report::everything_decided(finding, units))
        (report::sentences(&warnings))
        div.columns {
            div.wide tabindex="0" role="region" aria-label="Results" {
                (report::numbers(finding, units))
                (report::in_system(finding))
            }
            div.wide tabindex="0" role="region" aria-label="Criteria" {
                (report::criteria(finding.verdict.as_ref(), units))
            }
        }
        (report::beside_numbers(finding, units))
    }
}

/// All of the page that the finding alone makes.
pub fn page_of_finding(finding: &Finding, units: Units) -> String {
    let (before, after) = (
        before_pictures(finding, units),
        after_pictures(finding, units),
    );
    before.into_string() + &after.into_string()
}

/// Advice, each with the way to the field that takes what it gives.
fn help(advice: &[Advice], units: Units) -> Markup {
    html! {
        @if !advice.is_empty() {
            h2 { "What would help" }
            ul {
                @for one in advice {
                    li {
                        (units.text(&one.text))
                        @if let Some(field) = one.gives.map(table::given_by) {
                            ": " a.screen href={ "#" (field.name) } { (field.label) }
                        }
                    }
                }
            }
        }
    }
}

/// The events as keys: one that is pressed is shown in every picture.
fn events(finding: &Finding, units: Units) -> Markup {
    html! {
        @if !finding.events.is_empty() {
            h2 { "Along the cable" }
            ul.events {
                @for (i, event) in finding.events.iter().enumerate() {
                    li {
                        button type="button" data-event=(i) aria-pressed="false" { (decision::event_text(event, finding, units)) }
                    }
                }
            }
        }
    }
}

fn figures(id: &str, done: &Done, finding: &Finding, units: Units) -> Markup {
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
                (picture(id, "smith", &lineproof_draw::smith(&pictures::smith(&done.sweeps, finding)),
                    "Reflections; frequency rises clockwise. Circles mark the points that the methods read."))
            }
            @if let Some(profile) = pictures::profile(finding, units) {
                (picture(id, "profile", &lineproof_draw::profile(&profile),
                    "Impedance along the cable with its 95 % band."))
            }
            @if !finding.loss.is_empty() {
                (picture(id, "loss", &lineproof_draw::loss(&pictures::loss(finding)),
                    "Matched one-way loss of the piece, with the catalogue’s for the same length."))
            }
            @if !done.sweeps.is_empty() {
                (picture(id, "return-loss", &lineproof_draw::return_loss(&pictures::return_loss(&done.sweeps)),
                    "Return loss of the sweeps as read."))
            }
        }
        @if !assets::has_charts() {
            p.soft { "This build has no interactive charts, so these are still pictures." }
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

fn saving(id: &str) -> Markup {
    let files = [
        ("report.html", "Report"),
        ("finding.csv", "Numbers (CSV)"),
        ("finding.json", "Finding (JSON)"),
    ];
    html! {
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

fn keeping(id: &str, called: &str) -> Markup {
    let fields = [
        ("tag", "Tag of the cable", "mast-1"),
        ("measured_on", "Measured on", "2026-05-31, or today"),
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
