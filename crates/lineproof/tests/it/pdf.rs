//! Reports and labels as PDF, as independent readers (poppler, zbar) see them. Only in builds with the
//! feature `pdf`: `./check --pdf` runs these.

use std::path::Path;
use std::process::Command;

use crate::label::{decoded, labels, shelf_of};
use crate::support::run_in;

/// What a tool of poppler says about a file.
fn poppler(tool: &str, arguments: &[&str], file: &Path) -> String {
    let mut command = Command::new(tool);
    command.args(arguments).arg(file);
    if tool == "pdftotext" {
        command.arg("-");
    }
    let output = command
        .output()
        .expect("poppler is installed: ./check --pdf does it, or `apt-get install poppler-utils`");
    assert!(output.status.success(), "{output:?}");
    // Attributes of tags may be raw bytes.
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn a_report_reads_well_and_is_tagged() {
    let folder = shelf_of("pdf-report", &["fog-1", "Lamp & <lens>"]);
    let arguments = [
        "report", "--all", "--output", "all.pdf", "--shelf", "shelf.db",
    ];
    run_in(&folder, &arguments).has_code(0);
    let file = folder.join("all.pdf");
    let about = poppler("pdfinfo", &[], &file);
    let said = |name: &str| {
        let line = about.lines().find(|l| l.starts_with(name));
        line.and_then(|l| l.split(':').nth(1)).unwrap_or("").trim()
    };
    assert_eq!(said("Title"), "2 cables");
    assert_eq!(said("Tagged"), "yes");
    let text = poppler("pdftotext", &["-layout"], &file);
    for wanted in [
        "Cable fog-1",
        "Cable Lamp & <lens>",
        "75.3 ohm",
        "Condition",
        "keep",
        "Criteria",
        "quarter wave",
        "sqrt(",
        "never connect it to a line that may carry transmitter power",
    ] {
        assert!(text.contains(wanted), "{wanted} in {text}");
    }
    let structure = poppler("pdfinfo", &["-struct"], &file);
    for wanted in ["Figure", "Table", "H2"] {
        assert!(structure.contains(wanted), "{wanted} in {structure}");
    }
}

/// A report of the same assay does not change from one writing to the next.
#[test]
fn the_same_report_has_the_same_bytes() {
    let folder = shelf_of("pdf-same", &["fog-1"]);
    let written = |file: &str| {
        let arguments = ["report", "fog-1", "--output", file, "--shelf", "shelf.db"];
        run_in(&folder, &arguments).has_code(0);
        std::fs::read(folder.join(file)).unwrap()
    };
    assert!(written("a.pdf") == written("b.pdf"));
}

/// Every code of a sheet, as a printer would get it, is read back, on paper of the right size.
#[test]
fn the_codes_of_a_sheet_are_read_from_its_dots() {
    let tags = ["fog-1", "fog-2", "Lamp & lens"];
    let folder = shelf_of("pdf-labels", &tags);
    let link = ["--link", "http://shack.local:8317"];
    labels(
        &folder,
        &[&["--all", "--output", "all.pdf"], &link[..]].concat(),
    )
    .has_code(0);
    let file = folder.join("all.pdf");
    let about = poppler("pdfinfo", &[], &file);
    assert!(
        about.contains("(A4)") && about.contains("Pages:           1"),
        "{about}"
    );
    let dots = folder.join("sheet");
    let rendered = Command::new("pdftoppm")
        .args(["-r", "300", "-gray", "-singlefile"])
        .args([&file, &dots])
        .status();
    assert!(rendered.unwrap().success());
    let texts = decoded(&dots.with_extension("pgm"));
    let mut got: Vec<&str> = texts.lines().collect();
    got.sort_unstable();
    let wanted = ["Lamp%20%26%20lens", "fog-1", "fog-2"]
        .map(|tag| format!("http://shack.local:8317/shelf/{tag}"));
    assert_eq!(got, wanted);
}
