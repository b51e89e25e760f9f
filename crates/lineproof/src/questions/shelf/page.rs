//! The shelf: every cable that was kept, found again by text, impedance or condition.

use std::cmp::Ordering;

use axum::extract::{Query, State};
use lineproof_record::Listed;
use maud::{Markup, html};

use super::arguments::ListArgs;
use super::text::day;
use crate::report::number::pair;
use crate::server::form::{Field, Fields, Typed};
use crate::server::frame::{Frame, Page};
use crate::server::refusal::{Refusal, RefusedPage};
use crate::server::shared::Shared;
use crate::server::units::Units;
use crate::server::{link, parts, record};

/// Fields of the search.
pub const FIELDS: [Field; 4] = [
    Field::new("text", "mast").only("Tag, description or place"),
    Field::fact("impedance"),
    Field::new("condition", "").only("Condition").choices(&[
        "sound",
        "suspect",
        "faulty",
        "undetermined",
    ]),
    Field::new("all", ""),
];

/// Columns that the table can be sorted by: name in the query and heading.
const COLUMNS: [(&str, &str); 6] = [
    ("tag", "Cable"),
    ("impedance", "Impedance"),
    ("length", "Length"),
    ("condition", "Condition"),
    ("standing", "What to do"),
    ("swept", "Swept"),
];

/// Columns whose cells stand to the right.
const NUMBERS: [&str; 3] = ["impedance", "length", "swept"];

pub(super) async fn page(
    State(shared): State<Shared>,
    units: Units,
    Query(typed): Query<Typed>,
) -> Result<Page, RefusedPage> {
    let fields = Fields::of::<ListArgs>(&FIELDS, None);
    let (cables, refused) = match list(&shared, &fields, &typed).await {
        Ok(cables) => (cables, None),
        Err(refusal) if !refusal.said.fields.is_empty() => (Vec::new(), Some(refusal.said)),
        Err(refusal) => return Err(refusal.into()),
    };
    let main = html! {
        h1 { "Shelf" }
        form.search method="get" action="/shelf" data-live role="search" aria-label="Cables on the shelf" {
            (fields.show(&FIELDS, &typed, refused.as_ref()))
            div.actions { button.main { "Search" } a.button href="/shelf" { "Show all in use" } }
        }
        div id="answer" data-part="answer" aria-live="polite" {
            (parts::refused(refused.as_ref()))
            @if refused.is_none() { (found(&cables, &typed, units)) }
        }
    };
    Ok(Frame::new("Shelf", "/shelf")
        .scripts(&["live.js"])
        .show(main))
}

/// The cables that are asked for, in the order that is asked for.
///
/// # Errors
/// [`Refusal`] of a field or of the shelf.
pub async fn list(shared: &Shared, fields: &Fields, typed: &Typed) -> Result<Vec<Listed>, Refusal> {
    let filter = fields.read::<ListArgs>(typed)?.filter();
    let mut cables = record::look_if_there(shared, move |shelf| Ok(shelf.cables(&filter)?)).await?;
    let by = typed.get("by");
    cables.sort_by(|a, b| order(by, a, b));
    if typed.get("order") == "falling" {
        cables.reverse();
    }
    Ok(cables)
}

fn order(by: &str, a: &Listed, b: &Listed) -> Ordering {
    let number = |a: Option<f64>, b: Option<f64>| {
        let last = |n: Option<f64>| n.unwrap_or(f64::INFINITY);
        last(a).total_cmp(&last(b))
    };
    match by {
        "impedance" => number(a.impedance_ohm, b.impedance_ohm),
        "length" => number(a.length_m, b.length_m),
        "condition" => worst_first(a).cmp(&worst_first(b)),
        "standing" => standing(a).cmp(&standing(b)),
        "swept" => b.assayed_at.cmp(&a.assayed_at),
        _ => Ordering::Equal,
    }
}

fn worst_first(listed: &Listed) -> usize {
    let worst = ["faulty", "suspect", "undetermined", "sound"];
    let condition = listed.condition.as_deref();
    let place = worst.iter().position(|w| Some(*w) == condition);
    place.unwrap_or(worst.len())
}

