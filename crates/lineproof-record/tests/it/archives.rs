//! Export, import, backup: the databases are compared row by row.

use std::io::Cursor;

use lineproof_record::{Decision, Edit, Filter, Note, Photo, Shelf, ShelfError};

use crate::support::{LATER, NOON, assay, dump, finding, folder};

/// A shelf with something in every table.
fn full(path: &std::path::Path) -> Shelf {
    let mut shelf = Shelf::open_or_make(path).unwrap();
    for (tag, number) in [("north", 1), ("süd/№ 2", 2), ("cellar", 3), ("north", 4)] {
        shelf.shelve(&assay(tag, number)).unwrap();
    }
    let mut same_sweeps = assay("north", 4);
    LATER.clone_into(&mut same_sweeps.at);
    let again = shelf.shelve(&same_sweeps).unwrap();
    let suspect = finding(4, "suspect");
    shelf.add_finding(&again.assay_id, &suspect).unwrap();
    let (at, action) = (NOON.to_owned(), "keep".to_owned());
    let decision = Decision {
        at: at.clone(),
        action,
        reason: "line\nbreak \"and\" \u{2028}".to_owned(),
    };
    shelf.decide("north", &decision).unwrap();
    let note = Note {
        at: at.clone(),
        text: String::new(),
    };
    shelf.note("cellar", &note).unwrap();
    let photo = Photo {
        at,
        file_name: "../../plug 1.jpg".to_owned(),
        caption: "a plug".to_owned(),
        bytes: (0..=255).collect(),
    };
    shelf.photo("cellar", &photo).unwrap();
    shelf.retire("cellar", "cut up", LATER).unwrap();
    shelf
}

fn exported(shelf: &Shelf) -> Vec<u8> {
    let mut zip = Cursor::new(Vec::new());
    shelf.export(&mut zip).unwrap();
    zip.into_inner()
}

#[test]
fn nothing_is_lost_on_the_way_out_and_back() {
    let folder = folder("round-trip");
    let (here, there) = (folder.join("here.db"), folder.join("there.db"));
    let shelf = full(&here);
    let zip = exported(&shelf);
    let mut other = Shelf::open_or_make(&there).unwrap();
    let imported = other.import(Cursor::new(&zip)).unwrap();
    assert!(imported.renamed.is_empty() && imported.known_rows == 0);
    assert_eq!(dump(&here), dump(&there));
    assert!(dump(&here).len() > 25, "every table has rows");
    assert_eq!(exported(&other), zip, "the same shelf gives the same bytes");
    assert_eq!(other.check().unwrap(), Vec::<String>::new());
}

#[test]
fn a_second_import_adds_nothing() {
    let folder = folder("twice");
    let path = folder.join("shelf.db");
    let mut shelf = full(&path);
    let (zip, before) = (exported(&shelf), dump(&path));
    let imported = shelf.import(Cursor::new(&zip)).unwrap();
    assert_eq!(imported.new_rows, 0);
    assert_eq!(dump(&path), before);
}

#[test]
fn two_shelves_become_one() {
    let folder = folder("union");
    let mut one = full(&folder.join("one.db"));
    let mut two = Shelf::open_or_make(&folder.join("two.db")).unwrap();
    two.shelve(&assay("North", 8)).unwrap();
    two.shelve(&assay("pier", 9)).unwrap();
    let imported = one.import(Cursor::new(exported(&two))).unwrap();
    assert_eq!(
        imported.renamed,
        [("North".to_owned(), "North-2".to_owned())]
    );
    assert_eq!(one.assays("north").unwrap().len(), 3, "untouched");
    assert_eq!(one.assays("north-2").unwrap().len(), 1);
    assert_eq!(one.assays("pier").unwrap().len(), 1);
}

#[test]
fn the_later_change_of_a_cable_counts() {
    let folder = folder("later-change");
    let mut one = full(&folder.join("one.db"));
    let mut two = Shelf::open_or_make(&folder.join("two.db")).unwrap();
    two.import(Cursor::new(exported(&one))).unwrap();
    let place = |place: &str| Edit {
        place: Some(place.to_owned()),
        ..Edit::default()
    };
    let earlier = "2027-01-01T00:00:00Z";
    one.edit("north", &place("shed"), earlier).unwrap();
    two.edit("north", &place("tower"), LATER).unwrap();
    one.import(Cursor::new(exported(&two))).unwrap();
    two.import(Cursor::new(exported(&one))).unwrap();
    assert_eq!(one.cable("north").unwrap().place, "tower");
    assert_eq!(two.cable("north").unwrap().place, "tower");
}

#[test]
fn a_changed_sweep_is_noticed_and_nothing_comes_in() {
    let folder = folder("changed-sweep");
    let zip = exported(&full(&folder.join("here.db")));
    let mut other = Shelf::open_or_make(&folder.join("there.db")).unwrap();
    let changed = rewritten(&zip, |path, bytes| {
        if path.starts_with("sweeps/") {
            bytes.push(b' ');
        }
    });
    let error = other.import(Cursor::new(changed)).unwrap_err();
    assert!(error.to_string().contains("was changed"), "{error}");
    let all = Filter {
        retired: true,
        ..Filter::default()
    };
    assert!(other.cables(&all).unwrap().is_empty());
}

#[test]
fn what_is_no_archive_is_refused() {
    let folder = folder("no-archive");
    let mut shelf = full(&folder.join("here.db"));
    let zip = exported(&shelf);
    let newer = rewritten(&zip, |path, bytes| {
        if path == "about.json" {
            *bytes = br#"{"layout": 2}"#.to_vec();
        }
    });
    let broken = rewritten(&zip, |path, bytes| {
        if path == "finding.jsonl" {
            bytes.truncate(bytes.len() / 2);
        }
    });
    for bytes in [b"PK nonsense".to_vec(), Vec::new(), newer, broken] {
        let error = shelf.import(Cursor::new(bytes)).unwrap_err();
        assert!(matches!(error, ShelfError::Archive { .. }), "{error}");
    }
}

/// The archive with its files changed.
fn rewritten(zip: &[u8], change: impl Fn(&str, &mut Vec<u8>)) -> Vec<u8> {
    let mut old = zip::ZipArchive::new(Cursor::new(zip)).unwrap();
    let mut new = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for i in 0..old.len() {
        let mut file = old.by_index(i).unwrap();
        let mut bytes = Vec::new();
        std::io::copy(&mut file, &mut bytes).unwrap();
        let name = file.name().unwrap().to_string();
        change(&name, &mut bytes);
        let options = zip::write::SimpleFileOptions::default();
        new.start_file(name, options).unwrap();
        std::io::Write::write_all(&mut new, &bytes).unwrap();
    }
    new.finish().unwrap().into_inner()
}

#[test]
fn a_backup_is_the_same_shelf_while_others_write() {
    let folder = folder("backup");
    let (here, copy) = (folder.join("here.db"), folder.join("copy.db"));
    let shelf = full(&here);
    let mut writer = Shelf::open(&here).unwrap();
    writer.shelve(&assay("late", 5)).unwrap();
    shelf.back_up(&copy).unwrap();
    assert_eq!(dump(&copy), dump(&here));
    assert!(matches!(
        shelf.back_up(&copy),
        Err(ShelfError::TargetExists { .. })
    ));
    let files = std::fs::read_dir(&folder).unwrap();
    assert!(
        files
            .map(|f| f.unwrap().file_name())
            .all(|f| !f.to_string_lossy().contains("unfinished"))
    );
}
