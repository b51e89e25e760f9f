//! A report as one HTML page that needs nothing else and prints well: for each cable first what the
//! one who decides must know, then pictures, numbers, methods with their arithmetic, set-up, warnings.

use lineproof_core::finding::said::at_use::USE_COLUMNS;
use lineproof_core::finding::said::{
    Number, Row, Sentences, decision, evidence, numbers, sentences, short,
};
use lineproof_core::quantity::Units;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::content;
use super::subject::Subject;
use crate::finding::{Finding, VerdictFound};

const STYLE: &str = include_str!("report.css");

/// The whole page, with lengths in these units.
pub fn page(subjects: &[Subject], units: Units) -> String {
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
                @if subjects.len() > 1 { (overview(subjects, units)) }
                @for (i, subject) in subjects.iter().enumerate() { (cable(i, subject, units)) }
            }
        }
    }
    .into_string()
}

fn overview(subjects: &[Subject], units: Units) -> Markup {
    html! {
        section.cable {
            h1 { (content::title(subjects)) }
            p.facts { (content::counts(subjects)) }
            table.overview {
                thead { tr { @for name in content::OVERVIEW_COLUMNS { th { (name) } } } }
                tbody {
                    @for (i, subject) in subjects.iter().enumerate() {
                        @let [name, rest @ ..] = content::overview(subject, units);
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

fn cable(number: usize, subject: &Subject, units: Units) -> Markup {
    let finding = &subject.finding;
    html! {
        section.cable id={ "cable-" (number) } {
            h1 { "Cable " (subject.name) }
            p.facts { (content::facts(subject)) }
            (decision(finding, units))
            (at_use(finding, units))
            @let [warnings, help, care] = sentences::remarks(finding, units);
            (sentences(&warnings)) (sentences(&help))
            (criteria(finding.verdict.as_ref(), units))
            (numbers(finding, units))
            (in_system(finding))
            (beside_numbers(finding, units))
            (figures(number, subject, units))
            (methods(finding, units))
            (setup(subject))
            div.last {
                (sentences(&care))
                p.origin { (content::origin(finding)) }
            }
        }
    }
}

/// What to do and what it is, then all that speaks for it.
pub(crate) fn decision(finding: &Finding, units: Units) -> Markup {
    decided(finding, units, &decision::decision(finding, units))
}

/// The same, as short as it can be said.
pub(crate) fn brief_decision(finding: &Finding, units: Units) -> Markup {
    decided(finding, units, &short::rows(finding, units))
}

fn decided(finding: &Finding, units: Units, rows: &[Row]) -> Markup {
    html! {
        div.decision data-condition=(finding.condition) {
            div.sentence {
                p.verdict { (short::verdict(finding, units)) }
                @if let Some(cable) = short::cable(finding, units) { p { (cable) } }
            }
            (terms(rows))
        }
    }
}

/// All that speaks for the verdict, without the verdict.
pub(crate) fn everything_decided(finding: &Finding, units: Units) -> Markup {
    // the events stand in the short answer, which shows the one that is pressed
    let rows = decision::decision(finding, units).into_iter();
    let rows: Vec<Row> = rows.map(|row| Row { event: None, ..row }).collect();
    terms(&rows)
}

fn terms(rows: &[Row]) -> Markup {
    html! {
        @if !rows.is_empty() {
            dl {
                @for row in rows { dt { (row.name) } dd data-event=[row.event] { (row.text) } }
            }
        }
    }
}

/// The line as it lies at the frequencies of use.
pub(crate) fn at_use(finding: &Finding, units: Units) -> Markup {
    let Some(at_use) = short::answer(finding, units).at_use else {
        return html! {};
    };
    html! {
        h2 { (at_use.heading) }
        (table_by_frequency(&USE_COLUMNS, &at_use.rows))
        @if let Some(note) = at_use.note { p.remark { "* " (note) } }
    }
}

/// Each criterion, whether it passes, and where the limit comes from.
pub(crate) fn criteria(verdict: Option<&VerdictFound>, units: Units) -> Markup {
    let criteria = decision::criteria(verdict, units);
    html! {
        @if !criteria.is_empty() {
            h2 { (decision::CRITERIA) }
            table.criteria {
                tbody {
                    @for [passed, text, source] in &criteria {
                        tr { th scope="row" { (passed) } td { (text) } td.remark { (source) } }
                    }
                }
            }
        }
    }
}

/// Every number with its interval, unit and what goes with it.
pub(crate) fn numbers(finding: &Finding, units: Units) -> Markup {
    let rows = numbers::numbers(finding, units);
    html! {
        @if !rows.is_empty() {
            h2 { (numbers::NUMBERS) }
            (table_of_numbers(&rows))
            @for text in numbers::below_numbers(finding, units) { p.remark { (text) } }
        }
    }
}

fn table_of_numbers(rows: &[Number]) -> Markup {
    html! {
        table.numbers {
            tbody {
                @for row in rows {
                    tr {
                        @if row.name.is_empty() { td {} } @else { th scope="row" { (row.name) } }
                        td.value { (row.value) @if !row.u95.is_empty() { " ± " (row.u95) } }
                        td { (row.unit) }
                        td { (row.note) }
                    }
                }
            }
        }
    }
}

/// The piece between ends of the impedance that was named.
pub(crate) fn in_system(finding: &Finding) -> Markup {
    let Some((heading, rows)) = numbers::in_system(finding) else {
        return html! {};
    };
    html! {
        h2 { (heading) }
        (table_by_frequency(&numbers::SYSTEM_COLUMNS, &rows))
    }
}

/// A row for each frequency, which stands first in it.
fn table_by_frequency<const N: usize>(columns: &[&str; N], rows: &[[String; N]]) -> Markup {
    html! {
        table.numbers.by-frequency {
            thead { tr {
                @for name in columns {
                    @if name.is_empty() { td {} } @else { th scope="col" { (name) } }
                }
            } }
            tbody {
                @for row in rows {
                    tr {
                        @for (i, cell) in row.iter().enumerate() {
                            @if i == 0 { th scope="row" { (cell) } }
                            @else { td.value data-column=(columns[i]) { (cell) } }
                        }
                    }
                }
            }
        }
    }
}

/// What stands beside the numbers: calibration, caliper, how small a fault would have shown.
pub(crate) fn beside_numbers(finding: &Finding, units: Units) -> Markup {
    html! { @for part in sentences::beside_numbers(finding, units) { (sentences(&part)) } }
}

fn figures(number: usize, subject: &Subject, units: Units) -> Markup {
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
        @for picture in content::pictures(subject, units) {
            figure.square[picture.name == "smith"] {
                (unique(&picture.svg))
                figcaption { (picture.caption) }
            }
        }
    }
}

/// Each method by itself, with its arithmetic.
pub(crate) fn methods(finding: &Finding, units: Units) -> Markup {
    let unserved = evidence::unserved(&finding.methods);
    html! {
        @if evidence::served(&finding.methods).next().is_some() { h2 { (evidence::METHODS) } }
        @for method in evidence::served(&finding.methods) {
            div.method {
                h3 { (evidence::method_title(method, units)) }
                ol { @for step in evidence::steps(method, units) { li { (step) } } }
                @for remark in &method.remarks { p.remark { (units.text(remark)) } }
            }
        }
        @if !unserved.is_empty() {
            h2 { (evidence::UNSERVED) }
            @for text in &unserved { p.remark { (text) } }
        }
    }
}

pub(crate) fn setup(subject: &Subject) -> Markup {
    html! {
        h2 { "Set-up" }
        table.files {
            thead { tr { @for name in evidence::SWEEP_COLUMNS { th { (name) } } } }
            tbody {
                @for row in evidence::sweeps(&subject.finding) {
                    tr { @for cell in row { td { (cell) } } }
                }
            }
        }
        dl { @for (name, value) in &subject.setup { dt { (name) } dd { (value) } } }
    }
}

/// A list under its heading, if there is anything to list.
pub(crate) fn sentences(list: &Sentences) -> Markup {
    html! {
        @if !list.items.is_empty() {
            h2 { (list.heading) }
            ul { @for item in &list.items { li { (item) } } }
        }
    }
}
