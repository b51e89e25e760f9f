//! Readings typed from a screen or a meter, for whoever has no cable between analyser and computer.

use axum::Router;
use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use lineproof_core::method::readings::{Answer, answer};
use lineproof_core::quantity::format_frequency;
use maud::{Markup, html};

use super::parts;
use crate::cli::readings::ReadingsArgs;
use crate::finding::MethodFound;
use crate::report::number::pair;
use crate::report::readings as text;
use crate::server::form::{Field, Fields, Typed};
use crate::server::frame::Frame;
use crate::server::refusal::Refusal;
use crate::server::shared::Shared;
use crate::server::units::Units;

/// Fields of the question. What is read most stands first in each group.
pub const FIELDS: [Field; 34] = [
    Field::new("quarter-wave-resistance", "111ohm"),
    Field::new("load", "50ohm"),
    Field::new("eighth-wave-reactance", "-74.1ohm"),
    Field::new("eighth-wave-impedance", "74.1ohm"),
    Field::new("eighth-wave-short-reactance", "75.2ohm"),
    Field::new("eighth-wave-short-impedance", "75.2ohm"),
    Field::new("eighth-wave-at", "12.5MHz"),
    Field::new("open-impedance", "0.9-j75.3ohm"),
    Field::new("short-impedance", "1.2+j74.9ohm"),
    Field::new("pair-at", "12MHz"),
    Field::new("inductance", "0.37uH"),
    Field::new("capacitance", "67pF"),
    Field::new("meter-at", "100kHz"),
    Field::new("largest-resistance", "111ohm"),
    Field::new("smallest-resistance", "50ohm"),
    Field::new("quarter-wave-at", "61.5MHz"),
    Field::new("resonance", "11.54MHz, 13.89MHz, 16.19MHz"),
    Field::new("resonance-far-end", ""),
    Field::new("round-trip-delay", "24.7ns"),
    Field::new("open-return-loss", "1.2dB"),
    Field::new("short-return-loss", "1.3dB"),
    Field::new("return-loss-at", "100MHz"),
    Field::new("swr-peak", "8.7"),
    Field::new("swr-peak-at", "100MHz"),
    Field::new("antenna-on", ""),
    Field::new("low-resistance", "2.1ohm"),
    Field::new("low-resistance-at", "61.5MHz"),
    Field::new("length", "2.4m"),
    Field::new("tape-error", "5mm"),
    Field::new("velocity-factor", "0.66"),
    Field::new("loss", "0.3dB"),
    Field::new("load-ohms", "49.97"),
    Field::new("marked-impedance", "75"),
    Field::new("marked-velocity-factor", "0.66"),
];

pub(super) fn router() -> Router<Shared> {
    Router::new().route("/readings", get(page))
}

async fn page(units: Units, Query(typed): Query<Typed>) -> Response {
    let fields = Fields::of::<ReadingsArgs>(&FIELDS, None);
    let asked = FIELDS
        .iter()
        .any(|f| f.name != "resonance-far-end" && !typed.get(f.name).is_empty());
    let found = asked.then(|| answered(&fields, &typed));
    let refused = match &found {
        Some(Err(refusal)) => Some(refusal.clone()),
        _ => None,
    };
    let said = refused.as_ref().map(|r| &r.said);
    let main = html! {
        h1 { "Readings from a screen" }
        p { "Type what you read; every method that it serves answers, with its arithmetic. The last digit counts as the resolution: 111ohm is 111 ± 0.5 ohm. A decimal comma is as good as a point." }
        div.columns.lead {
            form method="get" action="/readings" data-live {
                (fields.show(&FIELDS, &typed, said))
                div.actions { button.main { "Work it out" } a.button href="/readings" { "Empty all fields" } }
            }
            div.beside id="answer" data-part="answer" aria-live="polite" {
                (parts::refused(said))
                @match &found {
                    Some(Ok(found)) => (shown(found, units)),
                    Some(Err(_)) => {},
                    None => p.soft { "The answer appears here. Two readings are enough: the resistance at the quarter wave and the load that was on it." },
                }
            }
        }
    };
    let page = Frame::new("Readings", "/readings", units)
        .scripts(&["live.js"])
        .show(&main);
    (refused.map_or(StatusCode::OK, |r| r.status()), page).into_response()
}

/// What the readings that were typed give.
///
/// # Errors
/// [`Refusal`] with the field where one is to blame.
pub fn answered(fields: &Fields, typed: &Typed) -> Result<Answer, Refusal> {
    let readings = fields.read::<ReadingsArgs>(typed)?.readings();
    let readings = readings.map_err(|error| Refusal::bad(error.to_string()))?;
    Ok(answer(&readings))
}

fn shown(found: &Answer, units: Units) -> Markup {
    let methods = text::methods_found(found);
    let (served, unserved): (Vec<_>, Vec<_>) = methods.iter().partition(|m| m.reason.is_none());
    html! {
        @if methods.is_empty() {
            p { "No method can use these readings alone: give the ones that belong to them as well." }
        } @else {
            p.answer { (text::sentence(found)) }
        }
        @if !found.impossible.is_empty() { ul { @for why in &found.impossible { li { (why) } } } }
        @if !found.remarks.is_empty() { ul { @for remark in &found.remarks { li { (remark) } } } }
        @for method in served { (one(method, units)) }
        @if !unserved.is_empty() {
            h2 { "Not served by these readings" }
            ul { @for method in unserved { li {
                (method.name) ": " (method.reason.as_deref().unwrap_or(""))
                @if let Some(would_do) = &method.would_do { "; " (would_do) }
            } } }
        }
    }
}

fn one(method: &MethodFound, units: Units) -> Markup {
    html! {
        section.method {
            h2 { (method.name) }
            (parts::rows("What it gives", &values(method, units)))
            ol.steps { @for step in &method.steps { li { (step) } } }
            @for remark in &method.remarks { p.remark { (remark) } }
        }
    }
}

fn values(method: &MethodFound, units: Units) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    let mut add = |name: &str, value: f64, u95: f64, unit: &str, at_hz: Option<f64>| {
        let (value, u95) = pair(value, u95);
        let at = at_hz.map_or_else(String::new, |f| format!("at {}", format_frequency(f)));
        let value = format!("{value} ± {u95} {unit}").trim_end().to_owned();
        rows.push(vec![name.to_owned(), value, at]);
    };
    if let (Some(ohm), Some(u95)) = (method.ohm, method.u95_ohm) {
        add("impedance", ohm, u95, "ohm", method.at_hz);
    }
    if let (Some(delay), Some(u95)) = (method.one_way_s, method.u95_s) {
        add(
            "delay, one way",
            delay * 1e9,
            u95 * 1e9,
            "ns",
            method.delay_at_hz,
        );
    }
    if let Some(vf) = method.velocity_factor {
        add("velocity factor", vf.ratio, vf.u95, "", None);
    }
    if let (Some(length), Some(u95)) = (method.length_m, method.u95_m) {
        let (length, u95) = (units.of_m(length), units.of_m(u95));
        add("length", length, u95, units.length(), None);
    }
    for loss in &method.loss {
        add("loss", loss.db, loss.u95_db, "dB", loss.at_hz);
    }
    rows
}
