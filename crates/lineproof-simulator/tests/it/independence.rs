//! The simulator is a source of truth only while it shares no estimator or line theory with the
//! core. Allowed are what a sweep is, what ends a cable, and the physical constants.

use std::fs;
use std::path::Path;

const ALLOWED: [&str; 3] = ["sweep", "bench::FarEnd", "constants"];

#[test]
fn of_the_core_only_nouns_and_constants_are_used() {
    let sources = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut seen = 0;
    for entry in fs::read_dir(sources).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        for used in text.split("lineproof_core::").skip(1) {
            seen += 1;
            let allowed = ALLOWED.iter().any(|name| used.starts_with(name));
            let what = used.lines().next().unwrap_or_default();
            assert!(allowed, "{} uses lineproof_core::{what}", path.display());
        }
    }
    assert!(seen > 0, "no use of the core found: is the path right?");
}
