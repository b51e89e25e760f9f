//! Lists of cables, each with the newest finding of its newest assay.
//!
//! Every table is read once along an index that holds all it takes, and the rows are put together
//! here. A query that looks each cable's newest assay and finding up by their ids walks from the root
//! of a tree some six times a cable and takes three times as long (10,000 cables).

use std::collections::HashMap;

use rusqlite::{Connection, Row, named_params};

use crate::cable::{Cable, cable};
use crate::{Shelf, ShelfError};

/// A cable in a list, with the newest finding of its newest assay.
#[derive(Clone, Debug, PartialEq)]
pub struct Listed {
    /// The cable.
    pub cable: Cable,
    /// Number of assays.
    pub assays: u32,
    /// When the newest assay was made.
    pub assayed_at: Option<String>,
    /// Characteristic impedance found, ohm.
    pub impedance_ohm: Option<f64>,
    /// Its 95 % half-width, ohm.
    pub u95_impedance_ohm: Option<f64>,
    /// Length, m.
    pub length_m: Option<f64>,
    /// Condition.
    pub condition: Option<String>,
    /// What to do, by the finding.
    pub action: Option<String>,
    /// What the owner decided last.
    pub decision: Option<String>,
}

/// Which cables a list shows. Nothing set: all that are in use.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Filter {
    /// Retired ones too.
    pub retired: bool,
    /// Text that tag, description or place contain, whatever the case of its ASCII letters.
    pub text: Option<String>,
    /// Impedance range, ohm.
    pub impedance_ohm: Option<(f64, f64)>,
    /// Condition.
    pub condition: Option<String>,
}

impl Shelf {
    /// Cables by tag.
    ///
    /// # Errors
    /// [`ShelfError`] if the file can't be read.
    pub fn cables(&self, filter: &Filter) -> Result<Vec<Listed>, ShelfError> {
        read(&self.connection, filter).map_err(|e| self.error(e))
    }
}

/// All tables as they are at one moment, whoever writes meanwhile.
fn read(connection: &Connection, filter: &Filter) -> rusqlite::Result<Vec<Listed>> {
    let _one_moment = if connection.is_autocommit() {
        Some(connection.unchecked_transaction()?)
    } else {
        None
    };
    let mut listed = bare(connection, filter)?;
    let places = Places::of(&listed);
    let newest = assays(connection, &places, &mut listed)?;
    findings(connection, &newest, &mut listed)?;
    decisions(connection, &places, &mut listed)?;
    listed.retain(|listed| filter.keeps(listed));
    // As the column's collation NOCASE has it.
    listed.sort_by_cached_key(|listed| listed.cable.tag.to_ascii_lowercase());
    Ok(listed)
}

/// Where the row with an id is in the list.
struct Places(HashMap<String, usize>);

impl Places {
    fn of(listed: &[Listed]) -> Self {
        let ids = listed.iter().map(|listed| listed.cable.id.clone());
        Self(ids.zip(0..).collect())
    }

    /// The place of the id in a column.
    fn at(&self, row: &Row<'_>, column: usize) -> rusqlite::Result<Option<usize>> {
        Ok(self.0.get(row.get_ref(column)?.as_str()?).copied())
    }
}

/// Cables without anything else, as they come.
fn bare(connection: &Connection, filter: &Filter) -> rusqlite::Result<Vec<Listed>> {
    let mut statement = connection.prepare_cached(
        "SELECT id, tag, description, place, created_at, changed_at, retired_at, retired_why
         FROM cable
         WHERE (:retired OR retired_at IS NULL)
           AND (:text IS NULL OR
                instr(lower(tag || char(10) || description || char(10) || place), lower(:text)))",
    )?;
    let asked = named_params! { ":retired": filter.retired, ":text": filter.text };
    let rows = statement.query_map(asked, |row| {
        Ok(Listed {
            cable: cable(row)?,
            assays: 0,
            assayed_at: None,
            impedance_ohm: None,
            u95_impedance_ohm: None,
            length_m: None,
            condition: None,
            action: None,
            decision: None,
        })
    })?;
    rows.collect()
}

