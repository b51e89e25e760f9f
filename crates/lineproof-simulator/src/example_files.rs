//! The files of all invented examples.

use lineproof_core::sweep::SweepError;

use crate::example_file::ExampleFile;
use crate::{examples, raw_example, stories};

/// Every file of every invented example, below `examples/`.
///
/// # Errors
/// [`SweepError`] if a scenario has no proper frequencies.
pub fn all_files() -> Result<Vec<ExampleFile>, SweepError> {
    let mut files = raw_example::files()?;
    for example in examples::all() {
        files.extend(example.files()?);
    }
    files.extend(stories::files()?);
    Ok(files)
}
