//! Which cable a question is about: a type of the catalogue, or a cable of the shelf by its newest
//! finding.

use lineproof_core::catalogue::Catalogue;
use maud::{Markup, html};
use utoipa::openapi::path::{Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::schema::{ObjectBuilder, Type};

use crate::facts::Surface;
use crate::questions::cable::arguments::SourceArgs;
use crate::questions::cable::source::{OnShelf, SourceError};
use crate::server::form::{Field, Fields, Typed, marked};
use crate::server::parts;
use crate::server::record;
use crate::server::refusal::{Refusal, Refused};
use crate::server::shared::Shared;

/// Name of the field for a cable of the shelf.
pub const TAG: &str = "tag";
/// Field for a type.
pub const TYPE: Field = Field::new("type", "RG-213").only("Type").list("types");
/// Field for the type whose ratings hold.
pub const RATED_AS: Field = Field::fact("rated-as").list("types");

/// The fields that say which cable: a type, and with `fields_of_it` 2 also the type of its ratings.
///
/// # Errors
/// [`Refusal`] of the shelf.
pub async fn show(
    shared: &Shared,
    fields: &Fields,
    fields_of_it: usize,
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
                    label for=(TAG) { "Or a cable of the shelf, by its tag" }
                    input id=(TAG) name=(TAG) value=(typed.get(TAG)) list="tags" autocomplete="off"
                        aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| "tag-error")];
                    @if let Some(wrong) = wrong { p.wrong id="tag-error" { (marked(wrong)) } }
                }
                @if fields_of_it > 1 { (fields.field(&RATED_AS, typed, refused)) }
            }
        }
    })
}

/// The types of the catalogue as suggestions.
pub fn types() -> Markup {
    html! {
        datalist id="types" {
            @for t in Catalogue::built_in().types() { option value=(t.designation) {} }
        }
    }
}

/// Puts a cable of the shelf that was named into the arguments.
///
/// # Errors
/// [`Refusal`] of a field unless one cable is named.
pub fn name(source: &mut SourceArgs, shared: &Shared, typed: &Typed) -> Result<(), Refusal> {
    match (typed.get(TYPE.name), typed.get(TAG)) {
        ("", "") => {
            let which = Refusal::field(TYPE.name, "state which cable");
            Err(which.help("choose a type or a cable of the shelf"))
        }
        (_, "") => Ok(()),
        ("", tag) => {
            source.name_on_shelf(OnShelf {
                name: format!("cable {tag}"),
                tag: tag.to_owned(),
                shelf: shared.shelf().map(ToOwned::to_owned),
            });
            Ok(())
        }
        _ => {
            let both = "choose either a type or a cable of the shelf";
            Err(Refusal::field(TAG, both))
        }
    }
}

/// The tag of a cable on the shelf as a parameter of a route.
pub fn parameter() -> Parameter {
    ParameterBuilder::new()
        .name(TAG)
        .parameter_in(ParameterIn::Query)
        .description(Some("Tag of a cable on the shelf, instead of a type"))
        .schema(Some(ObjectBuilder::new().schema_type(Type::String)))
        .build()
}

/// Why there is no cable, in the words of a page.
pub fn refusal(error: SourceError) -> Refusal {
    let help = error.help();
    let refusal = match error {
        // only a form without a cable comes here: the one for a fault that is placed by hand
        SourceError::Which => {
            let text = "give the length of the whole cable, and where the fault begins";
            return Refusal::bad(text);
        }
        SourceError::Type(unknown) => Refusal::field(TYPE.name, unknown.to_string()),
        SourceError::RatedAs(unknown) => Refusal::field(RATED_AS.name, unknown.to_string()),
        SourceError::Shelf(error) => return Refusal::from(error).in_field(TAG),
        SourceError::NoShelf => return record::nowhere().in_field(TAG),
        SourceError::NoFinding(tag) => {
            Refusal::bad(format!("cable `{tag}` has not been assayed yet"))
        }
        error => Refusal::bad(error.to_string()),
    };
    match help {
        Some(help) => refusal.help(help.on(Surface::Page)),
        None => refusal,
    }
}
