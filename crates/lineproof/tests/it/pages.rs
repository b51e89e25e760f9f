//! Pages and routes besides the assay: what a person or a program gets, without a socket.

use axum::body::Body;
use axum::http::Method;
use axum::http::header::COOKIE;
use lineproof_record::{NewAssay, NewFinding, NewSweep, Shelf};
use serde_json::{Value, json};

use crate::bench::{Bench, request};
use crate::bench_assay::{form, send_form};

const EXAMPLES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples");

/// A finding of an invented cable, as the program writes them.
fn finding(ohm: f64, condition: &str) -> String {
    json!({
        "schema": 1, "program_version": "0.1.0",
        "impedance": {"ohm": ohm, "u95_ohm": 0.2, "at_hz": 1e8, "limited_by": "load"},
        "delay": {"one_way_s": 1.2e-8, "u95_s": 2e-12, "at_hz": 3e8},
        "velocity_factor": {"ratio": 0.66, "u95": 0.002},
        "length": {"m": 2.4, "u95_m": 0.006, "basis": "tape"},
        "loss": [{"at_hz": 1e8, "db": 0.26, "u95_db": 0.002}, {"at_hz": 1e7, "db": 0.08, "u95_db": 0.002}],
        "condition": condition,
        "verdict": {"action": "keep", "reasons": ["it passes every criterion"], "criteria": []},
    })
    .to_string()
}

fn assay(tag: &str, at: &str, ohm: f64, condition: &str) -> NewAssay {
    let sweep = |name: &str, role: &str| NewSweep {
        file_name: format!("{name}.s1p"),
        role: role.to_owned(),
        bytes: std::fs::read(format!("{EXAMPLES}/harbour-75/{name}.s1p")).unwrap(),
    };
    NewAssay {
        tag: tag.to_owned(),
        at: at.to_owned(),
        setup: "{}".to_owned(),
        sweeps: vec![sweep("open", "open"), sweep("load", "load")],
        finding: NewFinding {
            made_at: at.to_owned(),
            program_version: "0.1.0".to_owned(),
            json: finding(ohm, condition),
        },
    }
}

/// A bench with three cables on its shelf, one of them assayed twice.
fn kept(name: &str) -> Bench {
    let bench = Bench::new(name);
    let mut shelf = Shelf::open_or_make(bench.shelf()).unwrap();
    let assays = [
        assay("lamp 1/a", "2025-05-02T12:00:00Z", 50.1, "sound"),
        assay("mast-2", "2025-05-02T12:00:00Z", 74.9, "faulty"),
        assay("harbour", "2024-05-02T12:00:00Z", 74.0, "sound"),
        assay("harbour", "2025-05-02T12:00:00Z", 73.0, "sound"),
    ];
    shelf.shelve_all(&assays).unwrap();
    bench
}

/// Where each of some words stands in a page, in their order.
#[track_caller]
fn in_order(page: &str, words: &[&str]) {
    let mut from = 0;
    for word in words {
        let at = page[from..].find(word);
        from += at.unwrap_or_else(|| panic!("`{word}` is not after byte {from} of {page}"));
    }
}

#[tokio::test]
async fn an_empty_shelf_says_what_to_do() {
    let bench = Bench::new("pages-empty");
    let page = bench.get("/shelf").await.has_status(200).text();
    assert!(page.contains("The shelf is empty"), "{page}");
    bench.get("/shelf/none").await.has_status(404);
    assert_eq!(bench.get("/api/shelf").await.json()["cables"], json!([]));
}

