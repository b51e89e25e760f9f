//! What a report is made of.

use serde::Serialize;

/// A report.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Document {
    /// Its title, also at the foot of each page.
    pub title: String,
    /// Its sections; each begins a page.
    pub sections: Vec<Vec<Block>>,
}

/// A piece of a section.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Block {
    /// A heading; a section begins with one of level 1, and no level is left out.
    Heading {
        /// From 1.
        level: usize,
        /// Its text.
        text: String,
    },
    /// Sentences.
    Paragraph {
        /// Their text.
        text: String,
        /// Whether they stand back behind the others.
        quiet: bool,
    },
    /// What the one who decides must know, in a frame.
    Decision {
        /// The sentence that says it.
        sentence: String,
        /// `sound`, `faulty` or anything else, which the frame shows by its line.
        condition: String,
        /// Names and what is said of them; a name that is empty goes on with the one before.
        rows: Vec<[String; 2]>,
    },
    /// Names and what is said of them.
    Terms {
        /// The rows.
        rows: Vec<[String; 2]>,
    },
    /// A table.
    Table {
        /// Headings of its columns.
        columns: Vec<String>,
        /// Numbers of the columns whose cells stand to the right.
        right: Vec<usize>,
        /// Its rows, as many cells as columns.
        rows: Vec<Vec<String>>,
    },
    /// A list.
    List {
        /// Whether its order matters.
        ordered: bool,
        /// Its items.
        items: Vec<String>,
    },
    /// A picture with its caption.
    Picture(Picture),
}

/// A picture.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Picture {
    /// A whole SVG document.
    #[serde(skip)]
    pub svg: String,
    /// What it shows, for those who can't see it.
    pub alt: String,
    /// Caption below it; none if empty.
    pub caption: String,
    /// Width on the page, mm.
    pub width_mm: f64,
}
