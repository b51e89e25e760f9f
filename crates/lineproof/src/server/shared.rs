//! What every handler shares.

use std::any::{Any, TypeId};
use std::collections::HashMap;
use std::convert::Infallible;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use axum::extract::FromRequestParts;
use axum::http::HeaderMap;
use axum::http::header::CONTENT_LENGTH;
use axum::http::request::Parts;
use tokio::sync::{Semaphore, SemaphorePermit};

use crate::server::access::AccessControl;
use crate::server::units::{self, Units};
use crate::server::work::Work;

/// Most bytes of a request's body: a hundred sweeps of thousands of points.
pub const LARGEST_BODY_BYTES: usize = 32 << 20;
/// Most bytes of uploads that are on their way at once; others wait.
const UPLOADS_BYTES: usize = 4 * LARGEST_BODY_BYTES;
/// Uploads are counted in pieces of this size, bytes.
const PIECE_BYTES: usize = 64 << 10;

/// How a server is set up.
#[derive(Clone, Debug)]
pub struct Settings {
    /// File of the shelf; absent where the system names no folder for the user's data.
    pub shelf: Option<PathBuf>,
    /// Who may connect.
    pub access: AccessControl,
    /// How many cables are computed at once.
    pub workers: usize,
}

/// The server's state; a copy is the same state.
#[derive(Clone, Debug)]
pub struct Shared(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    shelf: Option<PathBuf>,
    access: AccessControl,
    work: Work,
    held: Mutex<HashMap<TypeId, Arc<dyn Any + Send + Sync>>>,
    uploads: Semaphore,
}

impl Shared {
    /// A fresh state.
    pub fn new(settings: Settings) -> Self {
        Self(Arc::new(Inner {
            shelf: settings.shelf,
            access: settings.access,
            work: Work::new(settings.workers),
            held: Mutex::default(),
            uploads: Semaphore::new(UPLOADS_BYTES / PIECE_BYTES),
        }))
    }

    /// File of the shelf.
    pub fn shelf(&self) -> Option<&Path> {
        self.0.shelf.as_deref()
    }

    /// Who may connect.
    pub fn access(&self) -> &AccessControl {
        &self.0.access
    }

    /// Where things are computed.
    pub fn work(&self) -> &Work {
        &self.0.work
    }

    /// What a question holds in memory, the same for every request; made when it is first asked for.
    pub fn held<T: Any + Default + Send + Sync>(&self) -> Arc<T> {
        let mut held = self.0.held.lock().unwrap_or_else(PoisonError::into_inner);
        let of_type = held.entry(TypeId::of::<T>());
        let one = Arc::clone(of_type.or_insert_with(|| Arc::new(T::default())));
        one.downcast().expect("each type is kept by its own id")
    }

    /// Waits until there is room in memory for a request's body, which is taken as large as it may be
    /// if it does not say.
    pub async fn room(&self, headers: &HeaderMap) -> SemaphorePermit<'_> {
        let said = headers.get(CONTENT_LENGTH);
        let bytes = said.and_then(|v| v.to_str().ok()?.parse::<usize>().ok());
        let bytes = bytes.unwrap_or(LARGEST_BODY_BYTES).min(LARGEST_BODY_BYTES);
        let pieces = bytes.div_ceil(PIECE_BYTES).max(1);
        let permit = self.0.uploads.acquire_many(pieces as u32).await;
        permit.expect("the room is never closed")
    }
}

impl FromRequestParts<Shared> for Units {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _state: &Shared) -> Result<Self, Infallible> {
        Ok(units::liked(&parts.headers))
    }
}