#[tokio::test]
async fn the_shelf_is_searched_filtered_and_sorted() {
    let bench = kept("pages-shelf");
    let page = bench.get("/shelf").await.has_status(200).text();
    in_order(&page, &[">harbour</a>", ">lamp 1/a</a>", ">mast-2</a>"]);
    assert!(page.contains("href=\"/shelf/lamp%201%2Fa\""), "{page}");
    let page = bench.get("/shelf?by=condition").await.text();
    in_order(
        &page,
        &["aria-sort=\"ascending\"", ">mast-2</a>", ">lamp 1/a</a>"],
    );
    let page = bench.get("/shelf?by=impedance&order=falling").await.text();
    in_order(&page, &[">mast-2</a>", ">harbour</a>", ">lamp 1/a</a>"]);
    let page = bench.get("/shelf?text=LAMP").await.text();
    assert!(
        page.contains("1 cable<") && !page.contains("mast-2"),
        "{page}"
    );
    let page = bench.get("/shelf?impedance=49,9").await.text();
    assert!(
        page.contains("lamp 1/a") && !page.contains("mast-2"),
        "{page}"
    );
    let wrong = bench.get("/shelf?impedance=fifty").await.text();
    in_order(
        &wrong,
        &[
            "value=\"fifty\"",
            "aria-invalid=\"true\"",
            "id=\"impedance-error\"",
        ],
    );
    let said = bench.get("/api/shelf?condition=faulty").await.json();
    assert_eq!(said["cables"][0]["tag"], "mast-2");
    let refused = bench
        .get("/api/shelf?impedance=fifty")
        .await
        .has_status(422);
    assert_eq!(refused.json()["fields"][0]["field"], "impedance");
}

#[tokio::test]
async fn labels_of_ticked_cables_stand_on_one_sheet() {
    let bench = kept("pages-labels");
    let two = "cable=harbour&cable=lamp%201%2Fa";
    let page = bench.get(&format!("/labels?{two}&skip=2")).await;
    let page = page.has_status(200).text();
    in_order(
        &page,
        &["2 labels on 1 sheet", "<svg", "harbour", "lamp 1/a"],
    );
    let print = bench
        .get(&format!("/labels/print?{two}&single=62x29mm"))
        .await;
    let print = print.has_status(200).text();
    in_order(
        &print,
        &["size: 62mm 29mm", "<svg", "harbour", "<svg", "lamp 1/a"],
    );
    let small = bench.get(&format!("/labels?{two}&single=9x9mm")).await;
    let small = small.has_status(422).text();
    assert!(small.contains("choose larger labels"), "{small}");
    let skipped = bench.get(&format!("/labels?{two}&skip=99")).await;
    assert!(skipped.has_status(422).text().contains("skip-error"));
    bench.get("/labels?cable=none").await.has_status(404);
    let said = bench
        .get("/api/labels?all=yes")
        .await
        .has_status(200)
        .json();
    assert_eq!(said["sheets"].as_array().unwrap().len(), 1);
}

#[tokio::test]
async fn one_cable_shows_its_finding_and_what_changed() {
    let bench = kept("pages-cable");
    let page = bench.get("/shelf/harbour").await.has_status(200).text();
    in_order(
        &page,
        &[
            "Cable harbour",
            "73.0 ohm coaxial cable, 2.400 m",
            "<svg",
            "Assays, oldest first",
            "impedance down by 1.00 ± 0.28 ohm",
        ],
    );
    let report = bench
        .get("/shelf/harbour/report")
        .await
        .has_status(200)
        .text();
    assert!(report.contains("<h1>Cable harbour</h1>"), "{report}");
    assert!(page.contains("/labels?cable=harbour"), "{page}");
    let said = bench
        .get("/api/shelf/lamp%201%2Fa")
        .await
        .has_status(200)
        .json();
    assert_eq!(said["tag"], "lamp 1/a");
}

#[tokio::test]
async fn the_record_grows_by_forms_alone() {
    let bench = kept("pages-record");
    let cases = [
        (
            "note",
            "text=hangs+in+the+lamp+room",
            "hangs in the lamp room",
        ),
        (
            "decide",
            "action=keep&why=good+to+430+MHz",
            "keep: good to 430 MHz",
        ),
        ("retire", "why=crushed", "Retired"),
        ("take-back", "", "in use again"),
    ];
    for (change, body, wanted) in cases {
        let path = format!("/shelf/mast-2/{change}");
        bench.get(&path).await.has_status(405);
        let answer = bench.post_form(&path, body).await.has_status(303);
        let page = bench.get(answer.location()).await.has_status(200).text();
        assert!(page.contains(wanted), "{change}: {page}");
    }
    let edited = "new_tag=mast+%26+2&description=feeder&place=roof";
    let answer = bench
        .post_form("/shelf/mast-2/edit", edited)
        .await
        .has_status(303);
    assert_eq!(answer.location(), "/shelf/mast%20%26%202?done=edit");
    let page = bench
        .get("/shelf/mast%20%26%202")
        .await
        .has_status(200)
        .text();
    assert!(page.contains("feeder, roof"), "{page}");
}

