//! What every surface renders: rows of names and texts, numbers, sentences under a heading.

use crate::quantity::digits::pair;

/// A name and what is said of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// The name; empty where it is the one before.
    pub name: &'static str,
    /// What is said.
    pub text: String,
    /// Number of the event that it is about.
    pub event: Option<usize>,
}

/// A number with its 95 % interval.
#[derive(Clone, Debug, PartialEq)]
pub struct Number {
    /// What it is; empty where it is the one before.
    pub name: &'static str,
    /// The value, rounded to its interval.
    pub value: String,
    /// The half-width; empty of what has none.
    pub u95: String,
    /// The unit of both.
    pub unit: &'static str,
    /// What goes with it.
    pub note: String,
}

/// Sentences under a heading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sentences {
    /// The heading.
    pub heading: &'static str,
    /// The sentences; none if there is nothing to say.
    pub items: Vec<String>,
}

/// Rows as they are made.
#[derive(Default)]
pub(super) struct Rows(pub(super) Vec<Row>);

impl Rows {
    pub(super) fn add(&mut self, name: &'static str, text: impl Into<String>) {
        self.0.push(Row {
            name,
            text: text.into(),
            event: None,
        });
    }

    /// Texts of which only the first is named.
    pub(super) fn list(&mut self, name: &'static str, texts: impl IntoIterator<Item = String>) {
        for (i, text) in texts.into_iter().enumerate() {
            self.add(if i == 0 { name } else { "" }, text);
        }
    }
}

/// Numbers as they are made.
#[derive(Default)]
pub(super) struct Numbers(pub(super) Vec<Number>);

impl Numbers {
    pub(super) fn add(
        &mut self,
        name: &'static str,
        (value, u95): (f64, f64),
        unit: &'static str,
        note: impl Into<String>,
    ) {
        let (value, u95) = pair(value, u95);
        self.0.push(Number {
            name,
            value,
            u95,
            unit,
            note: note.into(),
        });
    }
}
