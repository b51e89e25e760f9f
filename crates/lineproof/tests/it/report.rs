//! `lineproof report`, `assay --report`, `assay --picture`.

use std::path::Path;

use crate::support::{GOOD_75, Run, run_in, sweeps_of};

fn assay(folder: &Path, more: &str) -> Run {
    let line =
        format!("assay open.s1p load.s1p short.s1p --load-ohms 50.000 --length 1.500m {more}");
    run_in(folder, &line.split_whitespace().collect::<Vec<_>>())
}

fn read(folder: &Path, file: &str) -> String {
    std::fs::read_to_string(folder.join(file)).unwrap()
}

#[test]
fn a_report_has_everything_and_needs_nothing() {
    let folder = sweeps_of("report-one", GOOD_75);
    assay(
        &folder,
        "--marked <b>RG-59 --marked-impedance 75 --report out.html",
    )
    .has_code(0);
    let page = read(&folder, "out.html");
    for wanted in [
        "75.3 ohm",
        "<h2>Pictures</h2>",
        "Smith chart, normalised to 50 ohm",
        "quarter wave, 32.81 MHz",
        "sqrt(113.01 ohm × 50.000 ohm)",
        "<dt>Calibration load by ohmmeter</dt><dd>50.000 ohm</dd>",
        "<dt>Condition</dt><dd>sound</dd>",
        "<dt>What to do</dt><dd>keep</dd>",
        "<h2>Criteria</h2>",
        "never connect it to a line that may carry transmitter power",
        "&lt;b&gt;RG-59: agrees",
    ] {
        assert!(page.contains(wanted), "{wanted}");
    }
    for outside in ["src=", "<link", "@import", "<script", "url("] {
        assert!(!page.contains(outside), "{outside}");
    }
    // Texts may name a source's address; no attribute has one but the name of SVG.
    let http = page.matches("\"http").count();
    let names = page.matches("\"http://www.w3.org/2000/svg\"").count();
    assert_eq!(http, names, "no address but the name of SVG");
}

#[test]
fn a_batch_has_an_overview_and_ids_of_its_own() {
    let folder = sweeps_of("report-batch", GOOD_75);
    let _may_not_exist = std::fs::remove_file(folder.join("shelf.db"));
    for tag in ["a", "b"] {
        assay(&folder, &format!("--shelve {tag} --shelf shelf.db")).has_code(0);
    }
    let arguments = [
        "report", "--all", "--output", "all.html", "--shelf", "shelf.db",
    ];
    run_in(&folder, &arguments).has_code(0);
    let page = read(&folder, "all.html");
    assert!(page.contains("<h1>2 cables</h1>"));
    let mut ids: Vec<&str> = page
        .split(" id=\"")
        .skip(1)
        .map(|rest| &rest[..rest.find('"').unwrap()])
        .collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all, "{ids:?}");
}

#[test]
fn pictures_are_written_and_other_endings_refused() {
    let folder = sweeps_of("report-pictures", GOOD_75);
    for kind in ["smith", "loss", "return-loss", "profile"] {
        assay(
            &folder,
            &format!("--picture {kind}.svg --picture-of {kind}"),
        )
        .has_code(0);
        assert!(read(&folder, &format!("{kind}.svg")).starts_with("<svg role=\"img\""));
    }
    for (more, wanted) in [
        ("--picture a.gif", "expected .svg or .png"),
        #[cfg(not(feature = "pdf"))]
        ("--report a.pdf", "print it to a PDF from a browser"),
        ("--report nowhere/a.html", "cannot write `nowhere/a.html`"),
    ] {
        let run = assay(&folder, more).has_code(5);
        assert!(run.stderr.contains(wanted), "{}", run.stderr);
        assert!(
            run.stdout.contains("75.3 ohm"),
            "the answer comes all the same"
        );
    }
}

/// A PNG file has its width and height in its first chunk (W3C, Portable Network Graphics, section
/// 11.2.2): three times those of the picture.
#[cfg(feature = "png")]
#[test]
fn every_picture_is_drawn_as_png() {
    let folder = sweeps_of("report-png", GOOD_75);
    for (kind, size) in [
        ("smith", (480, 510)),
        ("loss", (520, 330)),
        ("return-loss", (520, 330)),
        ("profile", (520, 330)),
    ] {
        assay(
            &folder,
            &format!("--picture {kind}.png --picture-of {kind}"),
        )
        .has_code(0);
        let bytes = std::fs::read(folder.join(format!("{kind}.png"))).unwrap();
        assert_eq!(bytes[..8], *b"\x89PNG\r\n\x1a\n", "{kind}");
        let number = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
        assert_eq!((number(16), number(20)), (3 * size.0, 3 * size.1), "{kind}");
    }
}
