//! Questions that a form asks while one types: one page and one JSON route for each, with the same
//! fields and the same answer.
//!
//! `live.js` asks for the page again with every key and puts its parts in place; without scripts the
//! button does it.

use axum::Json;
use axum::extract::Query;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use maud::{Markup, html};
use utoipa::ToSchema;
use utoipa::openapi::path::{HttpMethod, OperationBuilder, PathItem, PathsBuilder};
use utoipa::openapi::schema::Schema;
use utoipa::openapi::{ContentBuilder, Ref, RefOr, ResponseBuilder};
use utoipa_axum::router::OpenApiRouter;

use super::form::{Field, Fields, Typed};
use super::frame::Frame;
use super::parts;
use super::refusal::{Refusal, Refused};
use super::shared::Shared;
use super::units::Units;
use crate::questions::ask::{Answer, Ask, Unanswered};
use crate::questions::numbered::Numbered;

/// A question that a form asks.
pub trait Live: 'static {
    /// The arguments that its fields fill.
    type Arguments: Ask<Answer: ToSchema + Send> + Send + 'static;

    /// Page and route.
    const FORM: Form;

    /// Whether anything is asked yet.
    fn is_asked(form: &Form, typed: &Typed) -> bool {
        !typed.is_empty(form.fields)
    }

    /// The answer as a part of the page.
    fn show(answer: &<Self::Arguments as Ask>::Answer, units: Units) -> Markup;
}

/// Words and fields of a page with a form, and what its JSON route says of itself.
#[derive(Clone, Copy, Debug)]
pub struct Form {
    /// Path of the page; that of the route is the same after `/api`.
    pub path: &'static str,
    /// Title of the page.
    pub title: &'static str,
    /// Its heading.
    pub heading: &'static str,
    /// What stands below the heading.
    pub intro: &'static str,
    /// Arguments that it takes.
    pub fields: &'static [Field],
    /// The button that asks.
    pub button: &'static str,
    /// The link that empties the form.
    pub clear: Option<&'static str>,
    /// Whether the answer stands beside the form, not below it.
    pub beside: bool,
    /// What stands in the answer's place before anything is asked.
    pub first: &'static str,
    /// What the description of the API says of the route.
    pub route: Route,
}

/// What the description of the API says of a route.
#[derive(Clone, Copy, Debug)]
pub struct Route {
    /// Group that it stands in.
    pub tag: &'static str,
    /// What it answers, in a line.
    pub summary: &'static str,
    /// What else is to be said of it.
    pub description: &'static str,
}

/// The page and the route of a question.
pub fn routes<L: Live>() -> OpenApiRouter<Shared> {
    let item = PathItem::new(HttpMethod::Get, operation::<L>());
    let paths = PathsBuilder::new().path(format!("/api{}", L::FORM.path), item);
    let mut schemas = vec![named::<Numbered<AnswerOf<L>>>(), named::<Refused>()];
    <Numbered<AnswerOf<L>>>::schemas(&mut schemas);
    Refused::schemas(&mut schemas);
    OpenApiRouter::new()
        .route(L::FORM.path, get(page::<L>))
        .routes((schemas, paths.build(), get(json::<L>)))
}

type AnswerOf<L> = <<L as Live>::Arguments as Ask>::Answer;

fn named<T: ToSchema>() -> (String, RefOr<Schema>) {
    (T::name().into_owned(), T::schema())
}

/// What the description of the API says of the route.
fn operation<L: Live>() -> OperationBuilder {
    let Form { path, route, .. } = L::FORM;
    let answers = |name: &str, description: &str| {
        let content = ContentBuilder::new().schema(Some(Ref::from_schema_name(name)));
        ResponseBuilder::new()
            .description(description)
            .content("application/json", content.build())
    };
    let name = <Numbered<AnswerOf<L>>>::name();
    OperationBuilder::new()
        .operation_id(Some(path.replace('/', "_").trim_start_matches('_')))
        .tag(route.tag)
        .summary(Some(route.summary))
        .description(Some(route.description).filter(|text| !text.is_empty()))
        .parameters(Some(fields::<L>(&L::FORM).parameters()))
        .response("200", answers(&name, ""))
        .response("422", answers("Refused", ""))
}

fn fields<L: Live>(form: &Form) -> Fields {
    Fields::of::<L::Arguments>(form.fields, None)
}

async fn json<L: Live>(Query(typed): Query<Typed>) -> Result<Response, Refusal> {
    let answer = answered::<L>(&L::FORM, &typed)?;
    Ok(Json(answer.json()).into_response())
}

async fn page<L: Live>(units: Units, Query(typed): Query<Typed>) -> Response {
    let form = L::FORM;
    let asked = L::is_asked(&form, &typed);
    let (answer, refused) = match asked.then(|| answered::<L>(&form, &typed)) {
        Some(Ok(answer)) => (Some(answer), None),
        Some(Err(refusal)) => (None, Some(refusal)),
        None => (None, None),
    };
    let said = refused.as_ref().map(|r| &r.said);
    let ask = html! {
        form method="get" action=(form.path) data-live {
            (fields::<L>(&form).show(form.fields, &typed, said))
            div.actions {
                button.main { (form.button) }
                @if let Some(clear) = form.clear { a.button href=(form.path) { (clear) } }
            }
        }
    };
    let beside = form.beside.then_some("beside");
    let shown = html! {
        div id="answer" class=[beside] data-part="answer" aria-live="polite" {
            (parts::refused(said))
            @if let Some(answer) = &answer { (L::show(answer, units)) }
            @else if !asked { p.soft { (form.first) } }
        }
    };
    let main = html! {
        h1 { (form.heading) }
        p { (form.intro) }
        @if form.beside { div.columns.lead { (ask) (shown) } } @else { (ask) (shown) }
    };
    let page = Frame::new(form.title, form.path).scripts(&["live.js"]);
    let status = refused.map_or(StatusCode::OK, |r| r.status());
    (status, page.show(main)).into_response()
}

/// The answer to what was typed.
fn answered<L: Live>(form: &Form, typed: &Typed) -> Result<AnswerOf<L>, Refusal> {
    let arguments: L::Arguments = fields::<L>(form).read(typed)?;
    arguments.ask().map_err(Refusal::from)
}

impl From<Unanswered> for Refusal {
    fn from(unanswered: Unanswered) -> Self {
        let refusal = Self::bad(unanswered.error.to_string());
        match unanswered.help {
            Some(help) => refusal.help(help),
            None => refusal,
        }
    }
}
