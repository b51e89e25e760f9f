//! Pages as an independent reader (poppler) sees them. Only in builds with the feature `engine`.
#![cfg(feature = "engine")]
#![expect(clippy::unwrap_used, reason = "helpers of tests may fail as tests do")]

use std::path::{Path, PathBuf};
use std::process::Command;

use lineproof_pdf::{Block, Document, Picture, report, sheets};

const SQUARE: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"80\" height=\"40\">\
    <rect x=\"2\" y=\"2\" width=\"76\" height=\"36\" fill=\"none\" stroke=\"#000\"/>\
    <text x=\"8\" y=\"26\" font-family=\"sans-serif\" font-size=\"16\">Zo &lt; 75</text></svg>";

fn picture(alt: &str) -> Picture {
    Picture {
        svg: SQUARE.to_owned(),
        alt: alt.to_owned(),
        caption: "A line.".to_owned(),
        width_mm: 90.0,
    }
}

fn document() -> Document {
    let rows = |n: usize| (0..n).map(|i| vec![format!("loss {i}"), "0.54 ± 0.01".to_owned()]);
    let section = |name: &str| {
        vec![
            Block::Heading {
                level: 1,
                text: format!("Cable {name}"),
            },
            Block::Decision {
                sentence: "50 ohm; faulty: repair.".to_owned(),
                condition: "faulty".to_owned(),
                rows: vec![
                    ["Condition".to_owned(), "faulty".to_owned()],
                    [String::new(), "dented at 1.62 m".to_owned()],
                ],
            },
            Block::Heading {
                level: 2,
                text: "Numbers".to_owned(),
            },
            Block::Table {
                columns: vec!["quantity".to_owned(), "value".to_owned()],
                right: vec![1],
                rows: rows(90).collect(),
            },
            Block::Picture(picture("Impedance along the cable: flat at 50 ohm")),
            Block::List {
                ordered: true,
                items: vec!["sqrt(110.7 × 50.02) = 74.4".to_owned()],
            },
            Block::Paragraph {
                text: "Odd signs: # $ * _ @ < > \\ `Ω µ ± ≤ Γ`".to_owned(),
                quiet: true,
            },
        ]
    };
    Document {
        title: "2 cables".to_owned(),
        sections: vec![section("mast-1"), section("#let & $x$")],
    }
}

fn written(name: &str, bytes: &[u8]) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, bytes).unwrap();
    path
}

/// What a tool of poppler says of a file.
fn says(tool: &str, arguments: &[&str], file: &Path) -> String {
    let mut command = Command::new(tool);
    command.args(arguments).arg(file);
    if tool == "pdftotext" {
        command.arg("-");
    }
    let output = command
        .output()
        .expect("poppler is installed: ./check --pdf does it, or `apt-get install poppler-utils`");
    assert!(output.status.success(), "{output:?}");
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn pdf_of_a_report_has_title_tags_and_every_word() {
    let bytes = report(&document()).unwrap();
    assert_eq!(
        bytes,
        report(&document()).unwrap(),
        "same input, same bytes"
    );
    let file = written("report.pdf", &bytes);
    let about = says("pdfinfo", &[], &file);
    let said = |name: &str| {
        let line = about.lines().find(|l| l.starts_with(name));
        line.and_then(|l| l.split_once(':'))
            .map_or("", |l| l.1)
            .trim()
    };
    assert_eq!(said("Title"), "2 cables");
    assert_eq!(said("Tagged"), "yes");
    assert_eq!(said("JavaScript"), "no");
    assert!(said("Page size").contains("A4"), "{about}");
    let text = says("pdftotext", &["-layout"], &file);
    for wanted in [
        "Cable mast-1",
        "Cable #let & $x$",
        "50 ohm; faulty: repair.",
        "dented at 1.62 m",
        "loss 89",
        "sqrt(110.7 × 50.02) = 74.4",
        "# $ * _ @ < > \\ `Ω µ ± ≤ Γ`",
        "Zo < 75",
    ] {
        assert!(text.contains(wanted), "{wanted} in {text}");
    }
    // ISO 32000-1, 14.8.4: standard structure types.
    let structure = says("pdfinfo", &["-struct-text"], &file);
    for wanted in ["H1", "H2", "Table", "TH", "Figure", "Caption"] {
        assert!(structure.contains(wanted), "{wanted} in {structure}");
    }
}

#[test]
fn pdf_of_sheets_has_the_size_of_their_paper() {
    let bytes = sheets("Labels", &[picture("a"), picture("b")], [62.0, 29.0]).unwrap();
    let file = written("sheets.pdf", &bytes);
    let about = says("pdfinfo", &[], &file);
    // 62 × 29 mm in points of 1/72 inch.
    assert!(about.contains("Pages:           2"), "{about}");
    assert!(about.contains("175.748 x 82.2047 pts"), "{about}");
}
