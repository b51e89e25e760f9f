//! CPU-bound work off the threads that talk, as much at once as there are cores.
//!
//! Whoever stops waiting before his turn (a closed tab, a cancelled run) leaves the queue. What has
//! begun is told to stop, and keeps its place until it does, so the bound holds.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

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

/// Tells the work to stop when dropped: nobody waits for it any more.
#[derive(Default)]
struct Wanted(Arc<AtomicBool>);

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
        self.run_unless(begun, |_| work()).await
    }

    /// [`Work::run`] for work that looks at a flag: set when whoever waits has gone away.
    ///
    /// # Errors
    /// As [`Work::run`].
    pub async fn run_unless<T: Send + 'static>(
        &self,
        begun: impl FnOnce(),
        work: impl FnOnce(Arc<AtomicBool>) -> T + Send + 'static,
    ) -> Result<T, Refusal> {
        let waiting = Waiting::of(&self.waiting)?;
        let place = Arc::clone(&self.places).acquire_owned();
        let place = place.await.expect("the places are never closed");
        drop(waiting);
        begun();
        let wanted = Wanted::default();
        let stop = Arc::clone(&wanted.0);
        let done = task::spawn_blocking(move || {
            let _held_to_the_end = place;
            work(stop)
        });
        done.await.map_err(|_panicked| Refusal::internal())
    }
}

impl Drop for Wanted {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

impl<'a> Waiting<'a> {
    fn of(count: &'a AtomicUsize) -> Result<Self, Refusal> {
        if count.fetch_add(1, Ordering::Relaxed) >= LONGEST_QUEUE {
            count.fetch_sub(1, Ordering::Relaxed);
            let busy = Refusal::new(
                StatusCode::SERVICE_UNAVAILABLE,
                "too many cables are waiting",
            );
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

#[cfg(test)]
mod tests {
    use std::sync::mpsc;
    use std::time::Duration;

    use super::*;

    /// The work ends only by the flag, so the place is free again only if it was set.
    #[tokio::test]
    async fn work_that_nobody_waits_for_is_told_to_stop() {
        let work = Arc::new(Work::new(1));
        let (says_begun, begun) = mpsc::channel();
        let until_stopped = move |stop: Arc<AtomicBool>| {
            says_begun.send(()).expect("the test listens");
            while !stop.load(Ordering::Relaxed) {
                std::thread::sleep(Duration::from_millis(1));
            }
        };
        let same = Arc::clone(&work);
        let endless = tokio::spawn(async move { same.run_unless(|| {}, until_stopped).await });
        task::spawn_blocking(move || begun.recv())
            .await
            .unwrap()
            .unwrap();
        endless.abort();
        assert_eq!(work.run(|| {}, || 7).await.unwrap(), 7);
    }
}
