//! The whole shelf as a zip that other programs can read, and back.
//!
//! One file of JSON lines for each table, a row each; the sweeps and photos as files of their own,
//! named in their rows by `path`; and `cables.csv`, the list of cables for a spreadsheet, which is
//! not read back. Rows are identified by their ids, so a second import of the same archive adds
//! nothing, and two shelves become one by importing the one into the other.

mod read;
mod write;

/// What went out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Exported {
    /// Number of rows.
    pub rows: usize,
    /// Number of files: sweeps and photos.
    pub files: usize,
}

/// What came in.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Imported {
    /// Number of rows that were not there before.
    pub new_rows: usize,
    /// Number of rows that were there already.
    pub known_rows: usize,
    /// Cables that got another tag because another cable had theirs: old tag, new tag.
    pub renamed: Vec<(String, String)>,
}

/// Number of the archive's layout.
const LAYOUT: u64 = 1;
/// The file that says what the archive is.
const ABOUT: &str = "about.json";

/// A table as it goes into the archive, parents before children. `sha256` stands for a file.
struct Table {
    name: &'static str,
    columns: &'static [&'static str],
}

const TABLES: [Table; 7] = [
    Table {
        name: "cable",
        columns: &[
            "id",
            "tag",
            "description",
            "place",
            "created_at",
            "changed_at",
            "retired_at",
            "retired_why",
        ],
    },
    Table {
        name: "assay",
        columns: &["id", "cable_id", "at", "setup"],
    },
    Table {
        name: "sweep",
        columns: &["id", "assay_id", "position", "file_name", "role", "sha256"],
    },
    Table {
        name: "finding",
        columns: &["id", "assay_id", "made_at", "program_version", "json"],
    },
    Table {
        name: "decision",
        columns: &["id", "cable_id", "at", "action", "reason"],
    },
    Table {
        name: "note",
        columns: &["id", "cable_id", "at", "text"],
    },
    Table {
        name: "photo",
        columns: &["id", "cable_id", "at", "file_name", "caption", "sha256"],
    },
];

impl Table {
    /// The file with its rows.
    fn file(&self) -> String {
        format!("{}.jsonl", self.name)
    }

    fn has_file(&self) -> bool {
        self.columns.contains(&"sha256")
    }
}
