//! CPU-bound work off the threads that talk, as much at once as there are cores.
//!
//! Whoever stops waiting before his turn (a closed tab, a cancelled run) leaves the queue. What has
//! begun runs to its end, and keeps its place until then, so the bound holds.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use axum::http::StatusCode;
use tokio::sync::Semaphore;
use tokio::task;

use super::refusal::Refusal;

/// Most that wait for their turn; whoever comes then is asked to try again.
const LONGEST_QUEUE: usize = 512;

/// Places to compute.
#[derive(Debug)]
pub struct Work {
    places: Arc<Semaphore>,
    waiting: AtomicUsize,
}

/// One who waits; leaves the queue when dropped.
struct Waiting<'a>(&'a AtomicUsize);

impl Work {
    /// As many places as `workers`, at least one.
    pub fn new(workers: usize) -> Self {
        Self {
            places: Arc::new(Semaphore::new(workers.max(1))),
            waiting: AtomicUsize::new(0),
        }
    }

    /// How many wait for their turn.
    pub fn waiting(&self) -> usize {
        self.waiting.load(Ordering::Relaxed)
    }

    /// Waits for a place, says so by `begun`, and computes.
    ///
    /// # Errors
    /// [`Refusal`] if too many wait or the work panics.
    pub async fn run<T: Send + 'static>(
        &self,
        begun: impl FnOnce(),
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T, Refusal> {
        let waiting = Waiting::of(&self.waiting)?;
        let place = Arc::clone(&self.places).acquire_owned();
        let place = place.await.expect("the places are never closed");
        drop(waiting);
        begun();
        let done = task::spawn_blocking(move || {
            let _held_to_the_end = place;
            work()
        });
        done.await.map_err(|_panicked| Refusal::internal())
    }
}

impl<'a> Waiting<'a> {
    fn of(count: &'a AtomicUsize) -> Result<Self, Refusal> {
        if count.fetch_add(1, Ordering::Relaxed) >= LONGEST_QUEUE {
            count.fetch_sub(1, Ordering::Relaxed);
            let busy = Refusal::new(StatusCode::SERVICE_UNAVAILABLE, "too many cables wait");
            return Err(busy.help("try again in a minute"));
        }
        Ok(Self(count))
    }
}

impl Drop for Waiting<'_> {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::Relaxed);
    }
}
