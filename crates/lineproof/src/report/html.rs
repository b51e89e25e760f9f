//! A report as one HTML page that needs nothing else and prints well: for each cable first what the
//! one who decides must know, then pictures, numbers, methods with their arithmetic, set-up, warnings.

use lineproof_core::quantity::format_frequency;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::number::{pair, percent};
use super::units::Units;
use crate::kept::{Kept, Method, Verdict};
use crate::workflow::advice::line_cautions;
use crate::workflow::pictures::{self, Shown};

/// One cable of a report.
#[derive(Clone, Debug)]
pub struct Subject {
    /// Tag, or how the cable is called.
    pub name: String,
    /// What the owner says of it.
    pub description: String,
    /// Day of the sweeps, if known.
    pub day: String,
    /// Analyser, kit and the like: what and which.
    pub setup: Vec<(&'static str, String)>,
    /// The finding.
    pub kept: Kept,
    /// The sweeps.
    pub sweeps: Vec<Shown>,
}

const STYLE: &str = include_str!("report.css");

/// The whole page.
pub fn page(subjects: &[Subject]) -> String {
    let title = match subjects {
        [only] => format!("Cable {}", only.name),
        many => format!("{} cables", many.len()),
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
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
            h1 { (subjects.len()) " cables" }
            p.facts { (counts(subjects)) }
            table.overview {
                thead { tr { th { "cable" } th { "found" } th { "condition" } th { "what to do" } } }
                tbody {
                    @for (i, subject) in subjects.iter().enumerate() {
                        tr {
                            td { a href={ "#cable-" (i) } { (subject.name) } }
                            td { (subject.kept.sentence()) }
                            td { (subject.kept.condition.as_deref().unwrap_or("not judged")) }
                            td { (subject.kept.verdict.as_ref().map_or_else(String::new, Verdict::words)) }
                        }
                    }
                }
            }
        }
    }
}

/// How many cables there are for each thing to do, the most frequent first.
fn counts(subjects: &[Subject]) -> String {
    let mut counts: Vec<(String, usize)> = Vec::new();
    for subject in subjects {
        let verdict = subject.kept.verdict.as_ref();
        let words = verdict.map_or_else(|| "not judged".to_owned(), Verdict::words);
        match counts.iter_mut().find(|(known, _)| *known == words) {
            Some((_, count)) => *count += 1,
            None => counts.push((words, 1)),
        }
    }
    counts.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let counts = counts
        .iter()
        .map(|(words, count)| format!("{words}: {count}"));
    counts.collect::<Vec<_>>().join(", ")
}

fn cable(number: usize, subject: &Subject) -> Markup {
    let kept = &subject.kept;
    html! {
        section.cable id={ "cable-" (number) } {
            h1 { "Cable " (subject.name) }
            p.facts {
                (subject.description)
                @if !subject.description.is_empty() && !subject.day.is_empty() { ", " }
                @if !subject.day.is_empty() { "swept " (subject.day) }
            }
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
            (cautions(kept))
            p.origin {
                "Made by lineproof " (kept.program_version.as_deref().unwrap_or("of unknown version"))
                ". Each ± is the half-width of a 95 % interval."
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
                dt { "Condition" } dd { (condition) }
                @for reason in &kept.condition_reasons { dt {} dd { (reason) } }
                @if let Some(verdict) = &kept.verdict {
                    dt { "What to do" } dd { (verdict.words()) }
                    @for (i, reason) in verdict.reasons.iter().enumerate() {
                        dt { @if i == 0 { "Why, how" } }
                        dd { (reason) }
                    }
                }
                @if kept.condition.as_deref() == Some("undetermined") {
                    @for (i, warning) in kept.warnings.iter().enumerate() {
                        dt { @if i == 0 { "Warnings" } }
                        dd { (warning.text) }
                    }
                }
                @for (i, event) in kept.events.iter().enumerate() {
                    dt { "Found" } dd data-event=(i) { (event.text_in(units)) }
                }
                @if let Some(marking) = &kept.marking {
                    dt { "Jacket" }
                    dd {
                        (marking.designation.as_deref().unwrap_or("its figures"))
                        @match marking.agrees {
                            Some(true) => ": agrees",
                            Some(false) => ": does not agree",
                            None => ": nothing to compare",
                        }
                    }
                    @for difference in &marking.differences { dt {} dd { (difference.text) } }
                    @for text in marking.explanation.iter().chain(&marking.remarks) { dt {} dd { (text) } }
                }
                @if !kept.types.is_empty() {
                    dt { "Type" }
                    dd {
                        @for (i, kind) in kept.types.iter().take(3).enumerate() {
                            @if i > 0 { ", " }
                            (kind.designation) " (" (percent(kind.probability)) ")"
                        }
                    }
                }
            }
        }
    }
}

