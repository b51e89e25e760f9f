//! Which files belong to which cable: by their names, or by a manifest.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

use lineproof_core::far_end;
use serde::Deserialize;
use thiserror::Error;

use super::rows::Cable;
use crate::facts::{Row, Word, table};
use crate::workflow::assay::Role;

/// Endings of files that are taken as sweeps.
const ENDINGS: [&str; 6] = ["s1p", "s2p", "ts", "csv", "txt", "tsv"];
/// Why a box can't be read.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum GroupError {
    /// A folder that can't be read.
    #[error("cannot search `{}`", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A manifest that can't be read.
    #[error("cannot read the manifest `{}`", path.display())]
    Manifest {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        source: csv::Error,
    },
    /// A cell of a manifest.
    #[error("`{}`, line {line}: {what}", path.display())]
    Cell {
        /// The file.
        path: PathBuf,
        /// Line in it, from 1.
        line: u64,
        /// What is wrong.
        what: String,
    },
}

/// All cables in some folders and the folders in them, by name.
///
/// # Errors
/// [`GroupError::Folder`].
pub fn in_folders(folders: &[PathBuf]) -> Result<Vec<Cable>, GroupError> {
    let mut files = Vec::new();
    for folder in folders {
        sweeps_in(folder, &mut files).map_err(|source| GroupError::Folder {
            path: folder.clone(),
            source,
        })?;
    }
    files.sort();
    files.dedup();
    Ok(by_name(&files))
}

/// Files grouped by the cable that their names tell.
pub fn by_name(files: &[PathBuf]) -> Vec<Cable> {
    let mut cables: BTreeMap<(PathBuf, String), Cable> = BTreeMap::new();
    for file in files {
        let name = cable_name(file);
        let folder = file.parent().unwrap_or(Path::new("")).to_owned();
        let cable = cables.entry((folder, name.clone())).or_default();
        cable.name = name;
        cable.files.push((file.clone(), Role::Judge));
    }
    let mut cables: Vec<Cable> = cables.into_values().collect();
    tell_apart(&mut cables);
    cables
}

/// Whether a file is taken as a sweep, by its ending.
pub fn is_sweep(path: &Path) -> bool {
    let ending = path
        .extension()
        .unwrap_or_default()
        .to_string_lossy()
        .to_lowercase();
    let hidden = path
        .file_name()
        .is_some_and(|n| n.to_string_lossy().starts_with('.'));
    ENDINGS.contains(&ending.as_str()) && !hidden
}

/// Cables of one name in different folders get their folder in front.
fn tell_apart(cables: &mut [Cable]) {
    let mut count: BTreeMap<String, usize> = BTreeMap::new();
    for cable in cables.iter() {
        *count.entry(cable.name.clone()).or_default() += 1;
    }
    for cable in cables.iter_mut().filter(|c| count[&c.name] > 1) {
        let folder = cable.files[0].0.parent().unwrap_or(Path::new(""));
        cable.name = format!(
            "{}/{}",
            crate::questions::sort::rows::shown(folder),
            cable.name
        );
    }
}

/// The name without what ended the far end; if nothing is left, that of the folder.
fn cable_name(file: &Path) -> String {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let name = far_end::cable_name(&stem);
    if !name.is_empty() {
        return name;
    }
    let folder = std::path::absolute(file).ok();
    let folder = folder
        .as_deref()
        .and_then(Path::parent)
        .and_then(Path::file_name);
    folder.map_or_else(
        || stem.clone().into_owned(),
        |f| f.to_string_lossy().into_owned(),
    )
}

fn sweeps_in(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let (path, kind) = (entry.path(), entry.file_type()?);
        if kind.is_dir() {
            sweeps_in(&path, files)?;
        } else if kind.is_file() && is_sweep(&path) {
            files.push(path);
        }
    }
    Ok(())
}

/// A row of a manifest.
#[derive(Debug, Deserialize)]
struct Line {
    file: PathBuf,
    cable: String,
    #[serde(default)]
    far_end: String,
    #[serde(default)]
    length: String,
    #[serde(default)]
    marked: String,
    #[serde(default)]
    marked_impedance: String,
}

/// Cables as a manifest says. Files are looked for from the manifest's folder.
///
/// # Errors
/// [`GroupError`] with the line.
pub fn by_manifest(path: &Path) -> Result<Vec<Cable>, GroupError> {
    let manifest = |source| GroupError::Manifest {
        path: path.to_owned(),
        source,
    };
    let folder = path.parent().unwrap_or(Path::new(""));
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_path(path)
        .map_err(manifest)?;
    let mut cables: BTreeMap<String, Cable> = BTreeMap::new();
    let headers = reader.headers().map_err(manifest)?.clone();
    for record in reader.records() {
        let record = record.map_err(manifest)?;
        let line: Line = record.deserialize(Some(&headers)).map_err(manifest)?;
        let cable = cables.entry(line.cable.clone()).or_default();
        cable.name.clone_from(&line.cable);
        fill(cable, &line, folder).map_err(|what| GroupError::Cell {
            path: path.to_owned(),
            line: record.position().map_or(0, csv::Position::line),
            what,
        })?;
    }
    Ok(cables.into_values().collect())
}

fn fill(cable: &mut Cable, line: &Line, folder: &Path) -> Result<(), String> {
    cable
        .files
        .push((folder.join(&line.file), role(&line.far_end)?));
    let said: [(&'static dyn Row, &str); 3] = [
        (&table::LENGTH, &line.length),
        (&table::MARKED, &line.marked),
        (&table::MARKED_IMPEDANCE, &line.marked_impedance),
    ];
    for (fact, text) in said {
        let word = Word::text(text);
        if !word.is_empty() {
            fact.check(&word)?;
            cable.said.say(fact, word);
        }
    }
    Ok(())
}

fn role(far_end: &str) -> Result<Role, String> {
    let word = far_end.to_lowercase();
    if word.is_empty() {
        return Ok(Role::Judge);
    }
    Role::of_far_end(&word)
        .ok_or_else(|| format!("far end `{word}`: expected open, short, load, through or nothing"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_tell_the_cable() {
        let cases = [
            ("box/mast1-open.s1p", "mast1"),
            ("box/mast1_LOAD.s1p", "mast1"),
            ("box/open mast 1.s1p", "mast 1"),
            ("box/feeder 3 (short).csv", "feeder 3"),
            ("box/rg58/open.s1p", "rg58"),
            ("box/through.s2p", "box"),
            ("box/opening-night.s1p", "opening-night"),
        ];
        for (file, wanted) in cases {
            assert_eq!(cable_name(Path::new(file)), wanted, "{file}");
        }
    }

    #[test]
    fn one_name_in_two_folders_is_two_cables() {
        let files = ["a/7-open.s1p", "a/7-load.s1p", "b/7-open.s1p"].map(PathBuf::from);
        let cables = by_name(&files);
        let names: Vec<_> = cables
            .iter()
            .map(|c| (c.name.as_str(), c.files.len()))
            .collect();
        assert_eq!(names, [("a/7", 2), ("b/7", 1)]);
    }
}
