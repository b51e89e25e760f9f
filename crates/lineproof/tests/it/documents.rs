//! The examples in README.md and GUIDE.md print what they say they print.
//!
//! Every ```` ```console ```` block holds commands after `$ ` and what they print. A line of `...`
//! stands for anything. `UPDATE_DOCUMENTS=1` writes the blocks again, as long as they are now.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use crate::support::run_in;

#[test]
fn the_readme_prints_what_it_says() {
    check("README.md");
}

#[test]
fn the_guide_prints_what_it_says() {
    check("GUIDE.md");
}

#[track_caller]
fn check(document: &str) {
    let path = root().join(document);
    let text = std::fs::read_to_string(&path).unwrap();
    let mut renewed = String::new();
    let mut rest = text.as_str();
    while let Some(start) = rest.find(FENCE) {
        let (before, after) = rest.split_at(start + FENCE.len());
        let end = after.find("```").expect("a block is closed");
        let block = &after[..end];
        let printed = commands(block);
        assert!(
            updating() || matches(&printed, block),
            "{document} says\n{block}\nand the program prints\n{printed}"
        );
        renewed.push_str(before);
        renewed.push_str(&renew(block, &printed));
        rest = &after[end..];
    }
    renewed.push_str(rest);
    if updating() {
        std::fs::write(path, renewed).unwrap();
    }
}

const FENCE: &str = "```console\n";
const GAP: &str = "...";

fn updating() -> bool {
    std::env::var_os("UPDATE_DOCUMENTS").is_some()
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The block's commands with what they print now.
fn commands(block: &str) -> String {
    let mut text = String::new();
    for line in block.lines().filter(|l| l.starts_with("$ ")) {
        let mut words = line.split_whitespace().skip(2);
        let mut arguments: Vec<&str> = words.by_ref().collect();
        arguments.retain(|word| *word != "\\");
        let run = run_in(&root(), &arguments);
        write!(text, "{line}\n{}{}", run.stdout, run.stderr).unwrap();
    }
    text
}

/// The block with what is printed now: all of it, or as many lines as stand before its only gap at
/// the end. A block with other gaps stays.
fn renew(block: &str, printed: &str) -> String {
    let gaps = block.lines().filter(|line| *line == GAP).count();
    match (gaps, block.lines().last()) {
        (0, _) => printed.to_owned(),
        (1, Some(GAP)) => {
            let kept = printed.lines().take(block.lines().count() - 1);
            let lines: Vec<&str> = kept.chain([GAP, ""]).collect();
            lines.join("\n")
        }
        _ => block.to_owned(),
    }
}

/// Whether the printed text is the block, its gaps aside.
fn matches(printed: &str, block: &str) -> bool {
    let mut rest = printed;
    for (i, part) in block.split("...\n").enumerate() {
        match rest.find(part) {
            Some(at) if i > 0 || at == 0 => rest = &rest[at + part.len()..],
            _ => return false,
        }
    }
    rest.is_empty() || block.ends_with("...\n")
}
