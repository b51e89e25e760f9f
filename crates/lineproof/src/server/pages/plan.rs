//! Which sweep to take, while one types.

use axum::Router;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use lineproof_core::plan::{Plan, plan};
use lineproof_core::quantity::format_frequency;
use maud::{Markup, html};

use super::parts;
use crate::cli::plan::PlanArgs;
use crate::report::plan as text;
use crate::server::form::{Field, Fields, Typed};
use crate::server::frame::Frame;
use crate::server::refusal::Refusal;
use crate::server::shared::Shared;
use crate::server::units::Units;
use lineproof_core::finding::judge::advice::line_cautions;

/// Fields of the question.
pub const FIELDS: [Field; 7] = [
    Field::new("length", "12m or 10m..20m").label("Length"),
    Field::new("dielectric", "").label("Dielectric"),
    Field::new("velocity-factor", "0.66").label("Velocity factor instead"),
    Field::new("frequency", "145MHz, 435MHz").label("Frequencies of interest"),
    Field::new("resolution", "30cm").label("Resolution"),
    Field::new("points", "401").label("Points of the analyser"),
    Field::new("analyser", "50kHz..900MHz").label("Range of the analyser"),
];

pub(super) fn router() -> Router<Shared> {
    Router::new().route("/plan", get(page))
}

async fn page(State(_): State<Shared>, units: Units, Query(typed): Query<Typed>) -> Response {
    let fields = Fields::of::<PlanArgs>(&FIELDS, None);
    let answer = (!typed.is_empty(&FIELDS)).then(|| planned(&fields, &typed));
    let refused = match &answer {
        Some(Err(refusal)) => Some(refusal.clone()),
        _ => None,
    };
    let said = refused.as_ref().map(|r| &r.said);
    let main = html! {
        h1 { "Plan a sweep" }
        p { "What to set on the analyser, before you measure. Quantities carry their unit: 12m, 39ft, 2,4m, 145MHz." }
        form method="get" action="/plan" data-live {
            (fields.show(&FIELDS, &typed, said))
            div.actions { button.main { "Plan" } }
        }
        div id="answer" data-part="answer" aria-live="polite" {
            (parts::refused(said))
            @match &answer {
                Some(Ok(plan)) => (shown(plan)),
                Some(Err(_)) => {},
                None => p.soft { "A rough length is enough to begin with." },
            }
        }
    };
    let page = Frame::new("Plan a sweep", "/plan", units)
        .scripts(&["live.js"])
        .show(&main);
    (refused.map_or(StatusCode::OK, |r| r.status()), page).into_response()
}

/// The plan for what was typed.
///
/// # Errors
/// [`Refusal`] with the field where one is to blame.
pub fn planned(fields: &Fields, typed: &Typed) -> Result<Plan, Refusal> {
    let request = fields.read::<PlanArgs>(typed)?.request();
    plan(&request).map_err(|error| Refusal::bad(error.to_string()))
}

fn shown(plan: &Plan) -> Markup {
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
                            td.value { (format_frequency(text::rounded(sweep.step_hz()))) }
                            td.value { (format!("{:.0}°", sweep.phase_step_deg)) }
                        }
                    }
                }
            }
        }
        div.columns {
            div { (parts::sentences("Why", &plan.reasons)) (parts::sentences("Not possible with this analyser", &plan.shortfalls)) }
            div { (parts::sentences("What this will not show", &plan.blind)) (parts::sentences("Take care", &line_cautions())) }
        }
    }
}
