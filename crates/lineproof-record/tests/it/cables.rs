//! Keeping, finding, changing.

use lineproof_record::{Decision, Edit, Filter, Note, Photo, Shelf, ShelfError, sha256};

use crate::support::{LATER, NOON, assay, finding, folder, new_shelf};

/// FIPS 180-4's own example, as published in NIST's examples with intermediate values: "abc".
#[test]
fn hashes_are_sha_256() {
    assert_eq!(
        sha256(b"abc"),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
}

#[test]
fn an_assay_comes_back_as_it_went_in() {
    let mut shelf = new_shelf("comes-back");
    let new = assay("mast-1", 7);
    let shelved = shelf.shelve(&new).unwrap();
    assert!(shelved.new_cable);
    let kept = shelf.assay(&shelved.assay_id).unwrap();
    assert_eq!((kept.tag.as_str(), kept.at.as_str()), ("mast-1", NOON));
    assert_eq!(kept.setup, new.setup);
    assert_eq!(kept.findings[0].json, new.finding.json);
    let names: Vec<_> = kept.sweeps.iter().map(|s| s.file_name.as_str()).collect();
    assert_eq!(names, ["open.s1p", "load.s1p"]);
    for (kept, new) in kept.sweeps.iter().zip(&new.sweeps) {
        assert_eq!(kept.bytes, new.bytes);
        assert_eq!(kept.sha256, sha256(&new.bytes));
    }
}

#[test]
fn a_tag_is_one_cable_whatever_its_case() {
    let mut shelf = new_shelf("one-cable");
    let first = shelf.shelve(&assay("Mast-1", 1)).unwrap();
    let second = shelf.shelve(&assay("mast-1", 2)).unwrap();
    assert_eq!(first.cable_id, second.cable_id);
    assert!(!second.new_cable);
    assert_eq!(shelf.assays("MAST-1").unwrap().len(), 2);
    assert_eq!(shelf.cables(&Filter::default()).unwrap()[0].assays, 2);
}

#[test]
fn lists_show_the_newest_finding_of_the_newest_assay() {
    let mut shelf = new_shelf("newest");
    let old = shelf.shelve(&assay("a", 1)).unwrap();
    let mut later = assay("a", 2);
    LATER.clone_into(&mut later.at);
    shelf.shelve(&later).unwrap();
    let mut recomputed = finding(3, "faulty");
    recomputed.made_at = "2028-01-01T00:00:00Z".to_owned();
    shelf.add_finding(&old.assay_id, &recomputed).unwrap();
    let listed = shelf.cables(&Filter::default()).unwrap().remove(0);
    assert_eq!(listed.assayed_at.as_deref(), Some(LATER));
    assert_eq!(listed.impedance_ohm, Some(52.25), "that of the later assay");
    assert_eq!(listed.condition.as_deref(), Some("sound"));
    assert_eq!(listed.action.as_deref(), Some("keep"));
    assert_eq!(shelf.assays("a").unwrap()[0].findings, 2);
    assert!(shelf.assays("a").unwrap()[0].finding.contains("faulty"));
}

#[test]
fn filters_narrow_a_list() {
    let mut shelf = new_shelf("filters");
    for (tag, number) in [("north", 1), ("south", 5), ("cellar", 9)] {
        shelf.shelve(&assay(tag, number)).unwrap();
    }
    let edit = Edit {
        place: Some("Lamp room".to_owned()),
        ..Edit::default()
    };
    shelf.edit("south", &edit, LATER).unwrap();
    shelf.retire("cellar", "braid corroded", LATER).unwrap();
    let tags = |filter: Filter| -> Vec<String> {
        let cables = shelf.cables(&filter).unwrap();
        cables.into_iter().map(|l| l.cable.tag).collect()
    };
    let all = Filter::default();
    assert_eq!(tags(all.clone()), ["north", "south"]);
    let cases: [(Filter, &[&str]); 4] = [
        (
            Filter {
                retired: true,
                ..all.clone()
            },
            &["cellar", "north", "south"],
        ),
        (
            Filter {
                text: Some("lamp".to_owned()),
                ..all.clone()
            },
            &["south"],
        ),
        (
            Filter {
                impedance_ohm: Some((51.0, 52.0)),
                ..all.clone()
            },
            &["north"],
        ),
        (
            Filter {
                condition: Some("faulty".to_owned()),
                ..all
            },
            &[],
        ),
    ];
    for (filter, wanted) in cases {
        assert_eq!(tags(filter.clone()), wanted, "{filter:?}");
    }
}

#[test]
fn cables_are_edited_retired_and_taken_back() {
    let mut shelf = new_shelf("edited");
    shelf.shelve(&assay("a", 1)).unwrap();
    shelf.shelve(&assay("b", 2)).unwrap();
    let to = |tag: &str| Edit {
        tag: Some(tag.to_owned()),
        ..Edit::default()
    };
    assert!(matches!(
        shelf.edit("a", &to("B"), LATER),
        Err(ShelfError::TagTaken { .. })
    ));
    assert!(matches!(
        shelf.edit("a", &to(" "), LATER),
        Err(ShelfError::BadTag { .. })
    ));
    let cable = shelf.edit("a", &to("A"), LATER).unwrap();
    assert_eq!(
        (cable.tag.as_str(), cable.changed_at.as_str()),
        ("A", LATER)
    );
    shelf
        .retire("A", "cut up for phasing lines", LATER)
        .unwrap();
    let retired = shelf.cable("a").unwrap().retired.unwrap();
    assert_eq!(retired.why, "cut up for phasing lines");
    shelf.take_back("a", LATER).unwrap();
    assert!(shelf.cable("a").unwrap().retired.is_none());
    assert!(matches!(
        shelf.retire("nobody", "", LATER),
        Err(ShelfError::NoSuchTag { .. })
    ));
}

#[test]
fn decisions_notes_and_photos_belong_to_the_cable() {
    let mut shelf = new_shelf("journal");
    shelf.shelve(&assay("a", 1)).unwrap();
    let decision = Decision {
        at: NOON.to_owned(),
        action: "repair".to_owned(),
        reason: "new plug at the far end".to_owned(),
    };
    let note = Note {
        at: NOON.to_owned(),
        text: "smells of harbour".to_owned(),
    };
    let photo = Photo {
        at: NOON.to_owned(),
        file_name: "plug.jpg".to_owned(),
        caption: "the plug".to_owned(),
        bytes: vec![0xff, 0xd8, 0x00],
    };
    shelf.decide("a", &decision).unwrap();
    shelf.note("a", &note).unwrap();
    shelf.photo("a", &photo).unwrap();
    assert_eq!(shelf.decisions("a").unwrap(), [decision]);
    assert_eq!(shelf.notes("a").unwrap(), [note]);
    assert_eq!(shelf.photos("a").unwrap(), [photo]);
    let listed = shelf.cables(&Filter::default()).unwrap().remove(0);
    assert_eq!(listed.decision.as_deref(), Some("repair"));
}

#[test]
fn nobody_can_change_or_delete_what_was_measured() {
    let path = folder("unchanged").join("shelf.db");
    let mut shelf = Shelf::open_or_make(&path).unwrap();
    shelf.shelve(&assay("a", 1)).unwrap();
    let db = rusqlite::Connection::open(&path).unwrap();
    for sql in [
        "UPDATE content SET bytes = x'00'",
        "DELETE FROM sweep",
        "UPDATE finding SET json = '{}'",
        "DELETE FROM assay",
        "DELETE FROM cable",
    ] {
        assert!(db.execute(sql, []).is_err(), "{sql}");
    }
}

#[test]
fn a_bad_finding_stores_nothing() {
    let mut shelf = new_shelf("bad-finding");
    let mut bad = assay("a", 1);
    bad.finding.json = "not JSON".to_owned();
    assert!(shelf.shelve(&bad).is_err());
    assert!(shelf.cables(&Filter::default()).unwrap().is_empty());
    assert_eq!(shelf.check().unwrap(), Vec::<String>::new());
}
