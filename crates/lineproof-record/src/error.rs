//! Why the shelf can't do something.

use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;
use thiserror::Error;

/// Why the shelf can't do something.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ShelfError {
    /// There is no such file, and it was not to be made.
    #[error("there is no shelf at `{}`", path.display())]
    Missing {
        /// Where it should be.
        path: PathBuf,
    },
    /// The file is something else.
    #[error("`{}` is not a shelf", path.display())]
    NotAShelf {
        /// The file.
        path: PathBuf,
    },
    /// A newer program made the file.
    #[error(
        "`{}` has layout {found}, made by a newer program; this one knows layouts up to {known}",
        path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Number of its layout.
        found: usize,
        /// Highest number that this program knows.
        known: usize,
    },
    /// The file or its folder does not let itself be written.
    #[error("`{}` can't be written: the file or its folder is read-only", path.display())]
    ReadOnly {
        /// The file.
        path: PathBuf,
    },
    /// Another process is writing, and was for the whole wait.
    #[error("`{}` is locked: another program has been writing to it for {waited_s} s", path.display())]
    Locked {
        /// The file.
        path: PathBuf,
        /// How long this program waited, s.
        waited_s: u64,
    },
    /// No room.
    #[error("no space left for `{}`; nothing of this was stored, and earlier records are intact", path.display())]
    Full {
        /// The file.
        path: PathBuf,
    },
    /// The file does not hold what SQLite wrote.
    #[error("`{}` is damaged", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What SQLite says.
        source: rusqlite::Error,
    },
    /// The file can't be opened at all.
    #[error("cannot open the shelf `{}`", path.display())]
    Open {
        /// The file.
        path: PathBuf,
        /// What SQLite says.
        source: rusqlite::Error,
    },
    /// The folder can't be made.
    #[error("cannot create the folder `{}`", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A tag that nobody has.
    #[error("no cable has the tag `{tag}`")]
    NoSuchTag {
        /// The tag.
        tag: String,
    },
    /// A tag that a cable has already.
    #[error("another cable has the tag `{tag}`")]
    TagTaken {
        /// The tag.
        tag: String,
    },
    /// A tag that does not fit on a label.
    #[error(
        "tag `{tag}` can't be used: expected 1 to 32 characters without spaces at the ends or control characters"
    )]
    BadTag {
        /// The tag.
        tag: String,
    },
    /// An assay that is not there.
    #[error("no assay has the id `{id}`")]
    NoSuchAssay {
        /// The id.
        id: String,
    },
    /// A file where a new one should be written.
    #[error("`{}` already exists", path.display())]
    TargetExists {
        /// The file.
        path: PathBuf,
    },
    /// An archive that is not one.
    #[error("cannot read the archive: {what}")]
    Archive {
        /// What is wrong with it.
        what: String,
    },
    /// The archive's file can't be read or written.
    #[error("cannot read or write the archive")]
    ArchiveFile {
        /// What the system says.
        #[from]
        source: io::Error,
    },
    /// Anything else that SQLite says.
    #[error("cannot use the shelf `{}`", path.display())]
    Sqlite {
        /// The file.
        path: PathBuf,
        /// What SQLite says.
        source: rusqlite::Error,
    },
}

impl ShelfError {
    /// One next step.
    pub fn help(&self) -> Option<String> {
        let text = match self {
            Self::Missing { .. } => {
                "`lineproof assay … --shelve TAG` makes it; `--shelf FILE` names another".to_owned()
            }
            Self::NotAShelf { .. } => "`--shelf FILE` names another file".to_owned(),
            Self::Newer { .. } => {
                "use the newer program; this one leaves the file alone".to_owned()
            }
            Self::ReadOnly { .. } => {
                "copy it to a folder where you may write, or name that with `--shelf FILE`"
                    .to_owned()
            }
            Self::Locked { .. } => "wait until the other program is done and try again".to_owned(),
            Self::Full { .. } => "make room and try again".to_owned(),
            Self::Damaged { path, .. } => format!(
                "take the newest backup; keep the damaged file, and try `sqlite3 {} .recover` on a copy of it",
                path.display()
            ),
            Self::TargetExists { .. } => "give another name; nothing is overwritten".to_owned(),
            Self::NoSuchTag { .. } => "`lineproof shelf list --all` shows all tags".to_owned(),
            Self::TagTaken { .. } => "tags differ in more than upper and lower case".to_owned(),
            _ => return None,
        };
        Some(text)
    }

    /// What an error of SQLite's means for the shelf at `path`.
    pub(crate) fn from_sqlite(path: &Path, source: rusqlite::Error) -> Self {
        let path = path.to_owned();
        match source.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Locked {
                path,
                waited_s: crate::BUSY_WAIT.as_secs(),
            },
            Some(ErrorCode::DiskFull) => Self::Full { path },
            Some(ErrorCode::ReadOnly) => Self::ReadOnly { path },
            Some(ErrorCode::NotADatabase) => Self::NotAShelf { path },
            Some(ErrorCode::DatabaseCorrupt) => Self::Damaged { path, source },
            _ => Self::Sqlite { path, source },
        }
    }
}
