//! Questions that a form asks while one types: one page and one JSON route for each, with the same
//! fields and the same answer.
//!
//! `live.js` asks for the page again with every key and puts its parts in place; without scripts the
//! button does it.

use axum::Json;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use maud::{Markup, html};
use utoipa::ToSchema;
use utoipa::openapi::path::{HttpMethod, OperationBuilder, Parameter, PathItem, PathsBuilder};
use utoipa::openapi::schema::Schema;
use utoipa::openapi::{ContentBuilder, Ref, RefOr, ResponseBuilder};
use utoipa_axum::router::OpenApiRouter;

use super::form::{Field, Fields, Typed};
use super::frame::Frame;
use super::refusal::{Refusal, Refused, RefusedPage};
use super::shared::Shared;
use super::units::Units;
use super::{parts, which_cable};
use crate::facts::Surface;
use crate::questions::ask::{Answer, Ask};
use crate::questions::cable::source::SourceError;
use crate::questions::numbered::Numbered;
use crate::questions::unanswered::Unanswered;

/// A question that a form asks.
pub trait Live: Sized + 'static {
    /// The arguments that its fields fill.
    type Arguments: Ask<Answer: ToSchema + Send> + Send + 'static;

    /// Page and route.
    const FORM: Form;

    /// Whether anything is asked yet. A link names a cable and nothing else: that is no question.
    fn is_asked(form: &Form, typed: &Typed) -> bool {
        !typed.is_empty(form.own())
    }

    /// Page and route for what is typed so far.
    fn form(_typed: &Typed) -> Form {
        Self::FORM
    }

    /// What stands above the form.
    fn above(_typed: &Typed) -> Markup {
        html! {
            @if !Self::FORM.intro.is_empty() { p { (Self::FORM.intro) } }
        }
    }

    /// What the route takes.
    fn parameters() -> Vec<Parameter> {
        let mut parameters = fields::<Self>(&Self::FORM).parameters();
        if Self::FORM.of_cable > 0 {
            parameters.push(which_cable::parameter());
        }
        parameters
    }

    /// The answer as a part of the page.
    fn show(answer: &<Self::Arguments as Ask>::Answer, units: Units) -> Markup;
}

/// Words and fields of a page with a form, and what its JSON route says of itself.
#[derive(Clone, Copy, Debug)]
pub struct Form {
    /// Path of the page.
    pub path: &'static str,
    /// Its place in the navigation.
    pub here: &'static str,
    /// Title of the page.
    pub title: &'static str,
    /// Its heading.
    pub heading: &'static str,
    /// What stands below the heading.
    pub intro: &'static str,
    /// Arguments that it takes.
    pub fields: &'static [Field],
    /// How many of them, at their head, name the cable; a cable of the shelf may be named instead.
    pub of_cable: usize,
    /// The field that chooses among kinds of the question, and the kind.
    pub under: Option<(&'static str, &'static str)>,
    /// Heading of the fields; those of the arguments if there is none.
    pub group: Option<&'static str>,
    /// The button that asks.
    pub button: &'static str,
    /// The link that empties the form.
    pub clear: Option<&'static str>,
    /// Whether the answer stands beside the form, not below it.
    pub beside: bool,
    /// Name of the search that the form is, if it is one.
    pub search: Option<&'static str>,
    /// What stands in the answer's place before anything is asked.
    pub first: &'static str,
    /// What the description of the API says of the route.
    pub route: Route,
}

/// What the description of the API says of a route.
#[derive(Clone, Copy, Debug)]
pub struct Route {
    /// Its path.
    pub path: &'static str,
    /// Group that it stands in.
    pub tag: &'static str,
    /// What it answers, in a line.
    pub summary: &'static str,
    /// What else is to be said of it.
    pub description: &'static str,
}

impl Route {
    /// A route of the questions without words.
    pub const PLAIN: Self = Self {
        path: "",
        tag: "questions",
        summary: "",
        description: "",
    };
}

/// The page and the route of a question.
pub fn routes<L: Live>() -> OpenApiRouter<Shared> {
    let item = PathItem::new(HttpMethod::Get, operation::<L>());
    let paths = PathsBuilder::new().path(L::FORM.route.path, item);
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
    let (route, of_cable) = (L::FORM.route, L::FORM.of_cable > 0);
    let id = route.path.trim_start_matches("/api/").replace('/', "_");
    let answers = |name: &str, description: &str| {
        let content = ContentBuilder::new().schema(Some(Ref::from_schema_name(name)));
        ResponseBuilder::new()
            .description(description)
            .content("application/json", content.build())
    };
    let name = <Numbered<AnswerOf<L>>>::name();
    let operation = OperationBuilder::new()
        .operation_id(Some(id))
        .tag(route.tag)
        .summary(Some(route.summary))
        .description(Some(route.description).filter(|text| !text.is_empty()))
        .parameters(Some(L::parameters()))
        .response("200", answers(&name, ""))
        .response("422", answers("Refused", ""));
    if of_cable {
        operation.response("404", answers("Refused", ""))
    } else {
        operation
    }
}

