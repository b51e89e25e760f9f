//! Killed writers, full disks, read-only folders, locks.

use std::io::{BufRead, BufReader, Write};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use lineproof_record::{Filter, NewSweep, Shelf, ShelfError};

use crate::support::{assay, folder};

/// Tells the test binary that it runs as somebody's child: what to do, and on which shelf.
const CHILD: &str = "LINEPROOF_TEST_CHILD";
/// Whom root becomes to feel permissions; any user that owns nothing here.
const NOBODY: u32 = 65534;

/// Not a test by itself: what the children of the tests below do.
#[test]
fn child() {
    let Some(orders) = std::env::var_os(CHILD) else {
        return;
    };
    let orders = orders.into_string().unwrap();
    let (what, path) = orders.split_once(' ').unwrap();
    let path = Path::new(path);
    match what {
        "write" => write_for_ever(path),
        "look" => look(path),
        _ => unreachable!("{what}"),
    }
}

/// Prints the id of each assay as soon as the shelf confirms it.
fn write_for_ever(path: &Path) {
    let mut shelf = Shelf::open_or_make(path).unwrap();
    for number in 0.. {
        let mut new = assay(&format!("cable-{}", number % 7), number);
        new.sweeps[0].bytes.resize(20_000, b'!');
        new.sweeps[0].bytes.extend(number.to_string().bytes());
        let shelved = shelf.shelve(&new).unwrap();
        let mut out = std::io::stdout().lock();
        writeln!(out, "confirmed {}", shelved.assay_id).unwrap();
        out.flush().unwrap();
    }
}

/// Prints what a user without the right to write meets.
fn look(path: &Path) {
    let opened = Shelf::open(path).map(|_| ());
    let read = Shelf::open_to_read(path);
    let cables = read
        .as_ref()
        .map(|shelf| shelf.cables(&Filter::default()).unwrap().len());
    let stored = read.as_ref().is_ok_and(Shelf::writable);
    println!("found open: {opened:?}");
    println!("found cables: {cables:?}, writable: {stored}");
}

/// This test binary once more, for [`child`] alone.
fn order(binary: &Path, what: &str, path: &Path) -> Command {
    let mut command = Command::new(binary);
    command
        .args(["--exact", "trouble::child", "--nocapture"])
        .env(CHILD, format!("{what} {}", path.display()))
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    command
}

fn this_binary() -> PathBuf {
    std::env::current_exe().unwrap()
}

#[test]
fn two_hundred_killed_writers_lose_nothing_that_was_confirmed() {
    let path = folder("killed").join("shelf.db");
    let mut confirmed: Vec<String> = Vec::new();
    for round in 0..200_u64 {
        let mut child = order(&this_binary(), "write", &path).spawn().unwrap();
        // Wait for some confirmations, then a part of a write: times from a fixed sequence.
        let lines = 1 + (round * 7919) % 3;
        let microseconds = (round * 104_729) % 2_500;
        confirmed.extend(confirmations(
            &mut child,
            lines,
            Duration::from_micros(microseconds),
        ));
        let shelf = Shelf::open(&path).unwrap();
        assert_eq!(shelf.check().unwrap(), Vec::<String>::new(), "{round}");
        for id in confirmed.iter().rev().take(10) {
            shelf.assay(id).unwrap();
        }
    }
    let shelf = Shelf::open(&path).unwrap();
    for id in &confirmed {
        let kept = shelf.assay(id).unwrap();
        assert_eq!((kept.sweeps.len(), kept.findings.len()), (2, 1), "{id}");
    }
    assert!(confirmed.len() >= 200, "{}", confirmed.len());
}

