//! What is in a box: files as they come, cables by their names, what was found of each.
//!
//! Files come as bytes; their names are labels that say which belong together, never paths.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use tokio::task::AbortHandle;

use crate::questions::sort::group;
use crate::questions::sort::rows::{Cable, Row};

/// A file of a box: its name, folders in front, and its bytes.
pub type Named = (String, Vec<u8>);

/// The files of a box and the cables that they are of.
#[derive(Debug, Default)]
pub(super) struct Filling {
    sweeps: BTreeMap<PathBuf, Arc<[u8]>>,
    others: BTreeSet<PathBuf>,
    cables: Vec<Arc<Filled>>,
}

/// A cable with the bytes of its files, in their order.
#[derive(Debug)]
pub(super) struct Filled {
    /// Its name and its files.
    pub cable: Cable,
    /// Their bytes.
    pub bytes: Vec<Arc<[u8]>>,
    found: Arc<Found>,
}

/// What becomes of a cable's files; the same while they are the same, whatever it is called.
#[derive(Debug, Default)]
struct Found {
    begun: AtomicBool,
    task: OnceLock<AbortHandle>,
    row: OnceLock<Row>,
}

impl Filling {
    /// Puts files in. One that was there by its name is replaced; a cable whose files have changed
    /// is found anew, and what is being computed of it stops.
    pub(super) fn add(&mut self, files: Vec<Named>) {
        for (name, bytes) in files {
            let path = label(&name);
            if !group::is_sweep(&path) {
                self.others.insert(path);
            } else if self
                .sweeps
                .get(&path)
                .is_none_or(|there| there[..] != bytes)
            {
                self.sweeps.insert(path, Arc::from(bytes));
            }
        }
        self.group();
    }

    fn group(&mut self) {
        let before = std::mem::take(&mut self.cables);
        // A file belongs to one cable, so the first one finds it.
        let mut before: HashMap<&Path, &Filled> =
            before.iter().map(|old| (old.first(), &**old)).collect();
        let paths: Vec<PathBuf> = self.sweeps.keys().cloned().collect();
        let fill = |cable: Cable| {
            let bytes = cable.files.iter().map(|(path, _)| &self.sweeps[path]);
            let mut filled = Filled {
                bytes: bytes.map(Arc::clone).collect(),
                cable,
                found: Arc::default(),
            };
            let same = before.get(filled.first()).copied();
            if let Some(same) = same.filter(|old| old.is_of_the_same_files(&filled)) {
                before.remove(filled.first());
                filled.found = Arc::clone(&same.found);
            }
            Arc::new(filled)
        };
        self.cables = group::by_name(&paths).into_iter().map(fill).collect();
        for gone in before.values() {
            gone.leave();
        }
    }

    /// Its cables.
    pub(super) fn cables(&self) -> &[Arc<Filled>] {
        &self.cables
    }

    /// The next cable of which nothing is computed yet.
    pub(super) fn next(&self) -> Option<Arc<Filled>> {
        let mut cables = self.cables.iter();
        cables
            .find(|filled| !filled.found.begun.swap(true, Ordering::Relaxed))
            .cloned()
    }

    /// Whether there is a cable of which nothing is computed yet.
    pub(super) fn waits(&self) -> bool {
        let begun = |filled: &Arc<Filled>| filled.found.begun.load(Ordering::Relaxed);
        !self.cables.iter().all(begun)
    }

    /// The rows of the cables that are done.
    pub(super) fn rows(&self) -> Vec<Row> {
        let rows = self.cables.iter().filter_map(|filled| filled.row());
        rows.collect()
    }

    /// Cables that are done.
    pub(super) fn done(&self) -> usize {
        let done = |filled: &&Arc<Filled>| filled.found.row.get().is_some();
        self.cables.iter().filter(done).count()
    }

    /// Files that are no sweeps by their ending.
    pub(super) fn passed_over(&self) -> usize {
        self.others.len()
    }

    /// Bytes of all sweeps.
    pub(super) fn bytes(&self) -> usize {
        self.sweeps.values().map(|bytes| bytes.len()).sum()
    }
}

impl Filled {
    /// Says who computes it.
    pub(super) fn is_computed_by(&self, task: AbortHandle) {
        let _once = self.found.task.set(task);
    }

    /// Keeps its row.
    pub(super) fn becomes(&self, row: Row) {
        let _once = self.found.row.set(row);
    }

