//! The catalogue: types that are narrowed down, one of them with its loss, and which one a cable may
//! be from what one sees of it.

use axum::Json;
use axum::extract::Path;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use lineproof_core::catalogue::{CableType, Catalogue, loss_points};
use lineproof_core::quantity::format_frequency;
use lineproof_draw::Curve;
use maud::{Markup, PreEscaped, html};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::answer::{IdentificationAnswer, TypesAnswer};
use super::arguments::{FilterArgs, SeenArgs};
use super::text;
use crate::questions::ask::Answer;
use crate::report::number::significant;
use crate::server::form::{Field, Typed};
use crate::server::frame::{Frame, Page};
use crate::server::live::{self, Form, Live, Route};
use crate::server::refusal::{Refusal, Refused, RefusedPage};
use crate::server::shared::Shared;
use crate::server::units::Units;
use crate::server::{link, parts};

/// Fields that narrow the list.
const LIST: [Field; 4] = [
    Field::fact("with"),
    Field::fact("ohms"),
    Field::fact("most-loss"),
    Field::fact("most-diameter"),
];

/// Fields of what one sees.
const SEEN: [Field; 11] = [
    Field::fact("marked"),
    Field::fact("seen-impedance"),
    Field::fact("seen-velocity-factor"),
    Field::fact("seen-loss"),
    Field::fact("seen-diameter"),
    Field::fact("seen-dielectric-diameter"),
    Field::fact("seen-inner-diameter"),
    Field::fact("seen-capacitance-per-metre"),
    Field::fact("seen-dielectric"),
    Field::fact("seen-inner"),
    Field::fact("seen-magnet"),
];

/// Frequencies of a loss curve: from, to, Hz, and how many.
const CURVE: (f64, f64, usize) = (1e6, 3e9, 120);

/// The pages and routes of the catalogue.
pub(super) fn routes() -> OpenApiRouter<Shared> {
    live::routes::<ListPage>()
        .merge(live::routes::<SeenPage>())
        .route("/type/{name}", get(one))
        .routes(routes!(one_type))
}

struct ListPage;

impl Live for ListPage {
    type Arguments = FilterArgs;

    const FORM: Form = Form {
        path: "/types",
        here: "/types",
        title: "Types",
        heading: "Types",
        fields: &LIST,
        button: "Narrow down",
        clear: Some("Show all"),
        search: Some("Types of cable"),
        route: Route {
            path: "/api/types",
            tag: "types",
            summary: "The types of the catalogue.",
            ..Route::PLAIN
        },
        ..Form::PLAIN
    };

    /// Without any field all are listed.
    fn is_asked(_form: &Form, _typed: &Typed) -> bool {
        true
    }

    fn above(_typed: &Typed) -> Markup {
        ways(Self::FORM.path)
    }

    fn show(found: &TypesAnswer, units: Units) -> Markup {
        table(&found.types, units)
    }
}

struct SeenPage;

impl Live for SeenPage {
    type Arguments = SeenArgs;

    const FORM: Form = Form {
        path: "/types/seen",
        here: "/types",
        title: "What may it be?",
        heading: "What may it be?",
        intro: "Enter what you observe and measure; empty fields do not count. With a caliper on the dielectric you need no analyser.",
        fields: &SEEN,
        button: "Tell",
        clear: Some("Clear all fields"),
        beside: true,
        first: "The types that fit appear here.",
        route: Route {
            path: "/api/identify",
            tag: "types",
            summary: "Possible types of a cable, from what is observed.",
            ..Route::PLAIN
        },
        ..Form::PLAIN
    };

    fn above(_typed: &Typed) -> Markup {
        html! { (ways(Self::FORM.path)) p { (Self::FORM.intro) } }
    }

    fn show(found: &IdentificationAnswer, _units: Units) -> Markup {
        probable(found)
    }
}

/// One type with its figures and their sources.
#[utoipa::path(get, path = "/api/types/{name}", tag = "types", params(("name" = String, Path, description = "Designation or alias")),
    responses((status = 200, body = ref("#/components/schemas/TypesAnswer")), (status = 404, body = Refused)))]
async fn one_type(Path(name): Path<String>) -> Result<Response, Refusal> {
    let found = Catalogue::built_in().find(&name);
    let found = found.map_err(|unknown| Refusal::missing(unknown.to_string()))?;
    let answer = TypesAnswer::of(vec![found.clone()]);
    Ok(Json(answer.json()).into_response())
}

async fn one(units: Units, Path(name): Path<String>) -> Result<Page, RefusedPage> {
    let catalogue = Catalogue::built_in();
    let t = catalogue.find(&name).map_err(|unknown| {
        Refusal::missing(unknown.to_string()).help("the page “Types” lists them")
    })?;
    let main = html! {
        p.trail { a href="/types" { "Types" } }
        h1 { (t.designation) }
        (names(t))
        @if !t.notes.is_empty() { p { (t.notes) } }
        div.actions {
            a.button href=(link::query("/use", [("type", t.designation.as_str())])) { "Use it" }
            a.button href=(link::query("/cut", [("type", t.designation.as_str())])) { "Cut from it" }
        }
        div.columns {
            div {
                (parts::rows("Figures, each with its source", &text::figures(t)))
                @let power = text::power_rows(t);
                @if let Some((heading, rows)) = power { (parts::rows(&heading, &rows)) }
            }
            (loss(t, units))
        }
        h2 { "Sources" }
        dl.sources { @for (id, document) in catalogue.documents_of(t) { dt { "[" (id) "]" } dd { (document) } } }
        p.remark { (text::VIA) }
    };
    Ok(Frame::new(t.designation.clone(), "/types").show(main))
}

