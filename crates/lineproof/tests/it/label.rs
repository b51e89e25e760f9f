//! `lineproof label`: codes as an independent reader sees them, sheets, refusals.

use std::fmt::Write;
use std::path::Path;
use std::process::Command;

use crate::support::{GOOD_75, run_in, sweeps_of};

/// A shelf with these cables, all of one assay.
pub(crate) fn shelf_of(name: &str, tags: &[&str]) -> std::path::PathBuf {
    let folder = sweeps_of(name, GOOD_75);
    let _may_not_exist = std::fs::remove_file(folder.join("shelf.db"));
    for tag in tags {
        let arguments = [
            "assay",
            "open.s1p",
            "load.s1p",
            "--load-ohms",
            "50.000",
            "--length",
            "1.500m",
            "--measured-on",
            "2026-05-31",
            "--shelf",
            "shelf.db",
            "--shelve",
            tag,
        ];
        run_in(&folder, &arguments).has_code(0);
    }
    folder
}

pub(crate) fn labels(folder: &Path, more: &[&str]) -> crate::support::Run {
    run_in(folder, &[&["label", "--shelf", "shelf.db"], more].concat())
}

/// Rectangles of the codes in a sheet, mm: left, top, width, height. Each path has its own corner
/// and module, and stands in its label's group.
fn squares(svg: &str) -> Vec<[f64; 4]> {
    let numbers = |text: &str| -> Vec<f64> {
        let parts = text.split(|c: char| !(c.is_ascii_digit() || c == '.'));
        parts
            .filter(|p| !p.is_empty())
            .map(|p| p.parse().unwrap())
            .collect()
    };
    let after = |text: &str, name: &str| -> String {
        let rest = text.split(&format!("{name}=\"")).nth(1).unwrap();
        rest.split('"').next().unwrap().to_owned()
    };
    let mut all = Vec::new();
    for group in svg.split("<g ").skip(1) {
        let corner = numbers(&after(group, "transform"));
        for path in group.split("<path ").skip(1) {
            let placed = numbers(&after(path, "transform"));
            let (left, top, module) = (corner[0] + placed[0], corner[1] + placed[1], placed[2]);
            for run in after(path, " d").split('M').skip(1) {
                let run = numbers(run);
                all.push([
                    left + run[0] * module,
                    top + run[1] * module,
                    run[2] * module,
                    module,
                ]);
            }
        }
    }
    all
}

/// The sheet's codes as a grey picture that the reader takes (PGM), at 300 dots to the inch.
fn picture(svg: &str, paper_mm: [f64; 2], file: &Path) {
    const DOTS_MM: f64 = 300.0 / 25.4;
    let [w, h] = paper_mm.map(|mm| (mm * DOTS_MM) as usize);
    let mut dots = vec![255_u8; w * h];
    for [left, top, width, height] in squares(svg) {
        let range = |from: f64, size: f64| {
            (from * DOTS_MM).round() as usize..((from + size) * DOTS_MM).round() as usize
        };
        for y in range(top, height) {
            dots[y * w..][range(left, width)].fill(0);
        }
    }
    let mut bytes = format!("P5 {w} {h} 255\n").into_bytes();
    bytes.extend(dots);
    std::fs::write(file, bytes).unwrap();
}

/// What `zbarimg` reads in a picture, each text with the line end that it adds.
pub(crate) fn decoded(file: &Path) -> String {
    let output = Command::new("zbarimg")
        .args(["--quiet", "--raw", "-S*.disable", "-Sqrcode.enable"])
        .arg(file)
        .output()
        .expect("zbarimg is installed: ./check does it, or `apt-get install zbar-tools`");
    String::from_utf8(output.stdout).unwrap()
}

