//! Boxes of cables that are being sorted, and what came out: in memory, the newest few.

mod filling;

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::http::StatusCode;
use lineproof_core::estimate::Progress as EstimateProgress;
use serde::Serialize;
use tokio::sync::{Notify, watch};
use tokio::task::JoinSet;
use utoipa::ToSchema;
use uuid::Uuid;

pub use self::filling::Named;
use self::filling::{Filled, Filling};
use crate::questions::assay::sessions::Facts;
use crate::questions::assay::sessions::files::Dropped;
use crate::questions::sort::rows::{Row, find_read, worst_first};
use crate::server::refusal::Refusal;
use crate::server::shared::Shared;
use crate::workflow::assay::AssayRequest;

/// Boxes that are remembered.
const REMEMBERED: usize = 8;
/// Most bytes of sweeps in all of them.
const MOST_BYTES: usize = 256 << 20;
/// Cables of one box that are in the queue at once, so that other requests come in between.
const AT_ONCE: usize = 4;

/// The boxes that are remembered.
#[derive(Debug, Default)]
pub struct Boxes(Mutex<VecDeque<Arc<Sorting>>>);

/// How far a box is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = BoxProgress)]
pub struct Progress {
    /// Cables that are done.
    pub done: usize,
    /// Cables in the box.
    pub of: usize,
    /// Whether nothing more will come of the files that are there.
    pub over: bool,
    /// Whether somebody stopped it.
    pub cancelled: bool,
}

/// What is asked of every cable of a box.
#[derive(Clone, Debug)]
pub struct AskedOfAll {
    /// What is computed.
    pub request: AssayRequest,
    /// The same as a person said it, for an assay of one of them.
    pub facts: Facts,
}

/// One box.
#[derive(Debug)]
pub struct Sorting {
    /// Its id.
    pub id: String,
    asked: AskedOfAll,
    now: Mutex<Now>,
    more: Notify,
    progress: watch::Sender<Progress>,
}

/// What a box is now.
#[derive(Debug, Default)]
struct Now {
    filling: Filling,
    running: bool,
    cancelled: bool,
}

impl Boxes {
    /// The box with this id.
    pub fn find(&self, id: &str) -> Option<Arc<Sorting>> {
        locked(&self.0).iter().find(|b| b.id == id).cloned()
    }

    /// Forgets the oldest ones if there are too many; what is computed for them stops.
    fn remember(&self, sorting: Arc<Sorting>) {
        let mut all = locked(&self.0);
        all.push_back(sorting);
        while all.len() > REMEMBERED {
            if let Some(oldest) = all.pop_front() {
                oldest.cancel();
            }
        }
    }

    /// Makes room for as many bytes in this box, at the cost of older ones.
    ///
    /// # Errors
    /// [`Refusal`] if they are too many even so.
    fn room(&self, sorting: &Sorting, bytes: usize) -> Result<(), Refusal> {
        let mut all = locked(&self.0);
        let mut others: usize = all.iter().map(|sorting| sorting.bytes()).sum();
        while others + bytes > MOST_BYTES {
            let Some(oldest) = all.iter().position(|b| b.id != sorting.id) else {
                let megabytes = MOST_BYTES >> 20;
                let much =
                    format!("a box takes up to {megabytes} MB of sweeps, and this one is full");
                let refusal = Refusal::new(StatusCode::PAYLOAD_TOO_LARGE, much);
                return Err(refusal.help("sort the other files in a box of their own"));
            };
            if let Some(oldest) = all.remove(oldest) {
                others -= oldest.bytes();
                oldest.cancel();
            }
        }
        Ok(())
    }
}

impl Sorting {
    /// The cables that are done, worst first.
    pub fn rows(&self) -> Vec<Row> {
        let mut rows = locked(&self.now).filling.rows();
        worst_first(&mut rows);
        rows
    }

    /// Files that were no sweeps by their ending.
    pub fn passed_over(&self) -> usize {
        locked(&self.now).filling.passed_over()
    }

    /// The sweeps of one of its cables, and what was said of the whole box.
    pub fn cable(&self, name: &str) -> Option<(Vec<Dropped>, Facts)> {
        let now = locked(&self.now);
        let mut cables = now.filling.cables().iter();
        let filled = cables.find(|filled| filled.cable.name == name)?;
        let files = filled.cable.files.iter().zip(&filled.bytes);
        let files = files.map(|((path, _), bytes)| {
            let label = path.file_name().unwrap_or_default();
            Dropped {
                label: label.to_string_lossy().into_owned(),
                bytes: Arc::clone(bytes),
            }
        });
        Some((files.collect(), self.asked.facts.clone()))
    }

