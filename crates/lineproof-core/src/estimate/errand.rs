//! An estimate that somebody waits for.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// What passes between an estimate and the one who waits for it: a search for faults can take seconds.
#[derive(Debug, Default)]
pub struct Errand {
    pub(super) stop: Arc<AtomicBool>,
    pub(super) seeks_faults: AtomicBool,
}

impl Errand {
    /// One that is given up soon after `stop` is set.
    pub fn unless(stop: Arc<AtomicBool>) -> Self {
        Self {
            stop,
            ..Self::default()
        }
    }

    /// Whether the cable did not come out as a good one, so that faults are being looked for.
    pub fn seeks_faults(&self) -> bool {
        self.seeks_faults.load(Ordering::Relaxed)
    }

    pub(super) fn is_given_up(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}
