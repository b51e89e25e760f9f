//! Boxes of cables that are being sorted, and what came out: in memory, the newest few.
//!
//! Files come as bytes; their names are labels that say which belong together, never paths.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use serde::Serialize;
use tokio::sync::watch;
use tokio::task::JoinSet;
use utoipa::ToSchema;
use uuid::Uuid;

use super::assays::Facts;
use super::assays::files::Dropped;
use super::refusal::Refusal;
use super::shared::Shared;
use crate::workflow::assay::AssayRequest;
use crate::workflow::sort::{Cable, Row, find_read, group, worst_first};

/// Boxes that are remembered.
const REMEMBERED: usize = 8;
/// Most bytes of sweeps in all of them.
const MOST_BYTES: usize = 128 << 20;
/// Cables of one box that are in the queue at once, so that other requests come in between.
const AT_ONCE: usize = 4;

/// A file of a box: its name, folders in front, and its bytes.
pub type Named = (String, Vec<u8>);

/// The boxes that are remembered.
#[derive(Debug, Default)]
pub struct Boxes(Mutex<VecDeque<Arc<Sorting>>>);

/// How far a box is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Progress {
    /// Cables that are done.
    pub done: usize,
    /// Cables in the box.
    pub of: usize,
    /// Whether nothing more will come.
    pub over: bool,
    /// Whether somebody stopped it.
    pub cancelled: bool,
}

/// One box.
#[derive(Debug)]
pub struct Sorting {
    /// Its id.
    pub id: String,
    /// Files that were no sweeps by their ending.
    pub passed_over: usize,
    cables: Vec<Arc<Filled>>,
    facts: Facts,
    rows: Mutex<Vec<Row>>,
    progress: watch::Sender<Progress>,
    cancelled: AtomicBool,
}

impl Boxes {
    /// The box with this id.
    pub fn find(&self, id: &str) -> Option<Arc<Sorting>> {
        self.all().iter().find(|b| b.id == id).cloned()
    }

    fn all(&self) -> MutexGuard<'_, VecDeque<Arc<Sorting>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Forgets the oldest one if there are too many; what is computed for it stops.
    fn remember(&self, sorting: Arc<Sorting>) {
        let mut all = self.all();
        all.push_back(sorting);
        let mut bytes: usize = all.iter().map(|sorting| sorting.bytes()).sum();
        while all.len() > 1 && (all.len() > REMEMBERED || bytes > MOST_BYTES) {
            if let Some(oldest) = all.pop_front() {
                bytes -= oldest.bytes();
                oldest.cancel();
            }
        }
    }
}

impl Sorting {
    /// The cables that are done, worst first.
    pub fn rows(&self) -> Vec<Row> {
        let rows = self.rows.lock().unwrap_or_else(PoisonError::into_inner);
        let mut rows = rows.clone();
        worst_first(&mut rows);
        rows
    }

    /// The sweeps of one of its cables, and what was said of the whole box.
    pub fn cable(&self, name: &str) -> Option<(Vec<Dropped>, Facts)> {
        let filled = self.cables.iter().find(|filled| filled.0.name == name)?;
        let (cable, bytes) = filled.as_ref();
        let files = cable.files.iter().zip(bytes).map(|((path, _), bytes)| {
            let label = path.file_name().unwrap_or_default();
            Dropped {
                label: label.to_string_lossy().into_owned(),
                bytes: Arc::clone(bytes),
            }
        });
        Some((files.collect(), self.facts.clone()))
    }

    fn bytes(&self) -> usize {
        let bytes = self.cables.iter().flat_map(|filled| &filled.1);
        bytes.map(|b| b.len()).sum()
    }

    /// How far it is.
    pub fn progress(&self) -> Progress {
        *self.progress.borrow()
    }

    /// How far it is, again and again until it is over.
    pub fn follow(&self) -> watch::Receiver<Progress> {
        self.progress.subscribe()
    }

    /// Begins no further cable.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    fn is_cancelled(&self) -> bool {
        self.cancelled.load(Ordering::Relaxed)
    }

    fn add(&self, row: Row) {
        let mut rows = self.rows.lock().unwrap_or_else(PoisonError::into_inner);
        rows.push(row);
        self.progress.send_modify(|p| p.done += 1);
    }

    fn end(&self) {
        let cancelled = self.is_cancelled();
        self.progress.send_modify(|p| {
            p.over = true;
            p.cancelled = cancelled && p.done < p.of;
        });
    }
}