    /// Puts more files in: new cables are sorted, and those whose files have changed once more.
    ///
    /// # Errors
    /// [`Refusal`] if the box was stopped, or is full.
    pub fn add(self: &Arc<Self>, shared: &Shared, files: Vec<Named>) -> Result<(), Refusal> {
        let bytes = files.iter().map(|(_, bytes)| bytes.len()).sum();
        shared.held::<Boxes>().room(self, bytes)?;
        let begins = {
            let mut now = locked(&self.now);
            if now.cancelled {
                let stopped = Refusal::new(StatusCode::CONFLICT, "this box was stopped");
                return Err(stopped.help("sort the folder again"));
            }
            now.filling.add(files);
            let begins = !now.running && now.filling.waits();
            now.running |= begins;
            begins
        };
        self.tell();
        if begins {
            tokio::spawn(run(shared.clone(), Arc::clone(self)));
        } else {
            self.more.notify_one();
        }
        Ok(())
    }

    /// How far it is.
    pub fn progress(&self) -> Progress {
        *self.progress.borrow()
    }

    /// How far it is, again and again until it is over.
    pub fn follow(&self) -> watch::Receiver<Progress> {
        self.progress.subscribe()
    }

    /// Begins no further cable, and breaks off those that were begun.
    pub fn cancel(&self) {
        let mut now = locked(&self.now);
        now.cancelled = true;
        now.filling
            .cables()
            .iter()
            .for_each(|filled| filled.leave());
    }

    fn bytes(&self) -> usize {
        locked(&self.now).filling.bytes()
    }

    /// The next cable to compute; if there is none, and none is `computed` still, it is over.
    fn next(&self, computed: bool) -> Option<Arc<Filled>> {
        let mut now = locked(&self.now);
        let next = if now.cancelled {
            None
        } else {
            now.filling.next()
        };
        now.running = next.is_some() || computed;
        next
    }

    fn tell(&self) {
        let now = locked(&self.now);
        let (done, of) = (now.filling.done(), now.filling.cables().len());
        self.progress.send_replace(Progress {
            done,
            of,
            over: !now.running,
            cancelled: now.cancelled && done < of,
        });
    }
}

/// An empty box, which waits for its files.
pub fn begin(shared: &Shared, asked: AskedOfAll) -> Arc<Sorting> {
    let sorting = Arc::new(Sorting {
        id: Uuid::new_v4().simple().to_string(),
        asked,
        now: Mutex::default(),
        more: Notify::new(),
        progress: watch::Sender::new(Progress {
            done: 0,
            of: 0,
            over: true,
            cancelled: false,
        }),
    });
    shared.held::<Boxes>().remember(Arc::clone(&sorting));
    sorting
}

/// Computes until nothing is left to begin.
async fn run(shared: Shared, sorting: Arc<Sorting>) {
    let mut running = JoinSet::new();
    loop {
        while running.len() < AT_ONCE {
            let Some(filled) = sorting.next(!running.is_empty()) else {
                break;
            };
            let work = one(shared.clone(), Arc::clone(&sorting), Arc::clone(&filled));
            filled.is_computed_by(running.spawn(work));
        }
        sorting.tell();
        tokio::select! {
            ended = running.join_next() => if ended.is_none() { return },
            () = sorting.more.notified() => {}
        }
    }
}

/// One cable; if the program fails on it, its row says so and the others go on.
async fn one(shared: Shared, sorting: Arc<Sorting>, filled: Arc<Filled>) {
    let same = Arc::clone(&filled);
    let find = move |stop| {
        let bytes = same.bytes.iter().map(|b| b.to_vec()).collect();
        let mut request = sorting.asked.request.clone();
        request.asked.progress = Arc::new(EstimateProgress::cancelled_by(stop));
        find_read(&same.cable, bytes, &request)
    };
    let found = shared.work().run_unless(|| (), find).await;
    filled.becomes(
        found.unwrap_or_else(|refusal| Row::not_found(&filled.cable.name, refusal.said.error)),
    );
}

/// Nothing that holds a lock here can panic half done.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
