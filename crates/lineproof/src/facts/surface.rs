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

/// The next step after an error, in the words of each surface.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Help {
    terminal: String,
    page: String,
}

impl Help {
    /// What a terminal says, and what a page says.
    pub fn each(terminal: impl Into<String>, page: impl Into<String>) -> Self {
        Self {
            terminal: terminal.into(),
            page: page.into(),
        }
    }

    /// As it is said there.
    pub fn on(&self, surface: Surface) -> &str {
        match surface {
            Surface::Terminal => &self.terminal,
            Surface::Page => &self.page,
        }
    }
}

impl<T: Into<String>> From<T> for Help {
    fn from(everywhere: T) -> Self {
        let text = everywhere.into();
        Self::each(text.clone(), text)
    }
}
