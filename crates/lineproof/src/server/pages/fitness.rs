//! What a cable is fit for: one use with its checks, and the same run on other bands.

use axum::Router;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use lineproof_core::quantity::{format_frequency, format_uncertain};
use maud::{Markup, html};

use super::source;
use crate::cli::fitness::UseArgs;
use crate::report::fitness as text;
use crate::server::form::{Field, Fields, Typed};
use crate::server::frame::Frame;
use crate::server::parts;
use crate::server::refusal::{Refusal, RefusedPage};
use crate::server::shared::Shared;
use crate::server::units::Units;
use crate::workflow::fitness::{Asked, Check, Fitness, FitnessError, fitness};

/// Fields of the question; the tag of a cable on the shelf goes with them.
pub const FIELDS: [Field; 12] = [
    source::TYPE,
    source::RATED_AS,
    Field::new("frequency", "145MHz").only("Frequency"),
    Field::new("run", "20m").only("Run; a cable of the shelf itself if empty"),
    Field::new("power", "50W").only("Power into the line, peak envelope"),
    Field::new("mode", "").only("Mode"),
    Field::new("duty", "0.5").only("Duty instead of a mode, 0 to 1"),
    Field::new("swr", "1.5").only("SWR of the load"),
    Field::new("load-impedance", "30-j20ohm").only("Load impedance instead"),
    Field::new("system", "50").only("System impedance, ohm; as the cable is sold if empty"),
    Field::new("ambient", "25C").only("Temperature around it"),
    Field::new("most-loss", "2dB").only("Most loss that the use allows"),
];

pub(super) fn router() -> Router<Shared> {
    Router::new().route("/use", get(page))
}

async fn page(
    State(shared): State<Shared>,
    units: Units,
    Query(typed): Query<Typed>,
) -> Result<Response, RefusedPage> {
    let fields = Fields::of::<UseArgs>(&FIELDS, None);
    // A link from a cable's page names the cable and nothing else: nobody has asked yet.
    let asked = !typed.is_empty(&FIELDS[2..]);
    let answer = if asked {
        Some(answered(&shared, &fields, &typed).await)
    } else {
        None
    };
    let refused = answer.as_ref().and_then(|a| a.as_ref().err()).cloned();
    let said = refused.as_ref().map(|r| &r.said);
    let main = html! {
        h1 { "Will it do?" }
        p { "Loss, SWR, voltage and heat of one cable for one use. Power, voltage and temperature are estimates; local codes and licensed practice come first." }
        form method="get" action="/use" data-live {
            (source::show(&shared, &fields, true, &typed, said).await?)
            (fields.show(&FIELDS[2..], &typed, said))
            div.actions { button.main { "Answer" } a.button href="/use" { "Empty all fields" } }
        }
        div id="answer" data-part="answer" aria-live="polite" {
            (parts::refused(said))
            @match &answer {
                Some(Ok((fitness, asked))) => (shown(fitness, asked, units)),
                Some(Err(_)) => {},
                None => p.soft { "A cable, a frequency and a run are enough to begin with." },
            }
        }
    };
    let page = Frame::new("Use", "/use").scripts(&["live.js"]).show(main);
    Ok((refused.map_or(StatusCode::OK, |r| r.status()), page).into_response())
}

/// What the cable that was named does for the use that was typed.
///
/// # Errors
/// [`Refusal`] with the field where one is to blame.
pub async fn answered(
    shared: &Shared,
    fields: &Fields,
    typed: &Typed,
) -> Result<(Fitness, Asked), Refusal> {
    let asked = fields.read::<UseArgs>(typed)?.asked();
    let cable = source::cable(shared, typed).await?;
    match fitness(&cable, &asked) {
        Ok(found) => Ok((found, asked)),
        Err(FitnessError::Cable(error)) => Err(source::not_known(&error)),
        Err(error) => Err(Refusal::bad(error.to_string())),
    }
}

fn shown(fitness: &Fitness, asked: &Asked, units: Units) -> Markup {
    let run = fitness.run_m.map(|m| parts::length(m, units));
    html! {
        p.answer { (text::sentence_with(run.as_deref(), fitness, asked)) }
        @if !fitness.checks.is_empty() { ul.checks { @for c in &fitness.checks { (check(c)) } } }
        div.columns {
            (parts::rows("Power", &text::power_rows(fitness, asked)))
            @let stress = text::stress_rows(fitness, asked);
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
            div { (parts::sentences("Take care", &fitness.cautions)) }
        }
    }
}

fn check(check: &Check) -> Markup {
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
                                th.value scope="row" { (format_frequency(band.freq_hz)) }
                                td.value { (format_uncertain(band.loss_db, "dB")) }
                                td.value { (format!("{:.0} %", 100.0 * band.efficiency)) }
                                td.value { (band.allowed_w.map_or_else(String::new, text::watts)) }
                            }
                        }
                    }
                }
            }
        }
    }
}