/// Number of assays and the newest one's time; gives whose newest assay an id is.
fn assays(
    connection: &Connection,
    places: &Places,
    listed: &mut [Listed],
) -> rusqlite::Result<Places> {
    let mut statement = connection
        .prepare_cached("SELECT cable_id, at, id FROM assay ORDER BY cable_id, at, id")?;
    let mut newest: Vec<Option<String>> = vec![None; listed.len()];
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        if let Some(place) = places.at(row, 0)? {
            listed[place].assays += 1;
            listed[place].assayed_at = row.get(1)?;
            newest[place] = row.get(2)?;
        }
    }
    let newest = newest.into_iter().zip(0..);
    Ok(Places(
        newest
            .filter_map(|(id, place)| Some((id?, place)))
            .collect(),
    ))
}

/// The newest finding of the assays in `newest`. The index has its name here, since without it SQLite
/// may read the rows themselves, which are long.
fn findings(
    connection: &Connection,
    newest: &Places,
    listed: &mut [Listed],
) -> rusqlite::Result<()> {
    let mut statement = connection.prepare_cached(
        "SELECT assay_id, impedance_ohm, u95_impedance_ohm, length_m, condition, action
         FROM finding INDEXED BY finding_of_assay ORDER BY assay_id, made_at, id",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        if let Some(place) = newest.at(row, 0)? {
            let listed = &mut listed[place];
            listed.impedance_ohm = row.get(1)?;
            listed.u95_impedance_ohm = row.get(2)?;
            listed.length_m = row.get(3)?;
            listed.condition = row.get(4)?;
            listed.action = row.get(5)?;
        }
    }
    Ok(())
}

/// What the owner decided last.
fn decisions(
    connection: &Connection,
    places: &Places,
    listed: &mut [Listed],
) -> rusqlite::Result<()> {
    let mut statement = connection
        .prepare_cached("SELECT cable_id, action FROM decision ORDER BY cable_id, at, id")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        if let Some(place) = places.at(row, 0)? {
            listed[place].decision = row.get(1)?;
        }
    }
    Ok(())
}

impl Filter {
    /// Whether a finding is asked for; the cable itself has been looked at already.
    fn keeps(&self, listed: &Listed) -> bool {
        let near = self.impedance_ohm.is_none_or(|(low, high)| {
            listed
                .impedance_ohm
                .is_some_and(|ohm| (low..=high).contains(&ohm))
        });
        let condition = self.condition.is_none() || self.condition == listed.condition;
        near && condition
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Decision, NewAssay, NewFinding};

    /// The same list as one query, without any thought of speed: the referee.
    const LIST: &str = "
SELECT c.id, c.tag, c.description, c.place, c.created_at, c.changed_at, c.retired_at, c.retired_why,
       (SELECT count(*) FROM assay WHERE cable_id = c.id) AS assays,
       a.at, f.impedance_ohm, f.u95_impedance_ohm, f.length_m, f.condition, f.action,
       (SELECT action FROM decision WHERE cable_id = c.id ORDER BY at DESC, id DESC LIMIT 1)
FROM cable c
LEFT JOIN assay a ON a.id =
    (SELECT id FROM assay WHERE cable_id = c.id ORDER BY at DESC, id DESC LIMIT 1)
LEFT JOIN finding f INDEXED BY finding_of_assay ON f.assay_id = a.id AND f.id =
    (SELECT id FROM finding WHERE assay_id = a.id ORDER BY made_at DESC, id DESC LIMIT 1)
WHERE (:retired OR c.retired_at IS NULL)
  AND (:text IS NULL OR instr(lower(c.tag || char(10) || c.description || char(10) || c.place), lower(:text)))
  AND (:low IS NULL OR f.impedance_ohm BETWEEN :low AND :high)
  AND (:condition IS NULL OR f.condition = :condition)
ORDER BY c.tag COLLATE NOCASE";

