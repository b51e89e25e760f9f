//! The examples in README.md and GUIDE.md print what they say they print, and links between the
//! documents lead somewhere.
//!
//! Every ```` ```console ```` block holds commands after `$ ` and what they print. A command goes on
//! after a `\` at the end of its line. A line of `...` stands for anything. `UPDATE_DOCUMENTS=1`
//! writes the blocks again, as long as they are now.

use std::collections::HashSet;
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

/// What people read, line by line in a terminal or an editor.
const DOCUMENTS: [&str; 9] = [
    "README.md",
    "GUIDE.md",
    "CONTRIBUTING.md",
    "docs/conventions.md",
    "docs/identification.md",
    "docs/kits.md",
    "docs/mistakes.md",
    "docs/reference.md",
    "examples/README.md",
];

#[test]
fn lines_of_the_documents_fit_a_terminal() {
    const COLUMNS: usize = 120;
    let mut long = String::new();
    for document in DOCUMENTS {
        for (number, line) in (1..).zip(read(document).lines()) {
            let columns = line.chars().count();
            if columns > COLUMNS {
                writeln!(long, "{document}:{number} has {columns} columns").unwrap();
            }
        }
    }
    assert!(long.is_empty(), "longer than {COLUMNS} columns:\n{long}");
}

#[test]
fn links_between_the_documents_lead_somewhere() {
    let mut broken = String::new();
    for document in DOCUMENTS {
        let folder = Path::new(document).parent().unwrap();
        for link in links(&read(document)) {
            let (file, heading) = link.split_once('#').unwrap_or((&link, ""));
            let target = match file {
                "" => PathBuf::from(document),
                other => folder.join(other),
            };
            let whole = root().join(&target);
            let found = whole.exists()
                && (heading.is_empty()
                    || anchors(&read(target.to_str().unwrap())).contains(heading));
            if !found {
                writeln!(broken, "{document}: {link}").unwrap();
            }
        }
    }
    assert!(broken.is_empty(), "these lead nowhere:\n{broken}");
}

fn read(document: &str) -> String {
    std::fs::read_to_string(root().join(document)).unwrap()
}

/// Targets of the links to files and headings of this repository.
fn links(text: &str) -> Vec<String> {
    let ends = text.split("](").skip(1);
    let targets = ends.filter_map(|rest| rest.split_once(')').map(|(target, _)| target.to_owned()));
    targets.filter(|target| !target.contains("://")).collect()
}

/// Anchors of the headings, as forges make them: lower case, blanks as hyphens, no punctuation.
fn anchors(text: &str) -> HashSet<String> {
    let headings = text.lines().filter(|line| line.starts_with('#'));
    headings
        .map(|line| {
            let title = line.trim_start_matches('#').trim().to_lowercase();
            let kept = title
                .chars()
                .filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'));
            kept.map(|c| if c == ' ' { '-' } else { c }).collect()
        })
        .collect()
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
    let mut lines = block.lines();
    while let Some(first) = lines.next() {
        if !first.starts_with("$ ") {
            continue;
        }
        let mut command = first.to_owned();
        while command.ends_with('\\') {
            let more = lines.next().expect("a command goes on after a backslash");
            write!(command, "\n{more}").unwrap();
        }
        let words = command.split_whitespace().skip(2);
        let arguments: Vec<&str> = words.filter(|word| *word != "\\").collect();
        let run = run_in(&root(), &arguments);
        write!(text, "{command}\n{}{}", run.stdout, run.stderr).unwrap();
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
