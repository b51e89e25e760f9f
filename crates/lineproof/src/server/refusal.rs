//! Errors of the server: a status, a sentence, one next step; as JSON or as a page.

use std::any::Any;

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use lineproof_record::ShelfError;
use serde::Serialize;
use tower_http::csrf::ProtectionError;
use utoipa::ToSchema;

use super::frame::Frame;

/// Why a request is refused. As a response it is JSON; [`Refusal::page`] makes a page of it.
#[derive(Clone, Debug)]
pub struct Refusal {
    status: StatusCode,
    /// What the client reads.
    pub said: Refused,
}

/// What a client reads when a request is refused.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Refused {
    /// What is wrong.
    pub error: String,
    /// One next step.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub help: Option<String>,
    /// What is wrong with single fields.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fields: Vec<FieldRefused>,
}

/// A field of a request that cannot be read.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct FieldRefused {
    /// Its name in the request.
    pub field: String,
    /// What is wrong.
    pub error: String,
}

/// A refusal that is shown as a page.
#[derive(Debug)]
pub struct RefusedPage(Refusal);

impl Refusal {
    /// A refusal with its status.
    pub fn new(status: StatusCode, error: impl Into<String>) -> Self {
        let error = error.into();
        Self {
            status,
            said: Refused {
                error,
                ..Refused::default()
            },
        }
    }

    /// The request is invalid, for the reasons given.
    pub fn of(said: Refused) -> Self {
        let status = StatusCode::UNPROCESSABLE_ENTITY;
        Self { status, said }
    }

    /// The request is invalid.
    pub fn bad(error: impl Into<String>) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, error)
    }

    /// A field of the request is invalid.
    pub fn field(field: &str, error: impl Into<String>) -> Self {
        let error = error.into();
        let mut refusal = Self::bad(error.clone());
        let field = field.to_owned();
        refusal.said.fields.push(FieldRefused { field, error });
        refusal
    }

    /// Says which field is to blame.
    #[must_use]
    pub fn in_field(mut self, field: &str) -> Self {
        let (field, error) = (field.to_owned(), self.said.error.clone());
        self.said.fields.push(FieldRefused { field, error });
        self
    }

    /// What was requested does not exist.
    pub fn missing(error: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, error)
    }

    /// A fault of this program.
    pub fn internal() -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "internal error in lineproof",
        )
    }

    /// Adds one next step.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.said.help = Some(help.into());
        self
    }

    /// Its status.
    pub fn status(&self) -> StatusCode {
        self.status
    }

    /// The same as a page.
    pub fn page(self) -> RefusedPage {
        RefusedPage(self)
    }
}

impl Refused {
    /// What is wrong with a field.
    pub fn of_field(&self, name: &str) -> Option<&str> {
        let field = self.fields.iter().find(|f| f.field == name)?;
        Some(&field.error)
    }
}

impl From<ShelfError> for Refusal {
    fn from(error: ShelfError) -> Self {
        let status = match error {
            ShelfError::NoSuchTag { .. } | ShelfError::Missing { .. } => StatusCode::NOT_FOUND,
            ShelfError::TagTaken { .. } => StatusCode::CONFLICT,
            ShelfError::BadTag { .. } => StatusCode::UNPROCESSABLE_ENTITY,
            _ => StatusCode::INTERNAL_SERVER_ERROR,
        };
        let refusal = Self::new(status, error.to_string());
        match error.help() {
            Some(help) => refusal.help(help),
            None => refusal,
        }
    }
}

impl From<Refusal> for RefusedPage {
    fn from(refusal: Refusal) -> Self {
        Self(refusal)
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        (self.status, Json(self.said)).into_response()
    }
}

impl IntoResponse for RefusedPage {
    fn into_response(self) -> Response {
        let Refusal { status, said } = self.0;
        let frame = Frame::new("Request refused", "");
        let body = maud::html! {
            h1 { "Request refused" }
            p.refused { (said.error) }
            @if let Some(help) = said.help { p { (help) } }
            p { a href="/" { "Back to the start" } }
        };
        (status, frame.show(body)).into_response()
    }
}

/// The answer to a request that comes from another site.
pub fn foreign_origin(_error: ProtectionError) -> Response {
    let refusal = Refusal::new(
        StatusCode::FORBIDDEN,
        "this request comes from another site: only pages of this server may change data",
    );
    refusal.into_response()
}

/// The answer after a panic; standard error has the details.
pub fn panicked(_panic: Box<dyn Any + Send>) -> Response {
    Refusal::internal().into_response()
}