fn fields<L: Live>(form: &Form) -> Fields {
    Fields::of::<L::Arguments>(form.fields, form.under.map(|under| under.1))
}

async fn json<L: Live>(
    State(shared): State<Shared>,
    Query(typed): Query<Typed>,
) -> Result<Response, Refusal> {
    let answer = answered::<L>(&shared, &L::form(&typed), &typed).await?;
    Ok(Json(answer.json()).into_response())
}

async fn page<L: Live>(
    State(shared): State<Shared>,
    units: Units,
    Query(typed): Query<Typed>,
) -> Result<Response, RefusedPage> {
    let form = L::form(&typed);
    let asked = L::is_asked(&form, &typed);
    let (answer, refused) = if asked {
        match answered::<L>(&shared, &form, &typed).await {
            Ok(answer) => (Some(answer), None),
            Err(refusal) => (None, Some(refusal)),
        }
    } else {
        (None, None)
    };
    let said = refused.as_ref().map(|r| &r.said);
    let fields = fields::<L>(&form);
    let ask = html! {
        form class=[form.search.map(|_| "search")] method="get" action=(form.path) data-live
            role=[form.search.map(|_| "search")] aria-label=[form.search] {
            @if let Some((name, kind)) = form.under { input type="hidden" name=(name) value=(kind); }
            @if form.of_cable > 0 {
                (which_cable::show(&shared, &fields, form.of_cable, &typed, said).await?)
            }
            @if form.group.is_some() {
                (fields.group(form.group, &form.own().iter().collect::<Vec<_>>(), &typed, said))
            } @else {
                (fields.show(form.own(), &typed, said))
            }
            div.actions {
                button.main { (form.button) }
                @if let Some(clear) = form.clear { a.button href=(form.path) { (clear) } }
            }
        }
    };
    let beside = form.beside.then_some("beside");
    let shown = html! {
        div class=[beside] id="answer" data-part="answer" aria-live="polite" {
            (parts::refused(said))
            @if let Some(answer) = &answer { (L::show(answer, units)) }
            @else if !asked && !form.first.is_empty() { p.soft { (form.first) } }
        }
    };
    let main = html! {
        h1 { (form.heading) }
        (L::above(&typed))
        @if form.beside { div.columns.lead { (ask) (shown) } } @else { (ask) (shown) }
    };
    let page = Frame::new(form.title, form.here).scripts(&["live.js"]);
    let status = refused.map_or(StatusCode::OK, |r| r.status());
    Ok((status, page.show(main)).into_response())
}

/// The answer to what was typed. What opens the shelf is work; the rest takes less than a millisecond.
async fn answered<L: Live>(
    shared: &Shared,
    form: &Form,
    typed: &Typed,
) -> Result<AnswerOf<L>, Refusal> {
    let mut arguments: L::Arguments = fields::<L>(form).read(typed)?;
    let mut of_shelf = false;
    if let Some(source) = arguments.cable().filter(|_| form.of_cable > 0) {
        which_cable::name(source, shared, typed)?;
        of_shelf = !typed.get(which_cable::TAG).is_empty();
    }
    let answer = if of_shelf {
        shared.work().run(|| (), move || arguments.ask()).await?
    } else {
        arguments.ask()
    };
    answer.map_err(Refusal::from)
}

impl Form {
    /// A form without words and fields.
    pub const PLAIN: Self = Self {
        path: "",
        here: "",
        title: "",
        heading: "",
        intro: "",
        fields: &[],
        of_cable: 0,
        under: None,
        group: None,
        button: "",
        clear: None,
        beside: false,
        search: None,
        first: "",
        route: Route::PLAIN,
    };

    /// The fields besides those that name the cable.
    fn own(&self) -> &'static [Field] {
        &self.fields[self.of_cable..]
    }
}

impl From<Unanswered> for Refusal {
    fn from(unanswered: Unanswered) -> Self {
        let refusal = match unanswered.error {
            None => Self::bad(unanswered.messages.join("; ")),
            Some(error) => match error.downcast::<SourceError>() {
                Ok(error) => return which_cable::refusal(*error),
                Err(error) => Self::bad(error.to_string()),
            },
        };
        match unanswered.help {
            Some(help) => refusal.help(help.on(Surface::Page)),
            None => refusal,
        }
    }
}
