//! Two cables of the shelf side by side, or two assays of one cable with what changed along it.

use axum::extract::{Query, RawQuery, State};
use lineproof_core::finding::said::compared;
use lineproof_core::quantity::format_frequency;
use lineproof_record::Shelf;
use maud::{Markup, html};

use crate::finding::Finding;
use crate::questions::shelf::text::day;
use crate::report::number::pair;
use crate::server::form::Typed;
use crate::server::frame::{Frame, Page};
use crate::server::refusal::{Refusal, RefusedPage};
use crate::server::shared::Shared;
use crate::server::units::Units;
use crate::server::{link, parts, record};
use crate::stored;
use crate::workflow::shelf::{AgainError, compare_kept};
use lineproof_core::comparison::{Comparison, QuantityCompared};
use lineproof_core::finding::judge::history::{Change, changes};

/// One of the two: a cable's newest assay, or another one of it.
#[derive(Clone, Debug)]
pub struct Side {
    /// Tag of the cable.
    pub tag: String,
    /// When it was swept.
    pub at: String,
    /// Its finding.
    pub finding: Finding,
    id: String,
}

/// The two and what differs.
#[derive(Debug)]
pub struct Pair {
    /// The first one.
    pub one: Side,
    /// The second one.
    pub two: Side,
    /// What differs beyond the intervals, from the first to the second.
    pub differences: Vec<Change>,
    /// Of one cable: the comparison by its sweeps.
    pub sweeps: Option<Comparison>,
}

pub(super) async fn page(
    State(shared): State<Shared>,
    units: Units,
    RawQuery(raw): RawQuery,
    Query(typed): Query<Typed>,
) -> Result<Page, RefusedPage> {
    let typed = ticked(raw.as_deref().unwrap_or_default(), typed);
    let both = !typed.get("one").is_empty() && !typed.get("two").is_empty();
    let (pair, refused) = if both {
        match compared(&shared, &typed).await {
            Ok(pair) => (Some(pair), None),
            Err(refusal) => (None, Some(refusal.said)),
        }
    } else {
        (None, None)
    };
    let tags = parts::tags(&shared).await?;
    let main = html! {
        p.trail { a href="/shelf" { "Shelf" } }
        h1 { "Compare two cables" }
        form.search method="get" action="/compare" {
            (tags)
            div.fields {
                div.field { label for="one" { "First cable" } input id="one" name="one" list="tags" required value=(typed.get("one")); }
                div.field { label for="two" { "Second cable" } input id="two" name="two" list="tags" required value=(typed.get("two")); }
            }
            div.actions { button.main { "Compare" } }
        }
        (parts::refused(refused.as_ref()))
        @match &pair {
            Some(pair) => (shown(pair, units)),
            None => @if refused.is_none() { p.soft { "Compares their newest findings. To compare two assays of one cable, see “History” on its page." } },
        }
    };
    Ok(Frame::new("Compare", "/shelf").show(main))
}

/// The table of the shelf sends what was ticked: `cable=A&cable=B`.
fn ticked(raw: &str, typed: Typed) -> Typed {
    let Ok(pairs) = Query::<Vec<(String, String)>>::try_from_uri(
        &format!("/?{raw}").parse().unwrap_or_default(),
    ) else {
        return typed;
    };
    let mut cables = pairs
        .0
        .into_iter()
        .filter(|(n, _)| n == "cable")
        .map(|p| p.1);
    let typed = match cables.next() {
        Some(one) => typed.with("one", &one),
        None => return typed,
    };
    match cables.next() {
        Some(two) => typed.with("two", &two),
        None => typed,
    }
}

/// Compares what was named: `one` and `two` are tags; `assay` is the first's assay if it is not the
/// newest.
///
/// # Errors
/// [`Refusal`] of a tag or of the shelf.
pub async fn compared(shared: &Shared, typed: &Typed) -> Result<Pair, Refusal> {
    let [one, two, assay] = ["one", "two", "assay"].map(|name| typed.get(name).to_owned());
    record::look(shared, move |shelf| {
        let one = side(shelf, &one, Some(assay.as_str()).filter(|a| !a.is_empty()))?;
        let two = side(shelf, &two, None)?;
        let sweeps = (one.tag == two.tag && one.id != two.id)
            .then(|| by_sweeps(shelf, &one.id, &two.id))
            .transpose()?;
        Ok(Pair {
            differences: changes(&one.finding, &two.finding),
            sweeps,
            one,
            two,
        })
    })
    .await
}

fn by_sweeps(shelf: &Shelf, before: &str, after: &str) -> Result<Comparison, Refusal> {
    let compared = compare_kept(shelf, before, after).map_err(|error| match error {
        AgainError::Shelf(error) => error.into(),
        error => Refusal::bad(error.to_string()),
    })?;
    compared.comparison.map_err(|e| Refusal::bad(e.to_string()))
}

fn side(shelf: &Shelf, tag: &str, assay: Option<&str>) -> Result<Side, Refusal> {
    let cable = shelf.cable(tag)?;
    let assays = shelf.assays(tag)?;
    let found = match assay {
        Some(id) => assays.into_iter().find(|a| a.id == id),
        None => assays.into_iter().next_back(),
    };
    let found = found.ok_or_else(|| {
        Refusal::missing(format!("the cable `{}` has no such assay", cable.tag))
            .help("assay it, and keep it under this tag")
    })?;
    Ok(Side {
        tag: cable.tag,
        at: found.at,
        finding: stored::finding(&found.finding),
        id: found.id,
    })
}

