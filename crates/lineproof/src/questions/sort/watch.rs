//! Files as they arrive in a folder: a memory card, a synchronised folder, a network share.
//!
//! Looks every [`PAUSE`] rather than waiting for the system's messages, which network shares do not
//! send and which come before a file is whole. A file counts as whole when size and time of change
//! stood still for two looks; one that does not parse then is taken up again when it changes.

use std::collections::HashMap;
use std::path::PathBuf;
use std::time::{Duration, SystemTime};

use super::group::{GroupError, in_folders};
use super::rows::Cable;

/// Time between two looks.
pub const PAUSE: Duration = Duration::from_millis(500);
/// Looks that a file must have stood still for.
const STILL_LOOKS: u32 = 2;

/// What was seen of the files so far.
#[derive(Debug, Default)]
pub struct Watch {
    seen: HashMap<PathBuf, Seen>,
    given: HashMap<String, Vec<(PathBuf, u64, SystemTime)>>,
}

#[derive(Clone, Copy, Debug)]
struct Seen {
    size: u64,
    changed: SystemTime,
    still: u32,
}

impl Watch {
    /// One look: the cables all of whose files are whole and which are not as they were when they
    /// were given last.
    ///
    /// # Errors
    /// [`GroupError::Folder`] if a folder can't be read.
    pub fn look(&mut self, folders: &[PathBuf]) -> Result<Vec<Cable>, GroupError> {
        let mut ready = Vec::new();
        for cable in in_folders(folders)? {
            let files: Vec<_> = cable.files.iter().map(|(path, _)| path.clone()).collect();
            // Every file is looked at, so no `all` that stops at the first.
            let whole = files.iter().filter(|path| self.whole(path)).count();
            let state = self.state(&files);
            if whole == files.len() && self.given.get(&cable.name) != Some(&state) {
                self.given.insert(cable.name.clone(), state);
                ready.push(cable);
            }
        }
        Ok(ready)
    }

    /// Whether a file stood still long enough.
    fn whole(&mut self, path: &PathBuf) -> bool {
        let Ok(metadata) = path.metadata() else {
            return false;
        };
        let (size, changed) = (
            metadata.len(),
            metadata.modified().unwrap_or(SystemTime::UNIX_EPOCH),
        );
        let still = match self.seen.get(path) {
            Some(seen) if (seen.size, seen.changed) == (size, changed) => seen.still + 1,
            _ => 0,
        };
        self.seen.insert(
            path.clone(),
            Seen {
                size,
                changed,
                still,
            },
        );
        size > 0 && still >= STILL_LOOKS
    }

    fn state(&self, files: &[PathBuf]) -> Vec<(PathBuf, u64, SystemTime)> {
        let seen = |path: &PathBuf| {
            let seen = self.seen.get(path)?;
            Some((path.clone(), seen.size, seen.changed))
        };
        files.iter().filter_map(seen).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(cables: &[Cable]) -> Vec<(&str, usize)> {
        cables
            .iter()
            .map(|c| (c.name.as_str(), c.files.len()))
            .collect()
    }

    #[test]
    fn a_file_that_grows_is_waited_for() {
        let folder = std::env::temp_dir().join(format!("lineproof-watch-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let folders = [folder.clone()];
        let mut watch = Watch::default();
        let mut look = || watch.look(&folders).unwrap();
        std::fs::write(folder.join("7-open.s1p"), "# Hz S RI R 50\n1 1").unwrap();
        assert!(look().is_empty());
        assert!(look().is_empty(), "stood still for one look only");
        std::fs::write(folder.join("7-open.s1p"), "# Hz S RI R 50\n1 1 0\n").unwrap();
        assert!(look().is_empty(), "it has grown");
        assert!(look().is_empty());
        assert_eq!(names(&look()), [("7", 1)]);
        assert!(look().is_empty(), "given once");
        std::fs::write(folder.join("7-load.s1p"), "# Hz S RI R 50\n1 0 0\n").unwrap();
        assert!(look().is_empty() && look().is_empty());
        assert_eq!(
            names(&look()),
            [("7", 2)],
            "once more with its second sweep"
        );
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