#[tokio::test]
async fn a_refused_change_keeps_what_was_typed() {
    let bench = kept("pages-refused");
    let taken = "new_tag=HARBOUR&description=a+%3Cb%3E&place=";
    let page = bench
        .post_form("/shelf/mast-2/edit", taken)
        .await
        .has_status(409)
        .text();
    in_order(
        &page,
        &[
            "role=\"alert\"",
            "value=\"HARBOUR\"",
            "value=\"a &lt;b&gt;\"",
        ],
    );
    bench
        .post_form("/shelf/mast-2/note", "text=+")
        .await
        .has_status(422);
    bench
        .post_form("/shelf/none/note", "text=x")
        .await
        .has_status(404);
    let answer = bench
        .post_json("/api/shelf/mast-2/decide", &json!({"action": "repair"}))
        .await;
    assert_eq!(answer.has_status(200).json()["tag"], "mast-2");
}

/// The kept sweeps are those of an example; today's program finds its delay, not the invented 12 ns.
#[tokio::test]
async fn assaying_again_keeps_both_findings() {
    let bench = kept("pages-again");
    let changed = bench
        .post_json("/api/shelf/mast-2/again", &json!({}))
        .await
        .has_status(200)
        .json();
    let first = changed["differences"][0].as_str().unwrap();
    assert!(first.starts_with("delay longer by 0.335"), "{changed}");
    let said = bench.get("/api/shelf/mast-2").await.json();
    assert_eq!(said["assays"][0]["findings"], 2);
    let delay = &said["assays"][0]["finding"]["delay"]["one_way_s"];
    assert!(
        (delay.as_f64().unwrap() - 12.335e-9).abs() < 5e-12,
        "{said}"
    );
}

#[tokio::test]
async fn two_are_compared_side_by_side() {
    let bench = kept("pages-compare");
    let page = bench
        .get("/compare?cable=lamp+1/a&cable=mast-2")
        .await
        .has_status(200)
        .text();
    in_order(
        &page,
        &[
            "impedance up by 24.80 ± 0.28 ohm",
            "Side by side",
            "differs",
        ],
    );
    let cable = bench.get("/api/shelf/harbour").await.json();
    let first = cable["assays"][0]["id"].as_str().unwrap();
    let query = format!("one=harbour&assay={first}&two=harbour");
    let said = bench
        .get(&format!("/api/compare?{query}"))
        .await
        .has_status(200)
        .json();
    assert_eq!(said["differences"][0]["quantity"], "impedance");
    // The sweeps of both are the same files.
    assert_eq!(said["sweeps"]["changed"], Value::Bool(false), "{said}");
    let page = bench
        .get(&format!("/compare?{query}"))
        .await
        .has_status(200)
        .text();
    assert!(page.contains("Judged from the sweeps"), "{page}");
    let page = bench.get("/compare?one=harbour&two=none").await.text();
    in_order(&page, &["value=\"harbour\"", "role=\"alert\""]);
}

#[tokio::test]
async fn a_plan_follows_what_is_typed() {
    let bench = Bench::new("pages-plan");
    let page = bench.get("/plan").await.has_status(200).text();
    assert!(!page.contains("Settings"), "{page}");
    let page = bench
        .get("/plan?length=2,4m&frequency=7,1MHz;%20145MHz")
        .await;
    in_order(
        &page.has_status(200).text(),
        &["value=\"2,4m\"", "Settings", "Why", "Safety"],
    );
    let said = bench
        .get("/api/plan?length=2.4m&points=201")
        .await
        .has_status(200)
        .json();
    assert!(
        said["sweeps"][0]["points"].as_u64().unwrap() <= 201,
        "{said}"
    );
    for (query, field) in [
        ("length=12", "length"),
        ("points=401", "length"),
        ("length=1m&points=x", "points"),
    ] {
        let page = bench
            .get(&format!("/plan?{query}"))
            .await
            .has_status(422)
            .text();
        assert!(
            page.contains(&format!("id=\"{field}-error\"")),
            "{query}: {page}"
        );
        let said = bench
            .get(&format!("/api/plan?{query}"))
            .await
            .has_status(422)
            .json();
        assert_eq!(said["fields"][0]["field"], field, "{query}");
    }
    let both = bench
        .get("/plan?length=1m&dielectric=ptfe&velocity-factor=0.7")
        .await;
    assert!(both.has_status(422).text().contains("exclude each other"));
}

