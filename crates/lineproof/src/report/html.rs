//! A report as one HTML page that needs nothing else and prints well: for each cable first what the
//! one who decides must know, then pictures, numbers, methods with their arithmetic, set-up, warnings.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::content;
use super::subject::Subject;
use super::units::Units;
use crate::kept::{Kept, Verdict};

const STYLE: &str = include_str!("report.css");

/// The whole page.
pub fn page(subjects: &[Subject]) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (content::title(subjects)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                @if subjects.len() > 1 { (overview(subjects)) }
                @for (i, subject) in subjects.iter().enumerate() { (cable(i, subject)) }
            }
        }
    }
    .into_string()
}

fn overview(subjects: &[Subject]) -> Markup {
    html! {
        section.cable {
            h1 { (content::title(subjects)) }
            p.facts { (content::counts(subjects)) }
            table.overview {
                thead { tr { @for name in content::OVERVIEW_COLUMNS { th { (name) } } } }
                tbody {
                    @for (i, subject) in subjects.iter().enumerate() {
                        @let [name, rest @ ..] = content::overview(subject);
                        tr {
                            td { a href={ "#cable-" (i) } { (name) } }
                            @for cell in rest { td { (cell) } }
                        }
                    }
                }
            }
        }
    }
}

fn cable(number: usize, subject: &Subject) -> Markup {
    let kept = &subject.kept;
    html! {
        section.cable id={ "cable-" (number) } {
            h1 { "Cable " (subject.name) }
            p.facts { (content::facts(subject)) }
            (decision(kept, Units::Metres))
            (criteria(kept.verdict.as_ref()))
            (numbers(kept, Units::Metres))
            (in_system(kept))
            (calibration(kept))
            (figures(number, subject))
            (methods(kept))
            (setup(subject))
            (sentences("Warnings", kept.warnings.iter().map(|w| w.text.as_str())))
            (sentences("What would help", kept.advice.iter().map(String::as_str)))
            div.last {
                (cautions(kept))
                p.origin { (content::origin(kept)) }
            }
        }
    }
}

/// What it is, whether it is sound, why, and what to do.
pub(crate) fn decision(kept: &Kept, units: Units) -> Markup {
    let condition = kept.condition.as_deref().unwrap_or("not judged");
    html! {
        div.decision data-condition=(condition) {
            p.sentence { (kept.sentence_in(units)) }
            dl {
                @for row in content::decision(kept, units) {
                    dt { (row.name) } dd data-event=[row.event] { (row.text) }
                }
            }
        }
    }
}

/// Each criterion, whether it is kept, and where the limit comes from.
pub(crate) fn criteria(verdict: Option<&Verdict>) -> Markup {
    let criteria = content::criteria(verdict);
    html! {
        @if !criteria.is_empty() {
            h2 { (content::CRITERIA) }
            table.criteria {
                tbody {
                    @for [kept, text, source] in &criteria {
                        tr { th scope="row" { (kept) } td { (text) } td.remark { (source) } }
                    }
                }
            }
        }
    }
}

/// Every number with its interval, unit and what goes with it.
pub(crate) fn numbers(kept: &Kept, units: Units) -> Markup {
    let rows = content::numbers(kept, units);
    html! {
        @if !rows.is_empty() {
            h2 { "Numbers" }
            table.numbers {
                tbody {
                    @for [name, value, unit, note] in &rows {
                        tr { th scope="row" { (name) } td.value { (value) } td { (unit) } td { (note) } }
                    }
                }
            }
        }
    }
}

/// The piece between ends of the impedance that was named.
pub(crate) fn in_system(kept: &Kept) -> Markup {
    let Some((heading, rows)) = content::in_system(kept) else {
        return html! {};
    };
    html! {
        h2 { (heading) }
        table.numbers {
            thead { tr { @for name in content::SYSTEM_COLUMNS { th { (name) } } } }
            tbody {
                @for [freq, rest @ ..] in &rows {
                    tr { th scope="row" { (freq) } @for cell in rest { td { (cell) } } }
                }
            }
        }
    }
}

/// What long lines show of the calibration.
pub(crate) fn calibration(kept: &Kept) -> Markup {
    let left = kept.calibration.iter().map(|left| left.text.as_str());
    sentences(content::CALIBRATION, left)
}

fn figures(number: usize, subject: &Subject) -> Markup {
    // Ids inside of pictures must differ from cable to cable.
    let unique = |svg: &str| {
        let svg = svg.replace("id=\"", &format!("id=\"c{number}-"));
        PreEscaped(svg.replace(
            "aria-labelledby=\"",
            &format!("aria-labelledby=\"c{number}-"),
        ))
    };
    html! {
        h2 { "Pictures" }
        @for picture in content::pictures(subject) {
            figure.square[picture.name == "smith"] {
                (unique(&picture.svg))
                figcaption { (picture.caption) }
            }
        }
    }
}

/// Each method by itself, with its arithmetic.
pub(crate) fn methods(kept: &Kept) -> Markup {
    html! {
        @if content::served(kept).next().is_some() { h2 { (content::METHODS) } }
        @for method in content::served(kept) {
            div.method {
                h3 { (content::method_title(method)) }
                ol { @for step in &method.steps { li { (step) } } }
                @for remark in &method.remarks { p.remark { (remark) } }
            }
        }
        @if let Some(unserved) = content::unserved(kept) { p.remark { (unserved) } }
    }
}

pub(crate) fn setup(subject: &Subject) -> Markup {
    html! {
        h2 { "Set-up" }
        table.files {
            thead { tr { @for name in content::SWEEP_COLUMNS { th { (name) } } } }
            tbody {
                @for row in content::sweeps(&subject.kept) {
                    tr { @for cell in row { td { (cell) } } }
                }
            }
        }
        dl { @for (name, value) in &subject.setup { dt { (name) } dd { (value) } } }
    }
}

/// A list under its heading, if there is anything to list.
pub(crate) fn sentences<'a>(heading: &str, items: impl Iterator<Item = &'a str>) -> Markup {
    let items: Vec<&str> = items.collect();
    html! {
        @if !items.is_empty() {
            h2 { (heading) }
            ul { @for item in items { li { (item) } } }
        }
    }
}

/// Care for whoever connects an analyser again.
pub(crate) fn cautions(kept: &Kept) -> Markup {
    sentences(
        "Take care",
        content::cautions(kept).iter().map(String::as_str),
    )
}
