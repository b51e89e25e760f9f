//! What the shelf answers, all of it, by the API and by its verb.

use lineproof_record::{NewAssay, NewFinding, NewSweep, Shelf};
use serde_json::json;

use super::Checked;
use crate::bench::Bench;
use crate::support::run;

const DATABASES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../testdata/databases");

/// Keeps the newest assay of a cable once more: as that of another cable, or of another day.
fn keep_again(shelf: &mut Shelf, from: &str, tag: &str, at: &str) {
    let newest = shelf.assays(from).unwrap().pop().unwrap();
    let mut kept = shelf.assay(&newest.id).unwrap();
    let finding = kept.findings.pop().unwrap();
    let sweeps = kept.sweeps.into_iter().map(|sweep| NewSweep {
        file_name: sweep.file_name,
        role: sweep.role,
        bytes: sweep.bytes,
    });
    let again = NewAssay {
        tag: tag.to_owned(),
        at: at.to_owned(),
        setup: kept.setup,
        sweeps: sweeps.collect(),
        finding: NewFinding {
            made_at: finding.made_at,
            program_version: finding.program_version,
            json: finding.json,
        },
    };
    shelf.shelve(&again).unwrap();
}

/// The cables of an older program: one with a third assay, so that its loss has a trend, and one in
/// whose place another cable was swept the second time.
async fn kept() -> Bench {
    let bench = Bench::new("openapi-shelf");
    std::fs::copy(format!("{DATABASES}/layout-1.db"), bench.shelf()).unwrap();
    let stairs = bench.post_form("/demo/stairs", "").await;
    let stairs = stairs.location().replace("/assay/", "/api/assays/");
    bench.get(&stairs).await.has_status(200);
    let keep = json!({"tag": "swapped", "measured_on": "2026-05-31"});
    let keep = bench.post_json(&format!("{stairs}/keep"), &keep).await;
    keep.has_status(200);
    let mut shelf = Shelf::open_or_make(bench.shelf()).unwrap();
    for tag in ["lamp-room-50", "swapped"] {
        keep_again(&mut shelf, "lamp-room-50", tag, "2027-05-31T12:00:00Z");
    }
    shelf
        .retire("harbour-75", "worn", "2027-06-01T12:00:00Z")
        .unwrap();
    bench
}

#[tokio::test]
async fn all_of_the_shelf_is_described() {
    let bench = kept().await;
    let mut api = Checked::of(&bench).await;
    let again = "/api/shelf/lamp-room-50/again";
    let again = bench.post_json(again, &json!({})).await.has_status(200);
    api.check("post", "/api/shelf/{tag}/{change}", &again);
    let file = bench.shelf().to_str().unwrap();
    let questions = [
        ("/api/shelf", "/api/shelf?all=yes", "list --all"),
        (
            "/api/shelf/{tag}",
            "/api/shelf/harbour-75",
            "show harbour-75",
        ),
        (
            "/api/shelf/{tag}",
            "/api/shelf/lamp-room-50",
            "show lamp-room-50",
        ),
    ];
    for (path, uri, line) in questions {
        let answer = api.check("get", path, &bench.get(uri).await.has_status(200));
        let words = ["shelf", "--shelf", file].into_iter();
        let arguments: Vec<&str> = words.chain(line.split(' ')).chain(["--json"]).collect();
        let printed = run(&arguments).has_code(0).json();
        assert_eq!(answer.to_string(), printed.to_string(), "{uri}");
    }
    let swapped = bench.get("/api/shelf/swapped").await.has_status(200);
    let swapped = api.check("get", "/api/shelf/{tag}", &swapped);
    let first = swapped["assays"][0]["id"].as_str().unwrap();
    for query in [
        "one=harbour-75&two=lamp-room-50".to_owned(),
        format!("one=swapped&two=swapped&assay={first}"),
    ] {
        let compared = bench.get(&format!("/api/compare?{query}")).await;
        api.check("get", "/api/compare", &compared.has_status(200));
    }
    let unseen = ["/api/shelf", "/api/shelf/{tag}", "/api/compare"].map(|path| api.unseen(path));
    // Findings have tests of their own; a comparison leaves checks out.
    let elsewhere = |at: &str| at.contains("/finding/") || at.ends_with("/off_rms");
    let unseen = unseen.into_iter().flatten().filter(|at| !elsewhere(at));
    assert_eq!(unseen.collect::<Vec<_>>(), Vec::<String>::new());
}