fn shown(pair: &Pair, units: Units) -> Markup {
    let (one, two) = (name(&pair.one), name(&pair.two));
    html! {
        @if pair.differences.is_empty() {
            p.answer { "No difference exceeds the intervals." }
        } @else {
            h2 { "From " (one) " to " (two) }
            ul { @for difference in &pair.differences { li { (units.text(&difference.text)) } } }
        }
        div.wide {
            table.list.sides {
                caption { "Side by side, each with its 95 % interval" }
                thead { tr {
                    td {}
                    th.value scope="col" { a href=(link::path(&["shelf", &pair.one.tag])) { (one) } }
                    th.value scope="col" { a href=(link::path(&["shelf", &pair.two.tag])) { (two) } }
                    th.value scope="col" { "Difference" }
                    th scope="col" { span.hush { "Significant" } }
                } }
                tbody {
                    @for row in rows(&pair.one.finding, &pair.two.finding, units) { (row) }
                    @for (heading, of) in WORDS {
                        tr { th scope="row" { (heading) } td.value { (of(&pair.one.finding)) } td.value { (of(&pair.two.finding)) } td {} td {} }
                    }
                }
            }
        }
        @if let Some(comparison) = &pair.sweeps { (along(comparison)) }
    }
}

fn name(side: &Side) -> String {
    format!("{} of {}", side.tag, day(Some(&side.at)))
}

/// A row in words: its heading, and what stands in it.
type InWords = (&'static str, fn(&Finding) -> String);

/// Rows in words.
const WORDS: [InWords; 3] = [
    ("condition", |k| k.condition.name().to_owned()),
    ("what to do", |k| {
        let verdict = k.verdict.as_ref();
        verdict.map_or_else(String::new, |v| v.action.words().to_owned())
    }),
    ("type", |k| {
        k.types
            .first()
            .map_or_else(String::new, |t| t.designation.clone())
    }),
];

/// A value with its 95 % half-width.
type Value = Option<(f64, f64)>;

fn rows(one: &Finding, two: &Finding, units: Units) -> Vec<Markup> {
    let impedance = |k: &Finding| k.impedance.map(|z| (z.ohm, z.u95_ohm));
    let delay = |k: &Finding| k.delay.map(|d| (d.one_way_s * 1e9, d.u95_s * 1e9));
    let velocity = |k: &Finding| k.velocity_factor.map(|v| (v.ratio, v.u95));
    let length = |k: &Finding| k.length.map(|l| (units.of_m(l.m), units.of_m(l.u95_m)));
    let all = [
        ("impedance", "ohm", impedance(one), impedance(two)),
        ("delay, one way", "ns", delay(one), delay(two)),
        ("velocity factor", "", velocity(one), velocity(two)),
        ("length", units.length(), length(one), length(two)),
    ];
    let known = all.iter().filter(|r| r.2.is_some() || r.3.is_some());
    let mut rows: Vec<Markup> = known.map(|r| row(r.0, r.1, r.2, r.3)).collect();
    for loss in &one.loss {
        let at = format!("loss at {}", format_frequency(loss.at_hz));
        let other = two.loss_at(loss.at_hz).map(|l| (l.db, l.u95_db));
        if other.is_some() {
            rows.push(row(&at, "dB", Some((loss.db, loss.u95_db)), other));
        }
    }
    rows
}

fn row(name: &str, unit: &str, one: Value, two: Value) -> Markup {
    let said = |value: Value| {
        value.map_or_else(String::new, |(value, u95)| {
            let (value, u95) = pair(value, u95);
            format!("{value} ± {u95} {unit}").trim_end().to_owned()
        })
    };
    let difference = one.zip(two).map(|((a, ua), (b, ub))| (b - a, ua.hypot(ub)));
    let counts = difference.is_some_and(|(d, u95)| d.abs() > u95);
    html! {
        tr {
            th scope="row" { (name) }
            td.value { (said(one)) } td.value { (said(two)) } td.value { (said(difference)) }
            td { @if counts { strong { "differs" } } }
        }
    }
}

/// What the sweeps of one cable say when they are compared themselves.
fn along(comparison: &Comparison) -> Markup {
    let warnings: Vec<String> = comparison.warnings.iter().map(|w| w.text.clone()).collect();
    html! {
        h2 { "Judged from the sweeps" }
        p { "The same load and length are assumed both times, so smaller changes show than the intervals above suggest. "
            (compared::sentence(comparison)) }
        @if !comparison.quantities.is_empty() {
            div.wide tabindex="0" role="region" aria-label="Changes by the sweeps" {
                table.list {
                    caption { "Changes that exceed the resolution of these sweeps" }
                    thead { tr {
                        th scope="col" { "Quantity" } th scope="col" { "At" } th.value scope="col" { "Before" } th.value scope="col" { "After" }
                        th.value scope="col" { "Change" } th scope="col" { span.hush { "Significant" } }
                    } }
                    tbody { @for quantity in &comparison.quantities { (quantity_row(quantity)) } }
                }
            }
        }
        ul {
            @for sweeps in &comparison.sweeps {
                @if sweeps.places.is_empty() { li { (sweeps.before) " with " (sweeps.after) ": " (compared::nowhere(comparison)) } }
                @for place in &sweeps.places { li { (sweeps.before) " with " (sweeps.after) ": they differ " (place.text) } }
            }
        }
        (parts::sentences("Warnings", &warnings))
        (parts::sentences("What would help", &comparison.advice))
    }
}

fn quantity_row(q: &QuantityCompared) -> Markup {
    let (before, _) = pair(q.before, q.u95_before);
    let (after, _) = pair(q.after, q.u95_after);
    let (change, u95) = pair(q.change, q.u95_change);
    html! {
        tr {
            th scope="row" { (q.quantity) }
            td { (format_frequency(q.at_hz)) }
            td.value { (before) } td.value { (after) " " (q.unit) } td.value { (change) " ± " (u95) " " (q.unit) }
            td { @if q.changed { strong { "changed" } } }
        }
    }
}