/// Geometric mean at the quarter wave: sqrt(111 × 50) = 74.5 ohm (closed form).
#[tokio::test]
async fn readings_answer_with_their_arithmetic() {
    let bench = Bench::new("pages-readings");
    let query = "quarter-wave-resistance=111ohm&load=50,0ohm";
    let page = bench
        .get(&format!("/readings?{query}"))
        .await
        .has_status(200)
        .text();
    in_order(
        &page,
        &[
            "value=\"50,0ohm\"",
            "quarter wave",
            "sqrt(111.00 ohm × 50.000 ohm) = 74.498 ohm",
        ],
    );
    let said = bench
        .get(&format!("/api/readings?{query}"))
        .await
        .has_status(200)
        .json();
    let ohm = said["impedance"]["ohm"].as_f64().unwrap();
    assert!((ohm - 74.5).abs() < 1.0, "{ohm}");
    let page = bench
        .get("/readings?open-impedance=0.9-j75.3ohm")
        .await
        .has_status(422)
        .text();
    assert!(page.contains("is needed"), "{page}");
}

/// A run of a catalogue type, and the same for a cable of the shelf by its newest finding.
#[tokio::test]
async fn a_use_is_judged_with_its_bands() {
    let bench = kept("pages-use");
    let use_of = "frequency=145MHz&run=20m&power=50W&swr=2";
    let page = bench
        .get(&format!("/use?type=RG-213&{use_of}"))
        .await
        .has_status(200)
        .text();
    in_order(
        &page,
        &[
            "value=\"RG-213\"",
            "20 m of RG-213/U at 145 MHz, 50.0 W, VSWR 2 at the load: fit.",
            "Voltage, current, heat",
            "on other bands",
            "Safety",
        ],
    );
    let said = bench
        .get(&format!("/api/use?tag=harbour&{use_of}"))
        .await
        .has_status(200)
        .json();
    assert_eq!(said["cable"], "cable harbour");
    assert_eq!(said["impedance"]["ohm"], 73.0);
    let cases = [
        ("frequency=145MHz", "type"),
        ("type=RG-213&tag=harbour&frequency=145MHz", "tag"),
        ("type=RG-999&frequency=145MHz", "type"),
        ("tag=none&frequency=145MHz", "tag"),
        ("type=RG-213&frequency=145", "frequency"),
        ("type=RG-213&frequency=145MHz&duty=0.5&mode=ssb", "mode"),
    ];
    for (query, field) in cases {
        let refused = bench.get(&format!("/api/use?{query}")).await;
        assert_eq!(
            refused.json()["fields"][0]["field"],
            field,
            "{query}: {}",
            refused.text()
        );
    }
    let page = bench
        .get("/use?type=RG-213&frequency=145MHz")
        .await
        .has_status(422)
        .text();
    assert!(page.contains("give the length of the run"), "{page}");
    let named = bench.get("/use?tag=harbour").await.has_status(200).text();
    in_order(&named, &["value=\"harbour\"", "Start with a cable"]);
}