    /// A fixed sequence that looks like chance (Numerical Recipes' quick generator).
    struct Chance(u32);

    impl Chance {
        fn below(&mut self, limit: u32) -> u32 {
            self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (self.0 >> 16) % limit
        }
    }

    /// Cables with none to three assays of one to three findings, in no order of time.
    fn filled(shelf: &mut Shelf) {
        let mut chance = Chance(7);
        for number in 0..60 {
            let tag = format!("{}-{number}", ["mast", "Mast", "ölkeller"][number % 3]);
            for _ in 0..=chance.below(3) {
                let assay = NewAssay {
                    tag: tag.clone(),
                    at: format!("2026-05-{:02}T12:00:00Z", 1 + chance.below(28)),
                    setup: "{}".to_owned(),
                    sweeps: Vec::new(),
                    finding: finding(&mut chance),
                };
                let id = shelf.shelve(&assay).unwrap().assay_id;
                for _ in 0..chance.below(3) {
                    shelf.add_finding(&id, &finding(&mut chance)).unwrap();
                }
            }
            for _ in 0..chance.below(3) {
                let at = format!("2026-06-{:02}T12:00:00Z", 1 + chance.below(28));
                let action = ["keep", "discard"][number % 2].to_owned();
                let reason = String::new();
                shelf
                    .decide(&tag, &Decision { at, action, reason })
                    .unwrap();
            }
            if chance.below(5) == 0 {
                shelf.retire(&tag, "worn", "2026-07-01T12:00:00Z").unwrap();
            }
        }
    }

    fn finding(chance: &mut Chance) -> NewFinding {
        let ohm = 45 + chance.below(40);
        let condition = ["sound", "faulty", "suspect"][chance.below(3) as usize];
        NewFinding {
            made_at: format!("2026-05-{:02}T13:00:00Z", 1 + chance.below(28)),
            program_version: "0.0.0".to_owned(),
            json: match chance.below(6) {
                0 => r#"{"condition":"undetermined"}"#.to_owned(),
                _ => format!(
                    r#"{{"impedance":{{"ohm":{ohm},"u95_ohm":0.2}},"condition":"{condition}"}}"#
                ),
            },
        }
    }

    fn by_query(shelf: &Shelf, filter: &Filter) -> Vec<Listed> {
        let range = filter.impedance_ohm;
        let mut statement = shelf.connection.prepare(LIST).unwrap();
        let asked = named_params! {
            ":retired": filter.retired,
            ":text": filter.text,
            ":low": range.map(|r| r.0),
            ":high": range.map(|r| r.1),
            ":condition": filter.condition,
        };
        let rows = statement.query_map(asked, |row| {
            Ok(Listed {
                cable: cable(row)?,
                assays: row.get(8)?,
                assayed_at: row.get(9)?,
                impedance_ohm: row.get(10)?,
                u95_impedance_ohm: row.get(11)?,
                length_m: row.get(12)?,
                condition: row.get(13)?,
                action: row.get(14)?,
                decision: row.get(15)?,
            })
        });
        rows.unwrap().collect::<Result<_, _>>().unwrap()
    }

    #[test]
    fn the_list_is_that_of_one_slow_query() {
        let folder = std::env::temp_dir().join(format!("lineproof-list-{}", std::process::id()));
        let mut shelf = Shelf::open_or_make(&folder.join("shelf.db")).unwrap();
        filled(&mut shelf);
        let filters = [
            Filter::default(),
            Filter {
                retired: true,
                ..Filter::default()
            },
            Filter {
                text: Some("MAST-1".to_owned()),
                ..Filter::default()
            },
            Filter {
                impedance_ohm: Some((48.0, 60.0)),
                ..Filter::default()
            },
            Filter {
                condition: Some("faulty".to_owned()),
                retired: true,
                ..Filter::default()
            },
        ];
        for filter in filters {
            let got = shelf.cables(&filter).unwrap();
            assert!(!got.is_empty(), "{filter:?}");
            assert_eq!(got, by_query(&shelf, &filter), "{filter:?}");
        }
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
