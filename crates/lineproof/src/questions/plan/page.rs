//! The plan as one types.

use lineproof_core::finding::judge::advice::line_cautions;
use lineproof_core::plan::Plan;
use lineproof_core::quantity::format_frequency;
use maud::{Markup, html};

use super::arguments::PlanArgs;
use super::text;
use crate::server::form::Field;
use crate::server::live::{Form, Live, Route};
use crate::server::parts;
use crate::server::units::Units;

const FIELDS: [Field; 7] = [
    Field::fact("length"),
    Field::fact("dielectric"),
    Field::fact("velocity-factor"),
    Field::fact("frequency"),
    Field::fact("resolution"),
    Field::fact("points"),
    Field::fact("analyser"),
];

pub(super) struct PlanPage;

impl Live for PlanPage {
    type Arguments = PlanArgs;

    const FORM: Form = Form {
        path: "/plan",
        here: "/plan",
        title: "Plan a sweep",
        heading: "Plan a sweep",
        intro: "What to set on the analyser before you measure. Write quantities with their unit: 12m, 39ft, 2,4m, 145MHz.",
        fields: &FIELDS,
        button: "Plan",
        first: "Start with a rough length.",
        route: Route {
            path: "/api/plan",
            summary: "Plans a sweep.",
            description: "Start, stop and points for a cable of roughly known length, and what that sweep cannot show.",
            ..Route::PLAIN
        },
        ..Form::PLAIN
    };

    fn show(plan: &Plan, units: Units) -> Markup {
        html! {
            p.answer { (text::sentence(plan)) }
            div.wide tabindex="0" role="region" aria-label="Settings" {
                table.list {
                    caption { "Settings" }
                    thead { tr {
                        th scope="col" { "Sweep" } th.value scope="col" { "Start" } th.value scope="col" { "Stop" }
                        th.value scope="col" { "Points" } th.value scope="col" { "Step" } th.value scope="col" { "Phase step" }
                    } }
                    tbody {
                        @for (i, sweep) in plan.sweeps.iter().enumerate() {
                            tr {
                                th scope="row" { (i + 1) }
                                td.value { (format_frequency(sweep.start_hz)) }
                                td.value { (format_frequency(sweep.stop_hz)) }
                                td.value { (sweep.points) }
                                td.value { (format_frequency(text::rounded(sweep.step_hz))) }
                                td.value { (format!("{:.0}°", sweep.phase_step_deg)) }
                            }
                        }
                    }
                }
            }
            div.columns {
                div { (parts::sentences("Why", &units.texts(&plan.reasons))) (parts::sentences("Not possible with this analyser", &units.texts(&plan.shortfalls))) }
                div { (parts::sentences("What this sweep will not show", &units.texts(&plan.blind))) (parts::sentences("Safety", &line_cautions())) }
            }
        }
    }
}