/// A quarter wave is c·VF/4f: 3.51 m at 14.1 MHz for a velocity factor of 0.66 (closed form).
#[tokio::test]
async fn every_kind_of_piece_is_cut() {
    let bench = Bench::new("pages-cut");
    let cases = [
        (
            "transformer",
            "type=RG-59B/U&frequency=14,1MHz&from=50&to=100",
            "would match exactly",
        ),
        (
            "stub",
            "type=RG-213&frequency=7.1MHz&end=short&notch=yes",
            "Shorted notch stub",
        ),
        (
            "stub",
            "type=RG-213&frequency=145MHz&end=open&match=60-j80ohm",
            "from the load",
        ),
        (
            "half-wave",
            "type=RG-213&frequency=50MHz&count=2",
            "2 half waves",
        ),
        (
            "phasing",
            "type=RG-213&frequency=7.05MHz&angle=84,5deg",
            "Phasing line of 84.5",
        ),
        (
            "delay",
            "type=RG-58C/U&frequency=100MHz&delay=25ns",
            "25.000 ns with its plugs",
        ),
        (
            "set",
            "type=RG-58C/U&frequency=100MHz&delays=50,2ns;51,0ns",
            "leave it: it is the shortest",
        ),
        ("fault", "whole=20m&at=7.2m&span=30cm", "from the near end"),
    ];
    for (piece, query, wanted) in cases {
        let page = bench
            .get(&format!("/cut?piece={piece}&{query}"))
            .await
            .has_status(200)
            .text();
        assert!(page.contains(wanted), "{piece}: {page}");
    }
    let quarter = "piece=transformer&type=RG-59B/U&frequency=14.1MHz&from=50&to=100";
    let said = bench
        .get(&format!("/api/cut?{quarter}"))
        .await
        .has_status(200)
        .json();
    let length = said["pieces"][0]["length_m"].as_f64().unwrap();
    assert!(
        (length - 299_792_458.0 * 0.66 / 4.0 / 14.1e6).abs() < 0.05,
        "{length}"
    );
    let page = bench
        .get("/cut?piece=stub&type=RG-213&frequency=7MHz&end=open")
        .await;
    assert!(
        page.has_status(422)
            .text()
            .contains("one of “Notch at this frequency”")
    );
    let fault = bench
        .get("/cut?piece=fault&whole=20m")
        .await
        .has_status(422)
        .text();
    assert!(fault.contains("id=\"at-error\""), "{fault}");
}

#[tokio::test]
async fn types_are_narrowed_shown_and_recognised() {
    let bench = Bench::new("pages-types");
    let page = bench
        .get("/types?ohms=75&most-diameter=7mm")
        .await
        .has_status(200)
        .text();
    assert!(
        page.contains(">RG-59B/U</a>") && !page.contains(">RG-213"),
        "{page}"
    );
    let page = bench.get("/type/RG-59B%2FU").await.has_status(200).text();
    in_order(
        &page,
        &[
            "<h1>RG-59B/U</h1>",
            "Figures, each with its source",
            "<svg",
            "Sources",
        ],
    );
    bench.get("/type/none").await.has_status(404);
    let seen = "seen-impedance=74,3&seen-velocity-factor=0,66&seen-diameter=6.1mm";
    let page = bench
        .get(&format!("/types/seen?{seen}"))
        .await
        .has_status(200)
        .text();
    in_order(&page, &["Most likely RG-59", "Possible types", " %"]);
    let said = bench
        .get(&format!("/api/identify?{seen}"))
        .await
        .has_status(200)
        .json();
    assert!(
        said["types"][0]["probability"].as_f64().unwrap() > 0.1,
        "{said}"
    );
    bench.get("/api/identify").await.has_status(422);
    let one = bench.get("/api/types/RG-213").await.has_status(200).json();
    assert_eq!(one["types"][0]["impedance_ohm"]["value"], 50.0);
}

#[tokio::test]
async fn lengths_come_in_feet_for_who_likes_them() {
    let bench = Bench::new("pages-feet");
    let query = "/cut?piece=fault&whole=20m&at=7.2m";
    let mut in_feet = request(Method::GET, query, Body::empty());
    let cookie = "lineproof-units=feet".parse().unwrap();
    in_feet.headers_mut().insert(COOKIE, cookie);
    let page = bench.send(in_feet).await.has_status(200).text();
    assert!(page.contains(" ft ") && page.contains(" in"), "{page}");
}

/// Nothing that is typed can name a file or another option.
#[tokio::test]
async fn fields_are_no_command_line() {
    let bench = Bench::new("pages-options");
    for query in [
        "length=12m&json=yes",
        "length=12m&own=/etc/passwd",
        "length=12m&--json=",
    ] {
        let page = bench
            .get(&format!("/plan?{query}"))
            .await
            .has_status(200)
            .text();
        assert!(page.contains("Settings"), "{query}");
    }
    bench
        .get("/plan?length=12m&points=%20--json")
        .await
        .has_status(422);
}

