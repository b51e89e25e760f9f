//! Where a person is told of a fact: each place calls it by the name that stands there.

use super::fact::{About, Spelling};

/// Where something is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Surface {
    /// In a terminal, where a fact is an option.
    Terminal,
    /// On a page and in the API's words for people, where it is a field.
    Page,
}

impl Surface {
    /// What the fact is called there.
    pub fn name(self, fact: &About) -> String {
        match self {
            Self::Terminal => format!("`--{}`", fact.option()),
            Self::Page => format!("“{}”", fact.label),
        }
    }

    /// How this is said of the fact there.
    pub fn with(self, fact: &About, text: &str) -> String {
        match (self, fact.spelling) {
            (Self::Terminal, Spelling::Keyed { key, .. }) => {
                format!("`--{} {key}={text}`", fact.option())
            }
            (Self::Terminal, _) => format!("`--{} {text}`", fact.option()),
            (Self::Page, _) => format!("`{text}` in “{}”", fact.label),
        }
    }
}
