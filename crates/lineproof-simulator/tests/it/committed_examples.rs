//! The committed examples are what `make-examples` writes today, bit for bit, and say so.

use std::fs;
use std::path::{Path, PathBuf};

use lineproof_simulator::all_files;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples")
}

#[test]
fn committed_files_are_current() {
    for file in all_files().unwrap() {
        let committed = fs::read_to_string(folder().join(&file.path)).unwrap_or_default();
        assert!(
            committed == file.text,
            "examples/{} is not current: run `cargo run -p lineproof-simulator --bin make-examples`",
            file.path
        );
    }
}

#[test]
fn every_invented_file_says_so_at_the_top() {
    for file in all_files().unwrap() {
        let invented = if file.path.ends_with("notes.md") {
            file.text.contains("\n\nInvented: ")
        } else {
            file.text.starts_with("! INVENTED") || file.text.starts_with("# INVENTED")
        };
        assert!(invented, "{} does not say so", file.path);
    }
}

#[test]
fn every_folder_has_a_row_in_the_readme() {
    let readme = fs::read_to_string(folder().join("README.md")).unwrap();
    for entry in fs::read_dir(folder()).unwrap() {
        let entry = entry.unwrap();
        if entry.path().is_dir() {
            let name = entry.file_name().into_string().unwrap();
            assert!(readme.contains(&format!("`{name}/`")), "no row for {name}");
        }
    }
}
