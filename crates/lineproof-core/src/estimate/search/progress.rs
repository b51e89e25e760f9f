//! An estimate that somebody waits for.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Progress of an estimate and the flag that cancels it: a search for faults can take seconds.
#[derive(Debug, Default)]
pub struct Progress {
    cancel: Arc<AtomicBool>,
    searches_faults: AtomicBool,
}

impl Progress {
    /// One that is cancelled soon after `cancel` is set.
    pub fn cancelled_by(cancel: Arc<AtomicBool>) -> Self {
        Self {
            cancel,
            ..Self::default()
        }
    }

    /// Whether the cable did not come out as a good one, so that faults are being looked for.
    pub fn searches_faults(&self) -> bool {
        self.searches_faults.load(Ordering::Relaxed)
    }

    pub(crate) fn now_searches_faults(&self) {
        self.searches_faults.store(true, Ordering::Relaxed);
    }

    pub(crate) fn is_cancelled(&self) -> bool {
        self.cancel.load(Ordering::Relaxed)
    }

    pub(crate) fn cancel_flag(&self) -> &AtomicBool {
        &self.cancel
    }
}