/// Each criterion, whether it is kept, and where the limit comes from.
pub(crate) fn criteria(verdict: Option<&Verdict>) -> Markup {
    let criteria = verdict.map_or(&[][..], |verdict| &verdict.criteria);
    html! {
        @if !criteria.is_empty() {
            h2 { "By these criteria" }
            table.criteria {
                tbody {
                    @for criterion in criteria {
                        tr {
                            th scope="row" { @if criterion.passed { "kept" } @else { "NOT kept" } }
                            td { (criterion.text) }
                            td.remark { "default: " (criterion.source) }
                        }
                    }
                }
            }
        }
    }
}

/// Every number with its interval, unit and what goes with it.
pub(crate) fn numbers(kept: &Kept, units: Units) -> Markup {
    let mut rows: Vec<[String; 4]> = Vec::new();
    let mut add = |name: &str, value: f64, u95: f64, unit: &str, note: String| {
        let (value, u95) = pair(value, u95);
        rows.push([
            name.to_owned(),
            format!("{value} ± {u95}"),
            unit.to_owned(),
            note,
        ]);
    };
    if let Some(z) = &kept.impedance {
        let note = format!(
            "at {}, limited by {}",
            format_frequency(z.at_hz),
            z.limited_by
        );
        add("impedance", z.ohm, z.u95_ohm, "ohm", note);
    }
    if let Some(d) = kept.delay {
        add(
            "delay, one way",
            d.one_way_s * 1e9,
            d.u95_s * 1e9,
            "ns",
            String::new(),
        );
    }
    if let Some(vf) = kept.velocity_factor {
        add("velocity factor", vf.ratio, vf.u95, "", String::new());
    }
    if let Some(length) = &kept.length {
        add(
            "length",
            units.of_m(length.m),
            units.of_m(length.u95_m),
            units.length(),
            format!("by {}", length.basis),
        );
    }
    for row in &kept.loss {
        let per_100m = row.db_per_100m.map_or_else(String::new, |db| {
            let db = units.of_db_per_100m(db);
            format!(", {db:.1} {}", units.attenuation())
        });
        let note = format!("at {}{per_100m}", format_frequency(row.at_hz));
        add("loss", row.db, row.u95_db, "dB", note);
    }
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
    let Some(system) = &kept.system else {
        return html! {};
    };
    html! {
        h2 { "Between " (system.ohm) " ohm at both ends, at most" }
        table.numbers {
            thead {
                tr {
                    th {} th { "SWR" } th { "return loss" } th { "SWR, worst length" } th { "return loss" }
                    th { "more loss" }
                }
            }
            tbody {
                @for row in &system.rows {
                    tr {
                        th scope="row" { (format_frequency(row.at_hz)) }
                        td { (format!("{:.2}", row.highest_swr)) }
                        td { (format!("{:.1} dB", row.least_return_loss_db)) }
                        td { (format!("{:.2}", row.swr_at_worst_length)) }
                        td { (format!("{:.1} dB", row.return_loss_db_at_worst_length)) }
                        td { (format!("{:.2} dB", row.most_extra_loss_db)) }
                    }
                }
            }
        }
    }
}

/// What long lines show of the calibration.
pub(crate) fn calibration(kept: &Kept) -> Markup {
    let left = kept.calibration.iter().map(|left| left.text.as_str());
    sentences("What the calibration left", left)
}

