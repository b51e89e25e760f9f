//! What every handler shares.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::door::Door;
use super::work::Work;

/// How a server is set up.
#[derive(Clone, Debug)]
pub struct Settings {
    /// File of the shelf; absent where the system names no folder for the user's data.
    pub shelf: Option<PathBuf>,
    /// Who may come in.
    pub door: Door,
    /// How many cables are computed at once.
    pub workers: usize,
}

/// The server's state; a copy is the same state.
#[derive(Clone, Debug)]
pub struct Shared(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    shelf: Option<PathBuf>,
    door: Door,
    work: Work,
}

impl Shared {
    /// A fresh state.
    pub fn new(settings: Settings) -> Self {
        Self(Arc::new(Inner {
            shelf: settings.shelf,
            door: settings.door,
            work: Work::new(settings.workers),
        }))
    }

    /// File of the shelf.
    pub fn shelf(&self) -> Option<&Path> {
        self.0.shelf.as_deref()
    }

    /// Who may come in.
    pub fn door(&self) -> &Door {
        &self.0.door
    }

    /// Where things are computed.
    pub fn work(&self) -> &Work {
        &self.0.work
    }
}