    /// Nobody wants it any more: what is being computed stops.
    pub(super) fn leave(&self) {
        if let Some(task) = self.found.task.get() {
            task.abort();
        }
    }

    /// Its row under the name that it has now.
    fn row(&self) -> Option<Row> {
        let mut row = self.found.row.get()?.clone();
        row.cable.clone_from(&self.cable.name);
        Some(row)
    }

    fn first(&self) -> &Path {
        let first = self.cable.files.first();
        first.map_or(Path::new(""), |(path, _)| path)
    }

    fn is_of_the_same_files(&self, other: &Self) -> bool {
        let bytes = self.bytes.iter().zip(&other.bytes);
        self.cable.files == other.cable.files && bytes.into_iter().all(|(a, b)| Arc::ptr_eq(a, b))
    }
}

/// The name as a path that only groups files; those without a folder are in a box of their own.
fn label(name: &str) -> PathBuf {
    let name = name
        .replace('\\', "/")
        .replace(char::is_control, "\u{FFFD}");
    let name = name.trim_start_matches('/');
    if name.contains('/') {
        PathBuf::from(name)
    } else {
        PathBuf::from(format!("box/{name}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(name: &str, bytes: &str) -> Named {
        (name.to_owned(), bytes.as_bytes().to_vec())
    }

    fn text(filled: &Filled) -> String {
        String::from_utf8(filled.bytes.concat()).unwrap()
    }

    /// What is computed next, as text; its row says the same.
    fn compute(filling: &Filling) -> Vec<String> {
        let mut computed = Vec::new();
        while let Some(filled) = filling.next() {
            filled.becomes(Row::not_found(&filled.cable.name, text(&filled)));
            computed.push(text(&filled));
        }
        computed
    }

    fn rows(filling: &Filling) -> Vec<(String, String)> {
        let rows = filling.rows().into_iter();
        rows.map(|row| (row.cable, row.why)).collect()
    }

    #[test]
    fn names_are_labels() {
        let names = [
            "open.s1p",
            "../../etc/x-open.s1p",
            "c:\\a\\b-load.s1p",
            "/abs.s1p",
        ];
        let labels = names.map(|n| label(n).display().to_string());
        let wanted = [
            "box/open.s1p",
            "../../etc/x-open.s1p",
            "c:/a/b-load.s1p",
            "box/abs.s1p",
        ];
        assert_eq!(labels, wanted);
    }

    #[test]
    fn files_find_their_cable() {
        let mut filling = Filling::default();
        filling.add(vec![
            file("m1-open.s1p", "o1 "),
            file("k-load.s1p", "k"),
            file("m1-load.s1p", "l1 "),
            file("photo.jpg", "p"),
        ]);
        assert_eq!(compute(&filling), ["k", "l1 o1 "]);
        assert_eq!(filling.passed_over(), 1);
    }

    #[test]
    fn only_what_has_changed_is_found_anew() {
        let mut filling = Filling::default();
        filling.add(vec![file("a/1-open.s1p", "a"), file("a/2-open.s1p", "b")]);
        assert_eq!(compute(&filling), ["a", "b"]);
        filling.add(vec![file("a/2-open.s1p", "b"), file("a/2.jpg", "")]);
        assert!(compute(&filling).is_empty(), "nothing is new");
        filling.add(vec![file("a/2-load.s1p", "c"), file("a/1-open.s1p", "A")]);
        assert_eq!(filling.done(), 0, "both have changed");
        assert_eq!(compute(&filling), ["A", "cb"]);
        // A second cable of the same name: the first one's row only gets its folder in front.
        filling.add(vec![file("b/1-open.s1p", "d")]);
        assert_eq!(compute(&filling), ["d"]);
        let wanted = [("a/1", "A"), ("2", "cb"), ("b/1", "d")];
        let wanted = wanted.map(|(name, why)| (name.to_owned(), why.to_owned()));
        assert_eq!(rows(&filling), wanted);
    }

    /// A file that came first in the order of names takes the others' place with it.
    #[test]
    fn a_file_that_comes_before_the_first_changes_its_cable() {
        let mut filling = Filling::default();
        filling.add(vec![file("m-open.s1p", "o")]);
        assert_eq!(compute(&filling), ["o"]);
        filling.add(vec![file("m-load.s1p", "l")]);
        assert_eq!(compute(&filling), ["lo"]);
        assert_eq!(rows(&filling).len(), 1);
    }
}