/// Reads some confirmations, waits, kills with SIGKILL, and reads what was confirmed meanwhile.
fn confirmations(child: &mut Child, lines: u64, wait: Duration) -> Vec<String> {
    let mut out = BufReader::new(child.stdout.take().unwrap()).lines();
    let id = |line: String| line.strip_prefix("confirmed ").map(str::to_owned);
    let mut ids = Vec::new();
    while (ids.len() as u64) < lines {
        ids.extend(id(out.next().unwrap().unwrap()));
    }
    std::thread::sleep(wait);
    child.kill().unwrap();
    child.wait().unwrap();
    // A last line without its end was not confirmed in full; it has no id of full length.
    let rest = out.map_while(Result::ok).filter_map(id);
    ids.extend(rest.filter(|id| id.len() == 36));
    ids
}

#[test]
fn a_locked_shelf_says_so_and_keeps_what_it_has() {
    let path = folder("locked").join("shelf.db");
    let mut shelf = Shelf::open_or_make(&path).unwrap();
    shelf.shelve(&assay("a", 1)).unwrap();
    let other = rusqlite::Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let mut impatient = Shelf::open_waiting(&path, Duration::from_millis(30)).unwrap();
    let error = impatient.shelve(&assay("b", 2)).unwrap_err();
    assert!(matches!(error, ShelfError::Locked { .. }), "{error}");
    assert_eq!(
        impatient.cables(&Filter::default()).unwrap().len(),
        1,
        "reading goes on"
    );
    other.execute_batch("ROLLBACK").unwrap();
    impatient.shelve(&assay("b", 2)).unwrap();
}

/// Root may write anywhere, so the one who looks is nobody, with a copy of this binary.
#[test]
fn a_read_only_folder_can_be_looked_at() {
    let folder = std::env::temp_dir().join(format!("lineproof-read-only-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("shelf.db");
    Shelf::open_or_make(&path)
        .unwrap()
        .shelve(&assay("a", 1))
        .unwrap();
    let binary = folder.join("looker");
    std::fs::copy(this_binary(), &binary).unwrap();
    set_mode(&path, 0o444);
    set_mode(&folder, 0o555);
    let mut command = order(&binary, "look", &path);
    if is_root() {
        command.uid(NOBODY);
    }
    let output = command.output().unwrap();
    set_mode(&folder, 0o755);
    std::fs::remove_dir_all(&folder).unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.contains("found open: Err(ReadOnly"), "{text}");
    assert!(
        text.contains("found cables: Ok(1), writable: false"),
        "{text}"
    );
}

#[test]
fn a_full_disk_says_so_and_keeps_what_it_has() {
    let Some(disk) = SmallDisk::mount() else {
        eprintln!("skipped: mounting a small disk needs root");
        return;
    };
    let path = disk.0.join("shelf.db");
    let mut shelf = Shelf::open_or_make(&path).unwrap();
    let mut stored = 0;
    let error = loop {
        let mut new = assay(&format!("c{stored}"), stored);
        new.sweeps.push(NewSweep {
            file_name: "large.s1p".to_owned(),
            role: "open".to_owned(),
            bytes: format!("{stored:0>60000}").into_bytes(),
        });
        match shelf.shelve(&new) {
            Ok(_) => stored += 1,
            Err(error) => break error,
        }
    };
    assert!(matches!(error, ShelfError::Full { .. }), "{error:?}");
    assert!(stored > 3, "{stored}");
    drop(shelf);
    let shelf = Shelf::open(&path).unwrap();
    assert_eq!(shelf.cables(&Filter::default()).unwrap().len(), stored);
    assert_eq!(shelf.check().unwrap(), Vec::<String>::new());
}

/// A disk of two megabytes in memory.
struct SmallDisk(PathBuf);

impl SmallDisk {
    fn mount() -> Option<Self> {
        let folder = folder("small-disk");
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=2m", "tmpfs"])
            .arg(&folder)
            .stderr(Stdio::null())
            .status();
        mounted.is_ok_and(|s| s.success()).then_some(Self(folder))
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _left_for_the_system = Command::new("umount").arg(&self.0).status();
    }
}

fn is_root() -> bool {
    let output = Command::new("id").arg("-u").output().unwrap();
    output.stdout.trim_ascii() == b"0"
}

fn set_mode(path: &Path, mode: u32) {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
}