#[tokio::test]
async fn the_description_has_the_fields_of_the_forms() {
    let bench = Bench::new("pages-described");
    let document = bench.get("/api/openapi.json").await.json();
    let parameters = document["paths"]["/api/plan"]["get"]["parameters"]
        .as_array()
        .unwrap();
    let named = |name: &str| parameters.iter().find(|p| p["name"] == name).unwrap();
    assert_eq!(named("length")["required"], true);
    assert_eq!(named("points")["required"], false);
    let choices = &named("dielectric")["schema"]["enum"];
    assert!(
        choices.as_array().unwrap().contains(&json!("solid-pe")),
        "{choices}"
    );
    assert!(document["paths"]["/api/shelf/{tag}/{change}"]["post"].is_object());
}

/// Three cables by their names, one of them of another impedance, one file that is no sweep, one broken.
fn box_of_cables() -> Vec<u8> {
    let read = |path: &str| std::fs::read(format!("{EXAMPLES}/{path}")).unwrap();
    let [open, load] = ["open", "load"].map(|end| read(&format!("harbour-75/{end}.s1p")));
    let [lamp_open, lamp_load] =
        ["open", "load"].map(|end| read(&format!("lamp-room-50/{end}.s1p")));
    let files: [(&str, &[u8]); 6] = [
        ("../../box/mast1-open.s1p", &open),
        ("../../box/mast1-load.s1p", &load),
        ("lamp/open.s1p", &lamp_open),
        ("lamp/load.s1p", &lamp_load),
        ("broken-open.s1p", b"# GHz S MA R 50\n1 x 0\n"),
        ("photo.jpg", b"no sweep"),
    ];
    form(&files, &[("impedance", "50"), ("load-ohms", "50,05")])
}

/// Waits until a box is over by reading its events to their end.
async fn over(bench: &Bench, id: &str) -> String {
    bench
        .get(&format!("/api/sort/{id}/events"))
        .await
        .has_status(200)
        .text()
}

