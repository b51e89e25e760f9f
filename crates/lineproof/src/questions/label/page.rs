//! Labels for cables of the shelf, several on a sheet: shown as one types, then to print.

use axum::extract::{Query, RawQuery, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{Html, IntoResponse, Response};
use lineproof_draw::{Label, LabelError, Sheet};
use lineproof_record::{Filter, Shelf};
use maud::{Markup, PreEscaped, html};

use super::arguments::DrawnArgs;
use super::{content, print};
use crate::report::pdf;
use crate::server::form::{Field, Fields, Typed};
use crate::server::frame::Frame;
use crate::server::refusal::{Refusal, RefusedPage};
use crate::server::shared::Shared;
use crate::server::units::Units;
use crate::server::{parts, record};

/// Sheets known by the size of their labels, those of `lineproof_draw::Sheet::common`.
const SHEETS: [&str; 8] = [
    "38.1x21.2mm",
    "48.5x25.4mm",
    "63.5x38.1mm",
    "70x37mm",
    "99.1x38.1mm",
    "105x74mm",
    "2.625x1in",
    "4x2in",
];

/// Fields besides the cables.
pub const FIELDS: [Field; 7] = [
    Field::new("sheet", "")
        .only("Size of a label on its sheet")
        .choices(&SHEETS),
    Field::new("single", "62x29mm").only("Or one label to a page, for a label printer"),
    Field::new("skip", "0").only("Places at the start that are already used"),
    Field::new("outline", ""),
    Field::fact("loss-at"),
    Field::new("no-code", "").only("No code"),
    Field::new("link", "http://shack.local:7550")
        .only("Address of a server where the QR code opens the cable's page; empty: the essentials as text"),
];
/// Name of a cable in the query; it may come again and again.
pub const CABLE: &str = "cable";
/// All cables in use instead of named ones.
pub const ALL: &str = "all";
/// Sheets that are shown before they are printed.
const SHOWN: usize = 3;

/// Sheets that are drawn.
#[derive(Debug)]
pub struct Drawn {
    /// Each sheet as SVG.
    pub sheets: Vec<String>,
    /// Tags of cables without an assay, so without a label.
    pub without: Vec<String>,
    labels: Vec<Label>,
    sheet: Sheet,
    skipped: usize,
}

/// The cables that a query names: `cable=A&cable=B`.
pub fn cables(raw: Option<&str>) -> Vec<String> {
    let uri = format!("/?{}", raw.unwrap_or_default()).parse();
    let pairs = uri.ok().and_then(|uri| {
        let pairs = Query::<Vec<(String, String)>>::try_from_uri(&uri);
        pairs.ok().map(|query| query.0)
    });
    let named = pairs.unwrap_or_default().into_iter();
    named
        .filter(|(name, tag)| name == CABLE && !tag.is_empty())
        .map(|(_, tag)| tag)
        .collect()
}

/// Draws the labels of these cables, or of all in use if the query says so, with lengths in these units.
///
/// # Errors
/// [`Refusal`] of a field, or if there is nothing to draw.
pub async fn drawn(
    shared: &Shared,
    cables: Vec<String>,
    typed: &Typed,
    units: Units,
) -> Result<Drawn, Refusal> {
    let arguments: DrawnArgs = Fields::of::<DrawnArgs>(&FIELDS, None).read(typed)?;
    let all = !typed.get(ALL).is_empty();
    let look = move |shelf: &Shelf| {
        let tags = if all {
            let listed = shelf.cables(&Filter::default())?;
            listed.into_iter().map(|l| l.cable.tag).collect()
        } else {
            cables
        };
        draw(shelf, tags, &arguments, units)
    };
    record::look(shared, look).await
}

fn draw(
    shelf: &Shelf,
    tags: Vec<String>,
    arguments: &DrawnArgs,
    units: Units,
) -> Result<Drawn, Refusal> {
    let (labels, without) = content::all_of_shelf(shelf, tags, &arguments.wanted(units))?;
    if labels.is_empty() {
        let nothing = Refusal::bad("no cable has an assay, so there is no label");
        return Err(nothing.help("tick cables on the shelf"));
    }
    let (sheet, skipped) = (arguments.sheet().map_err(refused)?, arguments.skipped());
    let outlined = arguments.outlined();
    let sheets = lineproof_draw::sheets(&labels, &sheet, skipped, outlined).map_err(refused)?;
    Ok(Drawn {
        sheets,
        without,
        labels,
        sheet,
        skipped,
    })
}

#[expect(clippy::needless_pass_by_value, reason = "for map_err")]
fn refused(error: LabelError) -> Refusal {
    let text = error.to_string();
    match error {
        LabelError::Skipped { .. } => Refusal::field("skip", text),
        LabelError::TooSmall { .. } | LabelError::CodeTooLong { .. } => {
            Refusal::bad(text).help("choose larger labels, or omit the code")
        }
        _ => Refusal::field("single", text),
    }
}

pub(super) async fn page(
    State(shared): State<Shared>,
    units: Units,
    RawQuery(raw): RawQuery,
    Query(typed): Query<Typed>,
) -> Result<Response, RefusedPage> {
    let fields = Fields::of::<DrawnArgs>(&FIELDS, None);
    let ticked = cables(raw.as_deref());
    let all = !typed.get(ALL).is_empty();
    let answer = if all || !ticked.is_empty() {
        Some(drawn(&shared, ticked.clone(), &typed, units).await)
    } else {
        None
    };
    let said = answer.as_ref().and_then(|a| a.as_ref().err());
    let status = said.map_or(StatusCode::OK, Refusal::status);
    let main = html! {
        p.trail { a href="/shelf" { "Shelf" } }
        h1 { "Labels" }
        form method="get" action="/labels" data-live {
            fieldset {
                legend { "Cables" }
                div.ticks {
                    @for tag in &ticked {
                        label { input type="checkbox" name=(CABLE) value=(tag) checked; " " (tag) }
                    }
                    label { input type="checkbox" name=(ALL) value="yes" checked[all]; " all in use" }
                }
            }
            (fields.show(&FIELDS, &typed, said.map(|r| &r.said)))
            div.actions { button.main { "Show" } }
        }
        div id="answer" data-part="answer" aria-live="polite" {
            (parts::refused(said.map(|r| &r.said)))
            @match &answer {
                Some(Ok(drawn)) => (shown(drawn, raw.as_deref().unwrap_or_default())),
                Some(Err(_)) => {},
                None => p.soft { "Tick cables on the " a href="/shelf" { "shelf" } ", or take all in use." },
            }
        }
    };
    let page = Frame::new("Labels", "/shelf")
        .scripts(&["live.js"])
        .show(main);
    Ok((status, page).into_response())
}

fn shown(drawn: &Drawn, query: &str) -> Markup {
    let (labels, sheets) = (drawn.labels.len(), drawn.sheets.len());
    html! {
        p.answer {
            (labels) @if labels == 1 { " label" } @else { " labels" }
            " on " (sheets) @if sheets == 1 { " sheet" } @else { " sheets" }
        }
        @if !drawn.without.is_empty() {
            p { "Not assayed yet, so no label: " (drawn.without.join(", ")) "." }
        }
        div.actions {
            a.button.main href={ "/labels/print?" (query) } { "Print" }
            @if cfg!(feature = "pdf") { a.button href={ "/labels/labels.pdf?" (query) } { "PDF" } }
        }
        p.soft { "Print at 100 %, without margins, not fitted to the page. Print on plain paper first and hold it against the labels." }
        @for svg in drawn.sheets.iter().take(SHOWN) {
            figure.picture.sheet { (PreEscaped(svg)) }
        }
        @if sheets > SHOWN { p.soft { "The first " (SHOWN) " sheets are shown; all are printed." } }
    }
}

pub(super) async fn to_print(
    State(shared): State<Shared>,
    units: Units,
    RawQuery(raw): RawQuery,
    Query(typed): Query<Typed>,
) -> Result<Html<String>, RefusedPage> {
    let drawn = drawn(&shared, cables(raw.as_deref()), &typed, units).await?;
    Ok(Html(print::page(&drawn.sheets, drawn.sheet.paper_mm)))
}

pub(super) async fn as_pdf(
    State(shared): State<Shared>,
    units: Units,
    RawQuery(raw): RawQuery,
    Query(typed): Query<Typed>,
) -> Result<Response, RefusedPage> {
    let drawn = drawn(&shared, cables(raw.as_deref()), &typed, units).await?;
    let set = move || pdf::labels(&drawn.sheets, &drawn.labels, &drawn.sheet, drawn.skipped);
    let bytes = shared.work().run(|| (), set).await?.map_err(not_set)?;
    let attached = "attachment; filename=\"labels.pdf\"";
    let kind = [
        (CONTENT_TYPE, "application/pdf"),
        (CONTENT_DISPOSITION, attached),
    ];
    Ok((kind, bytes).into_response())
}

/// A PDF that there is not, for a page.
#[expect(clippy::needless_pass_by_value, reason = "for map_err")]
pub(crate) fn not_set(error: lineproof_pdf::PdfError) -> Refusal {
    Refusal::missing(error.to_string()).help("print the page to a PDF from the browser")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sheet_of_the_list_is_known() {
        let fields = Fields::of::<DrawnArgs>(&FIELDS, None);
        let sheets = SHEETS.map(|name| {
            let typed = Typed::default().with("sheet", name);
            fields.read::<DrawnArgs>(&typed).unwrap().sheet().unwrap()
        });
        assert_eq!(sheets.len(), Sheet::common().count());
        assert!(Sheet::common().all(|known| sheets.contains(&known)));
    }

    #[test]
    fn cables_come_again_and_again() {
        let named = cables(Some("cable=a&skip=2&cable=mast%201&cable="));
        assert_eq!(named, ["a", "mast 1"]);
        assert!(cables(None).is_empty());
    }
}
