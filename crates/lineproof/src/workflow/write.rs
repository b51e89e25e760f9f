//! Files that the program writes: whole or not at all.

use std::io::{self, Write};
use std::path::Path;

/// Writes a file under a name of its own and gives it its name when it is whole, so that a full disk
/// or a killed process leaves the file as it was.
///
/// # Errors
/// What the system says.
pub fn whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".unfinished");
    let unfinished = path.with_file_name(name);
    let written = std::fs::File::create(&unfinished)
        .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
        .and_then(|()| std::fs::rename(&unfinished, path));
    if written.is_err() {
        let _already_failed = std::fs::remove_file(&unfinished);
    }
    written
}
