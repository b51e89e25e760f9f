//! Parts that several pages have.

use lineproof_core::quantity::format_length;
use lineproof_record::Filter;
use maud::{Markup, html};

use crate::server::form::marked;
use crate::server::record;
use crate::server::refusal::{Refusal, Refused};
use crate::server::shared::Shared;
use crate::server::units::Units;

/// A list of sentences under a heading; nothing if there is none.
pub fn sentences(heading: &str, items: &[String]) -> Markup {
    html! {
        @if !items.is_empty() {
            h2 { (heading) }
            ul { @for item in items { li { (marked(item)) } } }
        }
    }
}

/// What is wrong, where no field shows it.
pub fn refused(refused: Option<&Refused>) -> Markup {
    html! {
        @if let Some(refused) = refused {
            div.refused role="alert" {
                p { (marked(&refused.error)) }
                @if let Some(help) = &refused.help { p { (marked(help)) } }
                @if !refused.fields.is_empty() { p { "The field is marked. Your text is still there." } }
            }
        }
    }
}

/// The condition of a cable: its word, with a mark of its own shape.
pub fn condition(word: Option<&str>) -> Markup {
    html! {
        @match word {
            Some(word) => span.condition data-condition=(word) { (word) },
            None => span.soft { "not judged" },
        }
    }
}

/// The table of a page: a name, a value, a note in each row.
pub fn rows(caption: &str, rows: &[Vec<String>]) -> Markup {
    html! {
        div.wide tabindex="0" role="region" aria-label=(caption) {
            table {
                caption { (caption) }
                tbody {
                    @for row in rows {
                        tr {
                            @for (i, cell) in row.iter().enumerate() {
                                @match i {
                                    0 => th scope="row" { (cell) },
                                    1 => td.value { (cell) },
                                    _ => td.remark { (cell) },
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Suggestions for fields that take the tag of a cable on the shelf.
///
/// # Errors
/// [`Refusal`] of the shelf.
pub async fn tags(shared: &Shared) -> Result<Markup, Refusal> {
    let tags = record::look_if_there(shared, |shelf| {
        let cables = shelf.cables(&Filter::default())?;
        Ok(cables.into_iter().map(|l| l.cable.tag).collect::<Vec<_>>())
    });
    let tags = tags.await?;
    Ok(html! { datalist id="tags" { @for tag in &tags { option value=(tag) {} } } })
}

/// A length without interval.
pub fn length(length_m: f64, units: Units) -> String {
    match units {
        Units::Metres => format_length(length_m),
        Units::Feet => format!("{:.2} ft", units.of_m(length_m)),
    }
}