#[tokio::test]
async fn a_box_is_sorted_worst_first() {
    let bench = Bench::new("pages-sort");
    let begun = send_form(&bench, "/sort", box_of_cables())
        .await
        .has_status(303);
    let address = begun.location().to_owned();
    let id = address.strip_prefix("/sort/").unwrap();
    let events = over(&bench, id).await;
    assert!(
        events.contains(r#"{"done":3,"of":3,"over":true,"cancelled":false}"#),
        "{events}"
    );
    let page = bench.get(&address).await.has_status(200).text();
    in_order(
        &page,
        &[
            "Box of 3 cables",
            "1 undetermined, 1 other impedance, 1 good",
            ">broken</button>",
            ">mast1</button>",
            ">lamp</button>",
            "line 2",
            "1 file was skipped",
        ],
    );
    let csv = bench
        .get(&format!("{address}/cables.csv"))
        .await
        .has_status(200)
        .text();
    assert!(
        csv.starts_with("cable,grade,why,") && csv.contains("\nmast1,other impedance,"),
        "{csv}"
    );
    let said = bench.get(&format!("/api/sort/{id}")).await.json();
    assert_eq!(said["table"]["cables"][1]["cable"], "mast1");
    let open = format!("{address}/open");
    let opened = bench.post_form(&open, "cable=mast1").await;
    let assay = opened.has_status(303).location().to_owned();
    let said = bench.get(&assay.replace("/assay/", "/api/assays/")).await;
    let said = said.has_status(200).json();
    assert_eq!(said["files"].as_array().unwrap().len(), 2);
    assert_eq!(said["facts"]["system_impedance"], "50");
    let page = bench.get(&assay).await.has_status(200).text();
    in_order(&page, &["id=\"keep-tag\"", "value=\"mast1\""]);
    let none = bench.post_form(&open, "cable=mast9").await;
    none.has_status(404);
}

#[tokio::test]
async fn a_box_without_sweeps_is_refused_and_keeps_the_fields() {
    let bench = Bench::new("pages-sort-none");
    let body = form(&[("photo.jpg", b"x")], &[("impedance", "75")]);
    let page = send_form(&bench, "/sort", body)
        .await
        .has_status(422)
        .text();
    in_order(&page, &["no sweeps found", "value=\"75\""]);
    let body = form(&[("a.s1p", b"x")], &[("impedance", "fifty")]);
    let page = send_form(&bench, "/sort", body)
        .await
        .has_status(422)
        .text();
    in_order(&page, &["value=\"fifty\"", "id=\"impedance-error\""]);
    bench.get("/sort/none").await.has_status(404);
}

/// What is done stays; what was begun is broken off, and what waits is not begun.
#[tokio::test]
async fn a_box_that_is_stopped_keeps_what_is_done() {
    let bench = Bench::new("pages-sort-stop");
    let open = std::fs::read(format!("{EXAMPLES}/harbour-75/open.s1p")).unwrap();
    let names: Vec<String> = (0..60).map(|i| format!("cable{i}-open.s1p")).collect();
    let files: Vec<(&str, &[u8])> = names.iter().map(|n| (n.as_str(), &*open)).collect();
    let begun = send_form(&bench, "/api/sort", form(&files, &[]))
        .await
        .has_status(200)
        .json();
    let id = begun["id"].as_str().unwrap();
    assert_eq!(begun["progress"]["of"], 60);
    bench
        .post_form(&format!("/sort/{id}/cancel"), "")
        .await
        .has_status(303);
    let events = over(&bench, id).await;
    assert!(
        events.contains(r#""over":true,"cancelled":true"#),
        "{events}"
    );
    let page = bench
        .get(&format!("/sort/{id}"))
        .await
        .has_status(200)
        .text();
    assert!(
        page.contains("of 60 cables. What was done stands below."),
        "{page}"
    );
}

/// Files as they arrive in a folder that is watched: the second sweep of a cable finds it anew.
#[tokio::test]
async fn a_box_grows_as_its_files_arrive() {
    let bench = Bench::new("pages-sort-grows");
    let read = |end: &str| std::fs::read(format!("{EXAMPLES}/harbour-75/{end}.s1p")).unwrap();
    let empty = form(&[], &[("watched", "yes"), ("impedance", "75")]);
    let begun = send_form(&bench, "/api/sort", empty).await.has_status(200);
    let begun = begun.json();
    let id = begun["id"].as_str().unwrap();
    assert_eq!(begun["progress"]["over"], true, "nothing is there yet");
    let page = bench.get(&format!("/sort/{id}")).await.has_status(200);
    in_order(&page.text(), &["Box of 0 cables", "Watching the folder"]);
    let add = async |name: &str, bytes: &[u8]| {
        let path = format!("/api/sort/{id}/files");
        let added = send_form(&bench, &path, form(&[(name, bytes)], &[])).await;
        added.has_status(200);
        over(&bench, id).await;
        let said = bench.get(&format!("/api/sort/{id}")).await.json();
        let rows = said["table"]["cables"].as_array().unwrap().iter();
        let row = |row: &serde_json::Value| (row["cable"].to_string(), row["sweeps"].to_string());
        rows.map(row).collect::<Vec<_>>()
    };
    let wanted = |rows: &[(&str, &str)]| {
        let rows = rows.iter();
        rows.map(|(cable, sweeps)| (format!("\"{cable}\""), (*sweeps).to_owned()))
            .collect::<Vec<_>>()
    };
    let open = add("card/m1-open.s1p", &read("open")).await;
    assert_eq!(open, wanted(&[("m1", "1")]));
    let both = add("card/m1-load.s1p", &read("load")).await;
    assert_eq!(both, wanted(&[("m1", "2")]));
    let broken = add("card/m2-open.s1p", b"# GHz S MA R 50\n1 x 0\n").await;
    assert_eq!(broken, wanted(&[("m2", "0"), ("m1", "2")]));
    let stop = bench.post_form(&format!("/sort/{id}/cancel"), "").await;
    stop.has_status(303);
    let late = form(&[("card/m3-open.s1p", &read("open"))], &[]);
    let late = send_form(&bench, &format!("/api/sort/{id}/files"), late).await;
    assert!(late.has_status(409).text().contains("was stopped"));
}
