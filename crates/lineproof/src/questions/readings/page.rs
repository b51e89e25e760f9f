//! Readings typed from a screen or a meter, for whoever has no cable between analyser and computer.

use lineproof_core::quantity::format_frequency;
use maud::{Markup, html};

use super::arguments::ReadingsArgs;
use crate::finding::MethodFound;
use crate::report::number::pair;
use crate::server::form::{Field, Typed};
use crate::server::live::{Form, Live, Route};
use crate::server::parts;
use crate::server::units::Units;
use lineproof_core::finding::judge::readings::ReadingsAnswer;

/// Fields of the question. What is read most stands first in each group.
const FIELDS: [Field; 34] = [
    Field::fact("quarter-wave-resistance"),
    Field::fact("load"),
    Field::fact("eighth-wave-reactance"),
    Field::fact("eighth-wave-impedance"),
    Field::fact("eighth-wave-short-reactance"),
    Field::fact("eighth-wave-short-impedance"),
    Field::fact("eighth-wave-at"),
    Field::fact("open-impedance"),
    Field::fact("short-impedance"),
    Field::fact("pair-at"),
    Field::fact("inductance"),
    Field::fact("capacitance"),
    Field::fact("meter-at"),
    Field::fact("largest-resistance"),
    Field::fact("smallest-resistance"),
    Field::fact("quarter-wave-at"),
    Field::fact("resonance"),
    Field::fact("resonance-far-end"),
    Field::fact("round-trip-delay"),
    Field::fact("open-return-loss"),
    Field::fact("short-return-loss"),
    Field::fact("return-loss-at"),
    Field::fact("swr-peak"),
    Field::fact("swr-peak-at"),
    Field::fact("antenna-on"),
    Field::fact("low-resistance"),
    Field::fact("low-resistance-at"),
    Field::fact("length"),
    Field::fact("tape-error"),
    Field::fact("velocity-factor"),
    Field::fact("loss"),
    Field::fact("load-ohms"),
    Field::fact("marked-impedance"),
    Field::fact("marked-velocity-factor"),
];

pub(super) struct ReadingsPage;

impl Live for ReadingsPage {
    type Arguments = ReadingsArgs;

    const FORM: Form = Form {
        path: "/readings",
        here: "/readings",
        title: "Readings",
        heading: "Readings from a screen",
        intro: "Enter your readings. Every method that can use them answers, with its arithmetic. The last digit counts as the resolution: 111ohm is 111 ± 0.5 ohm. A decimal comma is as good as a point.",
        fields: &FIELDS,
        button: "Compute",
        clear: Some("Clear all fields"),
        beside: true,
        first: "The answer appears here. Two readings are enough: the resistance at the quarter wave, and the load at the far end.",
        route: Route {
            path: "/api/readings",
            summary: "The methods of the trade from values read off a screen or a meter.",
            ..Route::PLAIN
        },
        ..Form::PLAIN
    };

    /// How a line ends tells nothing by itself.
    fn is_asked(form: &Form, typed: &Typed) -> bool {
        let said = |f: &Field| f.name != "resonance-far-end" && !typed.get(f.name).is_empty();
        form.fields.iter().any(said)
    }

    fn show(found: &ReadingsAnswer, units: Units) -> Markup {
        let methods = found.methods.iter();
        let (served, unserved): (Vec<_>, Vec<_>) = methods.partition(|m| m.reason.is_none());
        html! {
            @if found.methods.is_empty() {
                p { "No method can use these readings alone: add the readings that belong to them." }
            } @else {
                p.answer { (found.sentence) }
            }
            @if !found.impossible.is_empty() { ul { @for why in &found.impossible { li { (why) } } } }
            @if !found.remarks.is_empty() { ul { @for remark in &found.remarks { li { (remark) } } } }
            @for method in served { (one(method, units)) }
            @if !unserved.is_empty() {
                h2 { "Methods that these readings do not support" }
                ul { @for method in unserved { li {
                    (method.name) ": " (method.reason.as_deref().unwrap_or(""))
                    @if let Some(would_do) = &method.would_do { "; " (would_do) }
                } } }
            }
        }
    }
}

fn one(method: &MethodFound, units: Units) -> Markup {
    html! {
        section.method {
            h2 { (method.name) }
            (parts::rows("Results", &values(method, units)))
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
