//! Invented cables and a folder for each test.

use std::path::{Path, PathBuf};

use lineproof_record::{NewAssay, NewFinding, NewSweep, Shelf};

pub(crate) const NOON: &str = "2026-06-01T12:00:00Z";
pub(crate) const LATER: &str = "2027-06-01T12:00:00Z";

/// An empty folder of its own for one test.
pub(crate) fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _may_not_exist = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

pub(crate) fn new_shelf(name: &str) -> Shelf {
    Shelf::open_or_make(&folder(name).join("shelf.db")).unwrap()
}

/// An invented assay of two small sweeps that differ from number to number.
pub(crate) fn assay(tag: &str, number: usize) -> NewAssay {
    let sweep = |role: &str| NewSweep {
        file_name: format!("{role}.s1p"),
        role: role.to_owned(),
        bytes: format!("! invented, {tag} {number}\n# Hz S RI R 50\n1e6 0.{number} 0\n")
            .into_bytes(),
    };
    NewAssay {
        tag: tag.to_owned(),
        at: NOON.to_owned(),
        setup: format!(r#"{{"length_m":{number}.5,"kit":"Ölzeug „A“"}}"#),
        sweeps: vec![sweep("open"), sweep("load")],
        finding: finding(number, "sound"),
    }
}

pub(crate) fn finding(number: usize, condition: &str) -> NewFinding {
    NewFinding {
        made_at: NOON.to_owned(),
        program_version: "0.0.0".to_owned(),
        json: format!(
            r#"{{"schema":1,"impedance":{{"ohm":5{}.25,"u95_ohm":0.1,"at_hz":1e8}},"length":{{"m":2.5}},"condition":"{condition}","verdict":{{"action":"keep","reasons":[]}}}}"#,
            number % 10
        ),
    }
}

/// Every table of the file, a line a row, straight from SQLite.
pub(crate) fn dump(path: &Path) -> Vec<String> {
    let db = rusqlite::Connection::open(path).unwrap();
    let tables = "cable assay sweep finding decision note photo content";
    let mut lines = Vec::new();
    for table in tables.split(' ') {
        let sql = format!("SELECT * FROM {table} ORDER BY 1");
        let mut statement = db.prepare(&sql).unwrap();
        let columns = statement.column_count();
        let mut rows = statement.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            let cells = (0..columns).map(|i| format!("{:?}", row.get_ref(i).unwrap()));
            lines.push(format!("{table} {}", cells.collect::<Vec<_>>().join("|")));
        }
    }
    lines
}