/// Begins to sort a box.
///
/// # Errors
/// [`Refusal`] if there is no sweep in it.
pub fn begin(
    shared: &Shared,
    files: Vec<Named>,
    (request, wanted_ohm): (AssayRequest, Option<f64>),
    facts: Facts,
) -> Result<Arc<Sorting>, Refusal> {
    let all = files.len();
    let files: Vec<(PathBuf, Vec<u8>)> = files
        .into_iter()
        .map(|(name, bytes)| (label(&name), bytes))
        .filter(|(path, _)| group::is_sweep(path))
        .collect();
    let passed_over = all - files.len();
    let cables = cables(files);
    if cables.is_empty() {
        let none = Refusal::field("files", "no sweeps there");
        return Err(none.help("sweeps end in .s1p, .s2p, .ts, .csv, .tsv or .txt"));
    }
    let begun = Progress {
        done: 0,
        of: cables.len(),
        over: false,
        cancelled: false,
    };
    let sorting = Arc::new(Sorting {
        id: Uuid::new_v4().simple().to_string(),
        passed_over,
        cables,
        facts,
        rows: Mutex::default(),
        progress: watch::Sender::new(begun),
        cancelled: AtomicBool::new(false),
    });
    shared.boxes().remember(Arc::clone(&sorting));
    let asked = Arc::new((request, wanted_ohm));
    tokio::spawn(run(shared.clone(), Arc::clone(&sorting), asked));
    Ok(sorting)
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

/// A cable with the bytes of its files, in their order.
type Filled = (Cable, Vec<Arc<[u8]>>);

fn cables(mut files: Vec<(PathBuf, Vec<u8>)>) -> Vec<Arc<Filled>> {
    files.sort_by(|a, b| a.0.cmp(&b.0));
    files.dedup_by(|a, b| a.0 == b.0);
    let paths: Vec<PathBuf> = files.iter().map(|f| f.0.clone()).collect();
    let fill = |cable: Cable| {
        let bytes = cable.files.iter().map(|(path, _)| {
            let at = files.binary_search_by(|f| f.0.cmp(path));
            at.map_or_else(|_| Vec::new(), |at| std::mem::take(&mut files[at].1))
        });
        let bytes = bytes.map(Arc::from).collect();
        Arc::new((cable, bytes))
    };
    group::by_name(&paths).into_iter().map(fill).collect()
}

type Asked = Arc<(AssayRequest, Option<f64>)>;

async fn run(shared: Shared, sorting: Arc<Sorting>, asked: Asked) {
    let mut waiting = sorting.cables.iter().map(Arc::clone);
    let mut running = JoinSet::new();
    loop {
        while running.len() < AT_ONCE && !sorting.is_cancelled() {
            let Some(cable) = waiting.next() else { break };
            running.spawn(one(shared.clone(), cable, Arc::clone(&asked)));
        }
        match running.join_next().await {
            Some(Ok(row)) => sorting.add(row),
            Some(Err(_ended)) => {}
            None => break,
        }
    }
    sorting.end();
}

/// One cable; if the program fails on it, its row says so and the others go on.
async fn one(shared: Shared, filled: Arc<Filled>, asked: Asked) -> Row {
    let name = filled.0.name.clone();
    let find = move || {
        let bytes = filled.1.iter().map(|b| b.to_vec()).collect();
        find_read(&filled.0, bytes, &asked.0, asked.1)
    };
    let found = shared.work().run(|| (), find).await;
    found.unwrap_or_else(|refusal| Row::not_found(&name, refusal.said.error))
}

#[cfg(test)]
mod tests {
    use super::*;

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
        let file = |name: &str| (label(name), name.as_bytes().to_vec());
        let filled = cables(vec![
            file("m1-open.s1p"),
            file("k-load.s1p"),
            file("m1-load.s1p"),
        ]);
        let got: Vec<_> = filled
            .iter()
            .map(|filled| (filled.0.name.as_str(), filled.1.concat()))
            .collect();
        let wanted = [
            ("k", b"k-load.s1p".to_vec()),
            ("m1", b"m1-load.s1pm1-open.s1p".to_vec()),
        ];
        assert_eq!(got, wanted);
    }
}
