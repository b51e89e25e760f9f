//! Which cable a question is about: a type of the catalogue, or a cable of the shelf by its newest
//! finding.

use lineproof_core::catalogue::{CableType, Catalogue};
use lineproof_record::Shelf;
use maud::{Markup, html};

use crate::server::form::{Field, Fields, Typed, marked};
use crate::server::parts;
use crate::server::record;
use crate::server::refusal::{Refusal, Refused};
use crate::server::shared::Shared;
use crate::stored;
use crate::workflow::cable::{CableError, KnownCable};

/// Name of the field for a cable of the shelf.
pub const TAG: &str = "tag";
/// Field for a type.
pub const TYPE: Field = Field::new("type", "RG-213").only("Type").list("types");
/// Field for the type whose ratings hold.
pub const RATED_AS: Field = Field::new("rated-as", "RG-58C/U")
    .only("Rated as, for a cable of the shelf")
    .list("types");

/// The fields that say which cable.
pub(super) async fn show(
    shared: &Shared,
    fields: &Fields,
    rated: bool,
    typed: &Typed,
    refused: Option<&Refused>,
) -> Result<Markup, Refusal> {
    let wrong = refused.and_then(|r| r.of_field(TAG));
    let tags = parts::tags(shared).await?;
    Ok(html! {
        (tags) (types())
        fieldset {
            legend { "Which cable" }
            div.fields {
                (fields.field(&TYPE, typed, refused))
                div.field data-field=(TAG) {
                    label for=(TAG) { "Or one of the shelf, by its tag" }
                    input id=(TAG) name=(TAG) value=(typed.get(TAG)) list="tags" autocomplete="off"
                        aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| "tag-error")];
                    @if let Some(wrong) = wrong { p.wrong id="tag-error" { (marked(wrong)) } }
                }
                @if rated { (fields.field(&RATED_AS, typed, refused)) }
            }
        }
    })
}

/// The types of the catalogue as suggestions.
pub(super) fn types() -> Markup {
    html! {
        datalist id="types" {
            @for t in Catalogue::built_in().types() { option value=(t.designation) {} }
        }
    }
}

/// The cable that was named.
///
/// # Errors
/// [`Refusal`] of the field that is to blame.
pub async fn cable(shared: &Shared, typed: &Typed) -> Result<KnownCable, Refusal> {
    let mut cable = match (typed.get(TYPE.name), typed.get(TAG)) {
        ("", "") => {
            let which = Refusal::field(TYPE.name, "say which cable");
            return Err(which.help("name a type, or a cable of the shelf"));
        }
        (name, "") => KnownCable::of_type(named(TYPE.name, name)?),
        ("", tag) => of_shelf(shared, tag.to_owned()).await?,
        _ => {
            let both = "a type and a cable of the shelf exclude each other: leave one empty";
            return Err(Refusal::field(TAG, both));
        }
    };
    let rated_as = typed.get(RATED_AS.name);
    if !rated_as.is_empty() {
        cable.rated_as = Some(named(RATED_AS.name, rated_as)?.clone());
    }
    Ok(cable)
}

/// A type of the catalogue.
///
/// # Errors
/// [`Refusal`] of the field that names it.
pub fn named(field: &str, name: &str) -> Result<&'static CableType, Refusal> {
    Catalogue::built_in()
        .find(name)
        .map_err(|unknown| Refusal::field(field, unknown.to_string()))
}

async fn of_shelf(shared: &Shared, tag: String) -> Result<KnownCable, Refusal> {
    record::look(shared, move |shelf| newest(shelf, &tag))
        .await
        .map_err(|refusal| refusal.in_field(TAG))
}

fn newest(shelf: &Shelf, tag: &str) -> Result<KnownCable, Refusal> {
    let assays = shelf.assays(tag)?;
    let newest = assays.last();
    let newest = newest.ok_or_else(|| Refusal::bad(format!("nobody has assayed `{tag}` yet")))?;
    let finding = stored::finding(&newest.finding);
    KnownCable::of_finding(&finding, &format!("cable {tag}")).map_err(|error| not_known(&error))
}

/// A cable that is not known well enough.
pub fn not_known(error: &CableError) -> Refusal {
    let refusal = Refusal::bad(error.to_string());
    match error.help() {
        Some(help) => refusal.help(help),
        None => refusal,
    }
}
