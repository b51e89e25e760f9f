//! The shelf as pages and routes use it: opened for each request, away from the threads that talk.

use lineproof_record::{Shelf, ShelfError};

use super::refusal::Refusal;
use super::shared::Shared;

/// Looks at the shelf. One that is not there yet is refused as [`ShelfError::Missing`] says.
///
/// # Errors
/// [`Refusal`] of the shelf or of `work`.
pub async fn look<T: Send + 'static>(
    shared: &Shared,
    work: impl FnOnce(&Shelf) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    let path = shared.shelf().ok_or_else(nowhere)?.to_owned();
    let looked = move || work(&Shelf::open_to_read(&path)?);
    shared.work().run(|| (), looked).await?
}

/// The same, but a shelf that is not there yet is an empty one and gives `T::default()`.
///
/// # Errors
/// As [`look`].
pub async fn look_if_there<T: Default + Send + 'static>(
    shared: &Shared,
    work: impl FnOnce(&Shelf) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    let Some(path) = shared.shelf().map(ToOwned::to_owned) else {
        return Ok(T::default());
    };
    let looked = move || match Shelf::open_to_read(&path) {
        Err(ShelfError::Missing { .. }) => Ok(T::default()),
        shelf => work(&shelf?),
    };
    shared.work().run(|| (), looked).await?
}

/// Changes what is on the shelf.
///
/// # Errors
/// As [`look`].
pub async fn change<T: Send + 'static>(
    shared: &Shared,
    work: impl FnOnce(&mut Shelf) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    let path = shared.shelf().ok_or_else(nowhere)?.to_owned();
    let changed = move || work(&mut Shelf::open(&path)?);
    shared.work().run(|| (), changed).await?
}

/// There is no shelf to look at.
pub fn nowhere() -> Refusal {
    Refusal::missing("this system has no data folder")
        .help("start with `lineproof serve --shelf FILE`")
}