fn ways(here: &str) -> Markup {
    html! {
        nav.kinds aria-label="Views" {
            ul {
                @for (path, name) in [("/types", "Catalogue"), ("/types/seen", "What may it be?")] {
                    li { a href=(path) aria-current=[(path == here).then_some("page")] { (name) } }
                }
            }
        }
    }
}

fn table(types: &[CableType], units: Units) -> Markup {
    html! {
        @if types.is_empty() { p { "No type matches." } } @else {
            div.wide {
                table.list {
                    caption {
                        (types.len()) " types; loss of a typical piece at " (format_frequency(text::LISTED_HZ))
                        ". m: all or part of the figures are from memory, not from a document."
                    }
                    thead { tr {
                        th scope="col" { "Type" } th.value scope="col" { "Impedance, ohm" } th.value scope="col" { "Velocity factor" }
                        th.value scope="col" { "Loss, " (units.attenuation()) } th.value scope="col" { "Outside" } th scope="col" { span.hush { "From memory" } }
                    } }
                    tbody { @for t in types { (row(t, units)) } }
                }
            }
        }
    }
}

fn row(t: &CableType, units: Units) -> Markup {
    let loss = t.loss.typical_db_m(text::LISTED_HZ);
    let loss = loss.map_or_else(
        |_| String::new(),
        |l| significant(units.of_db_per_100m(100.0 * l.value), 3),
    );
    let outside = t
        .jacket_diameter_m
        .as_ref()
        .map_or_else(String::new, |d| diameter(d.value, units));
    html! {
        tr {
            th scope="row" { a href=(link::path(&["type", &t.designation])) { (t.designation) } }
            td.value { (t.z0_ohm.value) }
            td.value { (format!("{:.2}", t.velocity_factor.value)) }
            td.value { (loss) }
            td.value { (outside) }
            td { @if text::from_memory(t) { "m" } }
        }
    }
}

/// Inches where lengths are in feet.
fn diameter(m: f64, units: Units) -> String {
    match units {
        Units::Metres => format!("{} mm", significant(m * 1e3, 3)),
        Units::Feet => format!("{} in", significant(units.of_m(m) * 12.0, 3)),
    }
}

fn names(t: &CableType) -> Markup {
    let spec = t.spec.iter().map(String::as_str);
    let also: Vec<&str> = spec.chain(t.aliases.iter().map(String::as_str)).collect();
    html! { @if !also.is_empty() { p.soft { "Also " (also.join(", ")) } } }
}

/// The loss as a curve and as a table.
fn loss(t: &CableType, units: Units) -> Markup {
    let (from, to, count) = CURVE;
    let at = |i: usize| from * (to / from).powf(i as f64 / (count - 1) as f64);
    let points = (0..count).filter_map(|i| {
        let db = 100.0 * t.loss.printed_db_m(at(i)).ok()?;
        Some((at(i), units.of_db_per_100m(db)))
    });
    let points: Vec<(f64, f64)> = points.collect();
    let kind = if t.loss.is_limit() {
        "upper limit"
    } else {
        "typical"
    };
    let rows: Vec<Vec<String>> = loss_points(t)
        .map(|(f, db)| {
            vec![
                format_frequency(f),
                significant(units.of_db_per_100m(db), 3),
            ]
        })
        .collect();
    html! {
        div {
            @if points.len() < 2 { p { "No loss in the catalogue." } } @else {
                figure.picture {
                    (PreEscaped(lineproof_draw::attenuation(&[Curve { name: t.designation.clone(), points }], units.attenuation())))
                    figcaption { "Loss, " (kind) ", [" (t.loss.source().unwrap_or_default()) "]" }
                }
                (parts::rows(&format!("Loss, {}", units.attenuation()), &rows))
            }
        }
    }
}

fn probable(found: &IdentificationAnswer) -> Markup {
    html! {
        p.answer { (text::sentence(found)) }
        table {
            caption { "Possible types" }
            thead { tr { th.value scope="col" { "Probability" } th scope="col" { "Type" } } }
            tbody {
                @for t in &found.types {
                    tr {
                        td.value { (format!("{:.0} %", 100.0 * t.probability)) }
                        th scope="row" {
                            a href=(link::path(&["type", &t.designation])) { (t.designation) }
                            @if !t.same_as.is_empty() { span.remark { "; the same electrically: " (t.same_as.join(", ")) } }
                        }
                    }
                }
            }
        }
        @if !found.separators.is_empty() {
            h2 { "What would distinguish them" }
            ul { @for s in &found.separators { li { (s.what) } } }
        }
        @if !found.excluded.is_empty() {
            h2 { "Excluded types" }
            ul { @for e in &found.excluded { li { (text::excluded(e)) } } }
        }
    }
}
