//! The questions of the command line by their own fields: the same names, the same quantities with
//! their units as text, the same answers.

use axum::Json;
use axum::extract::{Path, Query, State};
use lineproof_core::catalogue::Catalogue;
use utoipa::IntoParams;
use utoipa::openapi::Required;
use utoipa::openapi::path::{Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::schema::{ObjectBuilder, Type};

use crate::cli::cut::CutArgs;
use crate::cli::fitness::UseArgs;
use crate::cli::types::TypesArgs;
use crate::report::answer::{
    CutAnswer, FaultAnswer, IdentificationAnswer, PiecesAnswer, TypesAnswer, UseAnswer,
};
use crate::server::form::{Fields, Typed};
use crate::server::pages::{cut as cut_page, fitness as use_page, source, types as types_page};
use crate::server::refusal::{Refusal, Refused};
use crate::server::shared::Shared;

/// Names the fields of a question for its description.
macro_rules! parameters {
    ($name:ident, $doc:literal, $fields:expr) => {
        #[doc = $doc]
        pub(super) struct $name;

        impl IntoParams for $name {
            fn into_params(_in: impl Fn() -> Option<ParameterIn>) -> Vec<Parameter> {
                $fields
            }
        }
    };
}

parameters!(UseParameters, "Fields of `use`.", {
    let fields = Fields::of::<UseArgs>(&use_page::FIELDS, None);
    with_tag(fields.parameters())
});
parameters!(CutParameters, "Fields of `cut`, of all kinds of piece.", {
    let of_kind = |kind: &cut_page::Kind| Fields::of::<CutArgs>(kind.3, Some(kind.0)).parameters();
    let mut all = with_tag(vec![piece()]);
    for mut parameter in cut_page::KINDS.iter().flat_map(of_kind) {
        if all.iter().all(|p| p.name != parameter.name) {
            parameter.required = Required::False;
            all.push(parameter);
        }
    }
    all
});
parameters!(TypesParameters, "Fields that narrow the list of types.", {
    Fields::of::<TypesArgs>(&types_page::LIST, None).parameters()
});
parameters!(SeenParameters, "Fields of what one sees of a cable.", {
    Fields::of::<TypesArgs>(&types_page::SEEN, None).parameters()
});

/// The field that only the server has.
fn with_tag(mut parameters: Vec<Parameter>) -> Vec<Parameter> {
    let tag = ParameterBuilder::new()
        .name(source::TAG)
        .parameter_in(ParameterIn::Query)
        .description(Some("Tag of a cable on the shelf, instead of a type"))
        .schema(Some(ObjectBuilder::new().schema_type(Type::String)))
        .build();
    parameters.push(tag);
    parameters
}

fn piece() -> Parameter {
    let kinds = cut_page::KINDS.iter().map(|kind| kind.0);
    ParameterBuilder::new()
        .name("piece")
        .parameter_in(ParameterIn::Query)
        .description(Some("What to cut; each kind has its own fields"))
        .schema(Some(
            ObjectBuilder::new()
                .schema_type(Type::String)
                .enum_values(Some(kinds)),
        ))
        .build()
}

/// What a cable is fit for.
///
/// Loss, SWR, voltage and heat of a type or of a cable of the shelf at a frequency, over a run, with a
/// power and a load.
#[utoipa::path(get, path = "/api/use", tag = "questions", params(UseParameters),
    responses((status = 200, body = UseAnswer), (status = 404, body = Refused), (status = 422, body = Refused)))]
pub(super) async fn fitness(
    State(shared): State<Shared>,
    Query(typed): Query<Typed>,
) -> Result<Json<UseAnswer>, Refusal> {
    let fields = Fields::of::<UseArgs>(&use_page::FIELDS, None);
    let (fitness, asked) = use_page::answered(&shared, &fields, &typed).await?;
    Ok(Json(UseAnswer::of(fitness, &asked)))
}

/// Where to cut.
///
/// A piece of a type or of a cable of the shelf, and the way to it; or the cuts around a fault.
#[utoipa::path(get, path = "/api/cut", tag = "questions", params(CutParameters),
    responses((status = 200, body = CutAnswer), (status = 404, body = Refused), (status = 422, body = Refused)))]
pub(super) async fn cut(
    State(shared): State<Shared>,
    Query(typed): Query<Typed>,
) -> Result<Json<CutAnswer>, Refusal> {
    let kind = cut_page::kind(&typed);
    let fields = Fields::of::<CutArgs>(kind.3, Some(kind.0));
    Ok(Json(
        match cut_page::answered(&shared, &fields, &typed).await? {
            cut_page::Answer::Pieces(answer, asked) => {
                CutAnswer::Pieces(PiecesAnswer::of(*answer, &asked))
            }
            cut_page::Answer::Fault(answer) => CutAnswer::Fault(FaultAnswer::of(answer)),
        },
    ))
}

/// The types of the catalogue.
#[utoipa::path(get, path = "/api/types", tag = "types", params(TypesParameters),
    responses((status = 200, body = TypesAnswer), (status = 422, body = Refused)))]
pub(super) async fn types(
    Query(typed): Query<Typed>,
) -> Result<Json<TypesAnswer<'static>>, Refusal> {
    let fields = Fields::of::<TypesArgs>(&types_page::LIST, None);
    let types = types_page::narrowed(&fields, &typed)?;
    Ok(Json(TypesAnswer::of(&types)))
}

/// One type with its figures and their sources.
#[utoipa::path(get, path = "/api/types/{name}", tag = "types", params(("name" = String, Path, description = "Designation or alias")),
    responses((status = 200, body = TypesAnswer), (status = 404, body = Refused)))]
pub(super) async fn one_type(
    Path(name): Path<String>,
) -> Result<Json<TypesAnswer<'static>>, Refusal> {
    let found = Catalogue::built_in().find(&name);
    let found = found.map_err(|unknown| Refusal::missing(unknown.to_string()))?;
    Ok(Json(TypesAnswer::of(&[found])))
}

/// Which types a cable may be, from what one sees of it.
#[utoipa::path(get, path = "/api/identify", tag = "types", params(SeenParameters),
    responses((status = 200, body = IdentificationAnswer), (status = 422, body = Refused)))]
pub(super) async fn identify(
    Query(typed): Query<Typed>,
) -> Result<Json<IdentificationAnswer>, Refusal> {
    let fields = Fields::of::<TypesArgs>(&types_page::SEEN, None);
    let found = types_page::identified(&fields, &typed)?;
    Ok(Json(IdentificationAnswer::of(found)))
}