/// Every code of a sheet, as its printed dots, is read back by zbar, each with its own text.
#[test]
fn an_independent_reader_reads_every_code_of_a_sheet() {
    let tags = ["fog-1", "fog-2", "Lamp & lens", "mast/3", "Ölkeller"];
    let folder = shelf_of("label-codes", &tags);
    let read = |more: &[&str]| {
        labels(&folder, &[&["--all", "--output", "all.svg"], more].concat()).has_code(0);
        let svg = std::fs::read_to_string(folder.join("all.svg")).unwrap();
        picture(&svg, [210.0, 297.0], &folder.join("all.pgm"));
        decoded(&folder.join("all.pgm"))
    };
    let links = [
        "--sheet",
        "38.1x21.2mm",
        "--link",
        "http://shack.local:8317",
    ];
    let texts = read(&links);
    let mut got: Vec<&str> = texts.lines().collect();
    let mut wanted = tags.map(page);
    got.sort_unstable();
    wanted.sort();
    assert_eq!(got, wanted);
    // The same from the picture that the program itself draws, texts and all.
    #[cfg(feature = "png")]
    {
        labels(
            &folder,
            &[&["--all", "--output", "all.png"], &links[..]].concat(),
        )
        .has_code(0);
        let texts = decoded(&folder.join("all.png"));
        let mut got: Vec<&str> = texts.lines().collect();
        got.sort_unstable();
        assert_eq!(got, wanted);
    }
    // Each text ends with its date.
    let texts = read(&["--sheet", "63.5x38.1mm", "--skip", "2"]);
    let texts: Vec<&str> = texts.split_inclusive("2026-05-31\n").collect();
    assert_eq!(texts.len(), tags.len());
    for tag in tags {
        let own = texts.iter().filter(|t| t.lines().next() == Some(tag));
        let own: Vec<_> = own.collect();
        assert_eq!(own.len(), 1, "{tag} in {texts:?}");
        has_essentials(own[0], tag);
    }
}

/// Bytes outside of letters, digits and `-._~` as RFC 3986 has them.
fn page(tag: &str) -> String {
    let mut text = "http://shack.local:8317/shelf/".to_owned();
    for c in tag.chars() {
        match c {
            ' ' => text.push_str("%20"),
            '&' => text.push_str("%26"),
            '/' => text.push_str("%2F"),
            'Ö' => text.push_str("%C3%96"),
            other => write!(text, "{other}").unwrap(),
        }
    }
    text
}

/// The essentials of a cable, line by line. The line in closed form has 75.29 ohm and 0.16 dB at
/// 100 MHz.
#[track_caller]
fn has_essentials(text: &str, tag: &str) {
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[..2], [tag, "keep"], "{text}");
    assert!(
        lines[2].starts_with("75.2") && lines[2].ends_with(" ohm at 100 MHz"),
        "{text}"
    );
    for wanted in ["1.50 m", "0.16 dB at 100 MHz", "2026-05-31"] {
        assert!(lines.contains(&wanted), "{wanted} in {text}");
    }
}

#[test]
fn decisions_and_pages() {
    let folder = shelf_of("label-pages", &["a", "b", "c"]);
    let decide = ["shelf", "decide", "b", "discard", "--shelf", "shelf.db"];
    run_in(&folder, &decide).has_code(0);
    let note = [
        "--sheet",
        "90x50mm",
        "--grid",
        "1x2",
        "--outline",
        "--loss-at",
        "145MHz",
    ];
    let run = labels(
        &folder,
        &[&["--all", "--output", "two.svg"], &note[..]].concat(),
    )
    .has_code(0);
    assert_eq!(run.stdout, "3 labels in `two-1.svg`, `two-2.svg`\n");
    let first = std::fs::read_to_string(folder.join("two-1.svg")).unwrap();
    assert!(first.contains(">discard</text>") && first.contains("fill=\"#fff\">discard"));
    assert!(first.contains("dB at 145 MHz</text>"), "{first}");
    labels(
        &folder,
        &["a", "c", "--single", "62x29mm", "--output", "roll.html"],
    )
    .has_code(0);
    let page = std::fs::read_to_string(folder.join("roll.html")).unwrap();
    assert!(page.contains("size: 62mm 29mm") && page.matches("<svg").count() == 2);
}

#[test]
fn what_cannot_be_is_refused() {
    let folder = shelf_of("label-refused", &["a"]);
    for (more, code, wanted) in [
        ("a --output a.gif", 5, "expected .svg, .png, .pdf or .html"),
        #[cfg(not(feature = "pdf"))]
        ("a --output a.pdf", 5, "build with the feature `pdf`"),
        ("nobody --output a.svg", 2, "nobody"),
        (
            "a --sheet 61x31mm --output a.svg",
            2,
            "columns and rows with `--grid`",
        ),
        (
            "a --sheet 61x31mm --grid 4x3 --output a.svg",
            2,
            "the paper is 210 mm",
        ),
        (
            "a --single 20x10mm --output a.svg",
            2,
            "does not fit on 20 × 10 mm",
        ),
        ("a --skip 21 --output a.svg", 2, "a sheet has 21 only"),
        (
            "a --link shack --output a.svg",
            2,
            "http://shack.local:8317",
        ),
        ("a --sheet 61x31 --output a.svg", 2, "61x31"),
    ] {
        let run = labels(&folder, &more.split_whitespace().collect::<Vec<_>>()).has_code(code);
        assert!(run.stderr.contains(wanted), "{more}: {}", run.stderr);
    }
}
