//! Whether it will do: one use with its checks, and the same run on other bands.

use lineproof_core::fitness::{Fitness, UseCheck};
use lineproof_core::quantity::{format_frequency, format_uncertain};
use maud::{Markup, html};

use super::arguments::UseArgs;
use super::text;
use crate::finding::from_u95;
use crate::server::form::Field;
use crate::server::live::{Form, Live, Route};
use crate::server::units::Units;
use crate::server::{parts, which_cable};

/// Fields of the question; the tag of a cable on the shelf goes with them.
const FIELDS: [Field; 12] = [
    which_cable::TYPE,
    which_cable::RATED_AS,
    Field::fact("frequency"),
    Field::fact("run"),
    Field::fact("power"),
    Field::fact("mode"),
    Field::fact("duty"),
    Field::fact("swr"),
    Field::fact("load-impedance"),
    Field::fact("system"),
    Field::fact("ambient"),
    Field::fact("most-loss"),
];

pub(super) struct UsePage;

impl Live for UsePage {
    type Arguments = UseArgs;

    const FORM: Form = Form {
        path: "/use",
        here: "/use",
        title: "Use",
        heading: "Check a cable for a use",
        intro: "Loss, VSWR, voltage and heat of one cable for one use. Power, voltage and temperature are estimates; local codes and licensed practice come first.",
        fields: &FIELDS,
        of_cable: 2,
        button: "Answer",
        clear: Some("Clear all fields"),
        first: "Start with a cable, a frequency and a run.",
        route: Route {
            path: "/api/use",
            summary: "Suitability of a cable for a use.",
            description: "Loss, VSWR, voltage and heat of a type or of a cable of the shelf at a frequency, over a run, with a\npower and a load.",
            ..Route::PLAIN
        },
        ..Form::PLAIN
    };

    fn show(fitness: &Fitness, units: Units) -> Markup {
        let run = fitness.run_m.map(|m| parts::length(m, units));
        html! {
            p.answer { (text::sentence(run.as_deref(), fitness)) }
            @if !fitness.checks.is_empty() { ul.checks { @for c in &fitness.checks { (check(c)) } } }
            div.columns {
                (parts::rows("Power", &text::power_rows(fitness)))
                @let stress = text::stress_rows(fitness);
                @if !stress.is_empty() { (parts::rows("Voltage, current, heat (estimates)", &stress)) }
                @if let Some((heading, rows)) = text::wrong_rows(fitness) {
                    div {
                        (parts::rows(&heading, &rows))
                        p.remark { (text::HALF_WAVES) }
                    }
                }
            }
            (bands(fitness))
            div.columns {
                div { (parts::sentences("Remarks", &fitness.remarks)) }
                div { (parts::sentences("Safety", &fitness.cautions)) }
            }
        }
    }
}

fn check(check: &UseCheck) -> Markup {
    let (word, condition) = match check.passes {
        Some(true) => ("fit", "sound"),
        Some(false) => ("not fit", "faulty"),
        None => ("at the limit", "suspect"),
    };
    html! { li { span.condition data-condition=(condition) { (word) } ": " (check.text) } }
}

fn bands(fitness: &Fitness) -> Markup {
    html! {
        @if !fitness.bands.is_empty() {
            div.wide tabindex="0" role="region" aria-label="Other bands" {
                table {
                    caption { "The same run, matched, on other bands" }
                    thead { tr {
                        th.value scope="col" { "Frequency" } th.value scope="col" { "Loss" }
                        th.value scope="col" { "Reaches the load" } th.value scope="col" { "Average allowed" }
                    } }
                    tbody {
                        @for band in &fitness.bands {
                            tr {
                                th.value scope="row" { (format_frequency(band.at_hz)) }
                                td.value { (format_uncertain(from_u95(band.loss_db, band.u95_db), "dB")) }
                                td.value { (format!("{:.0} %", 100.0 * band.efficiency)) }
                                td.value { (band.allowed_average_w.map_or_else(String::new, text::watts)) }
                            }
                        }
                    }
                }
            }
        }
    }
}
