//! Findings that earlier versions stored (`testdata/findings/`) are read whole, and written as they were.

use std::path::PathBuf;

use lineproof::stored;
use lineproof_core::finding::{Action, Condition, EventKind, Finding};
use serde_json::Value;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../testdata/findings/schema-1")
}

fn text(name: &str) -> String {
    std::fs::read_to_string(folder().join(format!("{name}.json"))).unwrap()
}

fn stored(name: &str) -> Finding {
    stored::finding(&text(name))
}

#[test]
fn a_stored_finding_is_written_back_byte_for_byte() {
    for name in ["sound", "dented", "mislabelled", "undetermined"] {
        let stored_text = text(name);
        let again = serde_json::to_string_pretty(&stored(name)).unwrap();
        assert_eq!(again, stored_text.trim_end(), "{name}");
    }
}

#[test]
fn a_stored_finding_says_what_it_said() {
    let sound = stored("sound");
    assert_eq!(sound.condition, Condition::Sound);
    assert_eq!(sound.impedances.len(), 2);
    assert!(sound.impedances[1].extrapolated, "{:?}", sound.impedances);
    let dented = stored("dented");
    assert_eq!(dented.condition, Condition::Faulty);
    assert_eq!(dented.events[0].kind, EventKind::Dent);
    assert_eq!(dented.verdict.unwrap().action, Action::Repair);
    let mislabelled = stored("mislabelled");
    assert_eq!(mislabelled.marking.unwrap().agrees, Some(false));
    let undetermined = stored("undetermined");
    assert_eq!(undetermined.condition, Condition::Undetermined);
    assert_eq!(undetermined.impedance, None);
}

/// Every part of another shape, one at a time: the others are read all the same.
#[test]
fn an_odd_key_hides_no_other() {
    let Value::Object(whole) = serde_json::from_str(&text("dented")).unwrap() else {
        panic!("a finding is an object")
    };
    for key in whole.keys() {
        let mut odd = whole.clone();
        odd[key] = Value::from("of another shape");
        let read = stored::finding(&Value::Object(odd).to_string());
        let missing = |other: &str, is_there: bool| key == other || is_there;
        assert!(missing("impedance", read.impedance.is_some()), "{key}");
        assert!(missing("events", !read.events.is_empty()), "{key}");
        assert!(missing("verdict", read.verdict.is_some()), "{key}");
        assert!(missing("loss", !read.loss.is_empty()), "{key}");
        assert!(missing("profile", read.profile.is_some()), "{key}");
        assert!(missing("schema", read.schema == 1), "{key}");
    }
}

/// The shelf of the first layout holds findings of its time.
#[test]
fn findings_of_an_old_shelf_are_read() {
    let database = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../testdata/databases/layout-1.db"
    );
    let copy = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("stored-layout-1.db");
    std::fs::copy(database, &copy).unwrap();
    let shelf = lineproof_record::Shelf::open_to_read(&copy).unwrap();
    for tag in ["lamp-room-50", "harbour-75"] {
        for assay in shelf.assays(tag).unwrap() {
            let read = stored::finding(&assay.finding);
            // older than condition and verdict
            assert_eq!(read.condition, Condition::NotJudged, "{tag}");
            assert!(read.impedance.is_some() && read.delay.is_some(), "{tag}");
            assert!(!read.loss.is_empty() && !read.methods.is_empty(), "{tag}");
            assert!(!read.sweeps.is_empty(), "{tag}");
        }
    }
}