/// What stands for a cable: its retirement, else the owner's decision, else the finding's verdict.
fn standing(listed: &Listed) -> String {
    let retired = listed.cable.retired.as_ref().map(|_| "retired".to_owned());
    let said = retired.or_else(|| listed.decision.clone().map(|d| format!("{d} (decided)")));
    let found = || listed.action.as_ref().map(|a| a.replace('-', " "));
    said.or_else(found).unwrap_or_default()
}

fn found(cables: &[Listed], typed: &Typed, units: Units) -> Markup {
    let asked = !typed.is_empty(&FIELDS);
    html! {
        @if cables.is_empty() && asked {
            p { "No cable on the shelf matches. " a href="/shelf?all=yes" { "Show all, retired ones too" } }
        } @else if cables.is_empty() {
            p { "The shelf is empty. Assay a cable and keep it under a tag: it appears here with its sweeps, and next year you can see what has changed." }
            p { a.button href="/" { "Assay a cable" } }
        } @else {
            (table(cables, typed, units))
        }
    }
}

fn table(cables: &[Listed], typed: &Typed, units: Units) -> Markup {
    html! {
        form method="get" action="/compare" {
            div.wide {
                // Roles in words: a narrow screen shows each row as a card, and it stays a table.
                table.list.stacks.kept role="table" {
                    caption { (cables.len()) @if cables.len() == 1 { " cable" } @else { " cables" } }
                    thead role="rowgroup" {
                        tr role="row" {
                            th role="columnheader" { span.hush { "Tick" } }
                            @for (name, heading) in COLUMNS { (column(name, heading, typed)) }
                            th role="columnheader" { "Place" }
                        }
                    }
                    tbody role="rowgroup" { @for listed in cables { (row(listed, units)) } }
                }
            }
            div.actions {
                button formaction="/labels" { "Labels for the ticked cables" }
                @if cables.len() > 1 { button { "Compare the two ticked cables" } }
            }
        }
    }
}

/// A heading that sorts; a second press turns the order round.
fn column(name: &'static str, heading: &str, typed: &Typed) -> Markup {
    let by = typed.get("by");
    let sorted = by == name || (by.is_empty() && name == "tag");
    let falling = sorted && typed.get("order") == "falling";
    let turned = if sorted && !falling { "falling" } else { "" };
    let kept = typed.pairs().filter(|(n, _)| *n != "by" && *n != "order");
    let href = link::query("/shelf", kept.chain([("by", name), ("order", turned)]));
    let state = match (sorted, falling) {
        (true, true) => Some("descending"),
        (true, false) => Some("ascending"),
        _ => None,
    };
    let of_numbers = NUMBERS.contains(&name).then_some("value");
    html! { th role="columnheader" class=[of_numbers] aria-sort=[state] { a href=(href) { (heading) } } }
}

fn row(listed: &Listed, units: Units) -> Markup {
    let cable = &listed.cable;
    let place = if cable.place.is_empty() {
        &cable.description
    } else {
        &cable.place
    };
    html! {
        tr role="row" {
            td role="cell" { input type="checkbox" name="cable" value=(cable.tag) aria-label={ "Tick " (cable.tag) }; }
            th scope="row" role="rowheader" { a href=(link::path(&["shelf", &cable.tag])) { (cable.tag) } }
            td.value role="cell" { (impedance(listed)) }
            td.value role="cell" { (listed.length_m.map_or_else(String::new, |m| parts::length(m, units))) }
            td role="cell" { (parts::condition(listed.condition.as_deref())) }
            td role="cell" { (standing(listed)) }
            td.value role="cell" { (day(listed.assayed_at.as_deref())) }
            td role="cell" { (place) }
        }
    }
}

fn impedance(listed: &Listed) -> String {
    match (listed.impedance_ohm, listed.u95_impedance_ohm) {
        (Some(ohm), Some(u95)) => {
            let (ohm, u95) = pair(ohm, u95);
            format!("{ohm} ± {u95} ohm")
        }
        _ => String::new(),
    }
}
