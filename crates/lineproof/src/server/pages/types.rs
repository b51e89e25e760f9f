//! The catalogue: types that are narrowed down, one of them with its loss, and which one a cable may
//! be from what one sees of it.

use axum::Router;
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use lineproof_core::catalogue::{CableType, Catalogue};
use lineproof_core::identify::{Identification, identify};
use lineproof_core::quantity::format_frequency;
use lineproof_draw::Curve;
use maud::{Markup, PreEscaped, html};

use crate::cli::types::TypesArgs;
use crate::report::number::significant;
use crate::report::types as text;
use crate::server::form::{Field, Fields, Typed};
use crate::server::frame::{Frame, Page};
use crate::server::link;
use crate::server::parts;
use crate::server::refusal::{Refusal, RefusedPage};
use crate::server::shared::Shared;
use crate::server::units::Units;
use lineproof_core::finding::judge::types::entries;

/// Fields that narrow the list.
pub const LIST: [Field; 4] = [
    Field::new("with", "foam").only("Text in name, class or specification"),
    Field::new("ohms", "50").only("Impedance, ohm, within 5 %"),
    Field::new("most-loss", "10dB/100m@145MHz").only("Most loss"),
    Field::new("most-diameter", "11mm").only("Largest diameter"),
];

/// Fields of what one sees.
pub const SEEN: [Field; 11] = [
    Field::fact("marked"),
    Field::new("seen-impedance", "74,3").only("Impedance, ohm"),
    Field::new("seen-velocity-factor", "0,66").only("Velocity factor"),
    Field::new("seen-loss", "11dB/100m@100MHz; …").only("Loss at a frequency, or at several"),
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

pub(super) fn router() -> Router<Shared> {
    Router::new()
        .route("/types", get(list))
        .route("/types/seen", get(seen))
        .route("/type/{name}", get(one))
}

async fn list(units: Units, Query(typed): Query<Typed>) -> Response {
    let fields = Fields::of::<TypesArgs>(&LIST, None);
    let (types, refused) = match narrowed(&fields, &typed) {
        Ok(types) => (types, None),
        Err(refusal) => (Vec::new(), Some(refusal)),
    };
    let said = refused.as_ref().map(|r| &r.said);
    let main = html! {
        h1 { "Types" }
        (ways("/types"))
        form.search method="get" action="/types" data-live role="search" aria-label="Types of cable" {
            (fields.show(&LIST, &typed, said))
            div.actions { button.main { "Narrow down" } a.button href="/types" { "Show all" } }
        }
        div id="answer" data-part="answer" aria-live="polite" {
            (parts::refused(said))
            @if refused.is_none() { (table(&types, units)) }
        }
    };
    answer("Types", main, refused.as_ref())
}

async fn seen(Query(typed): Query<Typed>) -> Response {
    let fields = Fields::of::<TypesArgs>(&SEEN, None);
    let found = (!typed.is_empty(&SEEN)).then(|| identified(&fields, &typed));
    let refused = found.as_ref().and_then(|f| f.as_ref().err()).cloned();
    let said = refused.as_ref().map(|r| &r.said);
    let main = html! {
        h1 { "What may it be?" }
        (ways("/types/seen"))
        p { "Say what you see and measure; what you leave empty counts for nothing. With a caliper on the dielectric you need no analyser." }
        div.columns.lead {
            form method="get" action="/types/seen" data-live {
                (fields.show(&SEEN, &typed, said))
                div.actions { button.main { "Tell" } a.button href="/types/seen" { "Empty all fields" } }
            }
            div.beside id="answer" data-part="answer" aria-live="polite" {
                (parts::refused(said))
                @match &found {
                    Some(Ok(found)) => (probable(found)),
                    Some(Err(_)) => {},
                    None => p.soft { "The types that fit appear here." },
                }
            }
        }
    };
    answer("What may it be?", main, refused.as_ref())
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
        dl.sources { @for (id, document) in text::source_rows(catalogue, t) { dt { "[" (id) "]" } dd { (document) } } }
        p.remark { (text::VIA) }
    };
    Ok(Frame::new(t.designation.clone(), "/types").show(main))
}

fn answer(title: &'static str, main: Markup, refused: Option<&Refusal>) -> Response {
    let page = Frame::new(title, "/types").scripts(&["live.js"]).show(main);
    (refused.map_or(StatusCode::OK, Refusal::status), page).into_response()
}

/// The types that the list is narrowed to.
///
/// # Errors
/// [`Refusal`] of a field.
pub fn narrowed(fields: &Fields, typed: &Typed) -> Result<Vec<&'static CableType>, Refusal> {
    let filter = fields.read::<TypesArgs>(typed)?.filter();
    let all = Catalogue::built_in().types().iter();
    Ok(all.filter(|t| filter.keeps(t)).collect())
}

/// What a cable may be from what was typed.
///
/// # Errors
/// [`Refusal`] of a field, or if nothing was said.
pub fn identified(fields: &Fields, typed: &Typed) -> Result<Identification, Refusal> {
    let seen = fields.read::<TypesArgs>(typed)?.observed();
    identify(Catalogue::built_in(), &seen)
        .ok_or_else(|| Refusal::bad("nothing was said that tells types apart"))
}

fn ways(here: &str) -> Markup {
    html! {
        nav.kinds aria-label="Ways to look" {
            ul {
                @for (path, name) in [("/types", "Catalogue"), ("/types/seen", "What may it be?")] {
                    li { a href=(path) aria-current=[(path == here).then_some("page")] { (name) } }
                }
            }
        }
    }
}

fn table(types: &[&CableType], units: Units) -> Markup {
    html! {
        @if types.is_empty() { p { "No type is like that." } } @else {
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
    let rows: Vec<Vec<String>> = text::loss_points(t)
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

fn probable(found: &Identification) -> Markup {
    let types = entries(found);
    html! {
        p.answer { "Most likely " (types.first().map_or("none of these", |t| t.designation.as_str())) "." }
        table {
            caption { "What it may be" }
            thead { tr { th.value scope="col" { "Probability" } th scope="col" { "Type" } } }
            tbody {
                @for t in &types {
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
            h2 { "What would tell them apart" }
            ul { @for s in &found.separators { li { (s.what) } } }
        }
        @if !found.excluded.is_empty() {
            h2 { "What it can't be" }
            ul { @for e in &found.excluded { li { (text::excluded(e)) } } }
        }
    }
}
