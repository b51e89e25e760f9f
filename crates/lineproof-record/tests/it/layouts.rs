//! Files of other layouts, other programs, and damaged ones.

use std::path::{Path, PathBuf};

use lineproof_record::{Filter, SCHEMA_VERSION, Shelf, ShelfError};

use crate::support::{assay, dump, folder};

/// Every layout that ever landed, as a database that the program of that time made.
#[test]
fn old_layouts_are_brought_up_to_date_with_nothing_lost() {
    let databases = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../testdata/databases");
    for version in 1..=SCHEMA_VERSION {
        let path = folder(&format!("layout-{version}")).join("shelf.db");
        std::fs::copy(databases.join(format!("layout-{version}.db")), &path).unwrap();
        let before = dump(&path);
        let shelf = Shelf::open(&path).unwrap();
        assert_eq!(shelf.check().unwrap(), Vec::<String>::new());
        assert_eq!(shelf.cables(&Filter::default()).unwrap().len(), 2);
        assert_eq!(shelf.assays("lamp-room-50").unwrap().len(), 2);
        assert_eq!(dump(&path).len(), before.len());
    }
}

#[test]
fn a_newer_file_is_refused_and_left_alone() {
    let path = one_cable("newer");
    let newer = SCHEMA_VERSION + 1;
    let db = rusqlite::Connection::open(&path).unwrap();
    db.pragma_update(None, "user_version", i64::try_from(newer).unwrap())
        .unwrap();
    drop(db);
    let before = std::fs::read(&path).unwrap();
    let error = Shelf::open(&path).unwrap_err();
    assert!(
        matches!(error, ShelfError::Newer { found, .. } if found == newer),
        "{error}"
    );
    assert!(Shelf::open_or_make(&path).is_err());
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

#[test]
fn other_files_are_refused_and_left_alone() {
    let folder = folder("other-files");
    let text = folder.join("text.db");
    std::fs::write(
        &text,
        "just a text, longer than SQLite's header of 100 bytes ".repeat(9),
    )
    .unwrap();
    let foreign = folder.join("foreign.db");
    let db = rusqlite::Connection::open(&foreign).unwrap();
    db.execute_batch("CREATE TABLE t (x)").unwrap();
    drop(db);
    for path in [text, foreign] {
        let before = std::fs::read(&path).unwrap();
        let error = Shelf::open_or_make(&path).unwrap_err();
        assert!(matches!(error, ShelfError::NotAShelf { .. }), "{error}");
        assert_eq!(std::fs::read(&path).unwrap(), before);
    }
    let error = Shelf::open(&folder.join("nothing.db")).unwrap_err();
    assert!(matches!(error, ShelfError::Missing { .. }), "{error}");
}

/// Whatever page is overwritten: an error or a sentence of the check, never a wrong answer.
#[test]
fn damage_is_said_and_never_a_panic() {
    let path = one_cable("damaged");
    let mut shelf = Shelf::open(&path).unwrap();
    let all: Vec<_> = (0..200).map(|i| assay(&format!("c{i}"), i)).collect();
    shelf.shelve_all(&all).unwrap();
    drop(shelf);
    let whole = std::fs::read(&path).unwrap();
    let pages = whole.len() / 4096;
    let mut noticed = 0;
    for page in 1..pages {
        let mut bytes = whole.clone();
        let start = page * 4096;
        bytes[start..start + 2048].fill(0xa5);
        std::fs::write(&path, &bytes).unwrap();
        let looked = Shelf::open(&path).and_then(|shelf| shelf.check());
        match looked {
            Err(error) => {
                assert!(error.help().is_some(), "page {page}: {error}");
                noticed += 1;
            }
            Ok(problems) if !problems.is_empty() => noticed += 1,
            Ok(_) => {}
        }
    }
    assert_eq!(noticed, pages - 1, "every damaged page is noticed");
}

fn one_cable(name: &str) -> PathBuf {
    let path = folder(name).join("shelf.db");
    Shelf::open_or_make(&path)
        .unwrap()
        .shelve(&assay("a", 1))
        .unwrap();
    path
}