fn figures(number: usize, subject: &Subject) -> Markup {
    let kept = &subject.kept;
    // Ids inside of pictures must differ from cable to cable.
    let unique = |svg: String| {
        let svg = svg.replace("id=\"", &format!("id=\"c{number}-"));
        PreEscaped(svg.replace(
            "aria-labelledby=\"",
            &format!("aria-labelledby=\"c{number}-"),
        ))
    };
    html! {
        h2 { "Pictures" }
        @if !subject.sweeps.is_empty() {
            figure.square {
                (unique(lineproof_draw::smith(&pictures::smith(&subject.sweeps, kept))))
                figcaption { "Reflections, clockwise with rising frequency. Circled: the points that methods read." }
            }
        }
        @if let Some(profile) = pictures::profile(kept) {
            figure {
                (unique(lineproof_draw::profile(&profile)))
                figcaption { "Impedance along the cable with its 95 % band." }
            }
        }
        @if !kept.loss.is_empty() {
            figure {
                (unique(lineproof_draw::loss(&pictures::loss(kept))))
                figcaption {
                    "Loss of the piece, one way, as if everything were matched."
                    @if let [_, ..] = pictures::beside(kept)[..] {
                        " Beside it what the catalogue has for a piece as long."
                        @for (id, document) in sources(kept) { " [" (id) "] " (document) "." }
                    }
                }
            }
        }
        @if !subject.sweeps.is_empty() {
            figure {
                (unique(lineproof_draw::return_loss(&pictures::return_loss(&subject.sweeps))))
                figcaption { "Return loss of the sweeps as they were read." }
            }
        }
    }
}

/// Documents behind the catalogue's curves, each once.
fn sources(kept: &Kept) -> Vec<(&'static str, &'static str)> {
    let all = pictures::beside(kept);
    let mut documents: Vec<_> = all.iter().filter_map(pictures::Beside::document).collect();
    documents.dedup();
    documents
}

/// Each method by itself, with its arithmetic.
pub(crate) fn methods(kept: &Kept) -> Markup {
    let (served, unserved): (Vec<&Method>, Vec<&Method>) =
        kept.methods.iter().partition(|m| m.reason.is_none());
    html! {
        @if !served.is_empty() { h2 { "Each method by itself, to check with a calculator" } }
        @for method in served {
            div.method {
                h3 {
                    (method.name)
                    @if let (Some(ohm), Some(u95)) = (method.ohm, method.u95_ohm) {
                        @let (value, u95) = pair(ohm, u95);
                        ": " (value) " ± " (u95) " ohm"
                    }
                }
                ol { @for step in &method.steps { li { (step) } } }
                @for remark in &method.remarks { p.remark { (remark) } }
            }
        }
        @if !unserved.is_empty() {
            p.remark {
                "Not served by these sweeps: "
                @for (i, method) in unserved.iter().enumerate() {
                    @if i > 0 { "; " }
                    (method.name) " (" (method.reason.as_deref().unwrap_or("")) ")"
                }
                "."
            }
        }
    }
}

pub(crate) fn setup(subject: &Subject) -> Markup {
    html! {
        h2 { "Set-up" }
        table.files {
            thead { tr { th { "sweep" } th { "far end" } th { "points" } th { "from" } th { "to" } } }
            tbody {
                @for sweep in &subject.kept.sweeps {
                    tr {
                        td { (sweep.file) }
                        td { (sweep.far_end) @if sweep.guessed && sweep.far_end != "through" { ", judged" } }
                        td { (sweep.points) }
                        td { (format_frequency(sweep.start_hz)) }
                        td { (format_frequency(sweep.stop_hz)) }
                    }
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

/// The finding's cautions, and always those for whoever connects an analyser again.
pub(crate) fn cautions(kept: &Kept) -> Markup {
    let always = line_cautions();
    let mut all: Vec<&str> = kept.cautions.iter().map(String::as_str).collect();
    all.extend(
        always
            .iter()
            .map(String::as_str)
            .filter(|c| !kept.cautions.iter().any(|k| k == c)),
    );
    all.push(
        "what this says about fitness is an estimate: local codes and licensed practice come first",
    );
    sentences("Take care", all.into_iter())
}
