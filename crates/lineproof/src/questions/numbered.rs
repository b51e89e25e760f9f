//! Answers for programs, each with the number of its layout.
//!
//! The rules are those of [`crate::finding`]: keys may be added, never renamed; `u95` is the half-width
//! of a 95 % interval; SI units, except where the key says otherwise. What a question does not ask for
//! or the data do not determine is `null`; of readings, as in a finding, it is absent.

use std::borrow::Cow;

use serde::Serialize;
use utoipa::openapi::RefOr;
use utoipa::openapi::schema::{ObjectBuilder, Schema, Type};
use utoipa::{PartialSchema, ToSchema};

use crate::finding::SCHEMA;

/// An answer with the number of its layout before its own keys.
#[derive(Clone, Debug, Serialize)]
pub struct Numbered<T> {
    schema: u32,
    #[serde(flatten)]
    answer: T,
}

impl<T> Numbered<T> {
    /// The answer with the number of today's layout.
    pub fn of(answer: T) -> Self {
        Self {
            schema: SCHEMA,
            answer,
        }
    }
}

impl<T: PartialSchema> PartialSchema for Numbered<T> {
    fn schema() -> RefOr<Schema> {
        let mut schema = T::schema();
        number(&mut schema);
        schema
    }
}

/// Puts the number into an object, or into each of several that an answer may be.
fn number(schema: &mut RefOr<Schema>) {
    match schema {
        RefOr::T(Schema::Object(object)) => {
            let number = ObjectBuilder::new()
                .schema_type(Type::Integer)
                .description(Some("Number of this layout."));
            let key = "schema".to_owned();
            object.properties.insert(key.clone(), number.build().into());
            object.required.insert(0, key);
        }
        RefOr::T(Schema::OneOf(one)) => one.items.iter_mut().for_each(number),
        // a variant with an explanation of its own stands in a list of one
        RefOr::T(Schema::AllOf(all)) if !all.items.is_empty() => {
            *schema = all.items.swap_remove(0);
            number(schema);
        }
        _ => {}
    }
}

impl<T: ToSchema> ToSchema for Numbered<T> {
    fn name() -> Cow<'static, str> {
        T::name()
    }

    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        T::schemas(schemas);
    }
}
