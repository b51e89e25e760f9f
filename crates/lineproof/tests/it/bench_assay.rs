//! Sweeps in, findings out: by the API, by the page, by forms without scripts.

use std::path::Path;
use std::process::Command;

use axum::body::Body;
use axum::http::Method;
use axum::http::header::{CONTENT_TYPE, COOKIE};
use serde_json::{Value, json};

use crate::bench::{Answer, Bench, request};
use crate::support::run_in;

/// The examples of the repository.
fn examples() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples")
}

fn example(name: &str) -> Vec<u8> {
    std::fs::read(examples().join(name)).unwrap()
}

const BOUNDARY: &str = "sweeps-of-one-cable";

/// A form of files and texts as browsers send it.
pub(crate) fn form(files: &[(&str, &[u8])], texts: &[(&str, &str)]) -> Vec<u8> {
    let mut body = Vec::new();
    for (name, bytes) in files {
        body.extend(format!(
            "--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"files\"; filename=\"{name}\"\r\n\r\n"
        ).bytes());
        body.extend(*bytes);
        body.extend(b"\r\n");
    }
    for (name, text) in texts {
        body.extend(
            format!(
                "--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{text}\r\n"
            )
            .bytes(),
        );
    }
    body.extend(format!("--{BOUNDARY}--\r\n").bytes());
    body
}

pub(crate) async fn send_form(bench: &Bench, path: &str, body: Vec<u8>) -> Answer {
    let mut post = request(Method::POST, path, Body::from(body));
    let kind = format!("multipart/form-data; boundary={BOUNDARY}");
    post.headers_mut()
        .insert(CONTENT_TYPE, kind.parse().unwrap());
    bench.send(post).await
}

/// The harbour cable with what its owner knows.
pub(crate) async fn harbour(bench: &Bench) -> Value {
    let (open, load) = (
        example("harbour-75/open.s1p"),
        example("harbour-75/load.s1p"),
    );
    let files: [(&str, &[u8]); 2] = [("open.s1p", &open), ("load.s1p", &load)];
    let known = [
        ("length", "2.4m"),
        ("load_ohms", "50,05"),
        ("marked_impedance", "75"),
    ];
    let answer = send_form(bench, "/api/assays", form(&files, &known)).await;
    answer.has_status(200).json()
}

/// The page of an assay, once it is over.
async fn done(bench: &Bench, page: &str) -> String {
    let api = page.replace("/assay/", "/api/assays/");
    bench.get(&api).await.has_status(200);
    bench.get(page).await.has_status(200).text()
}

/// The same kit, criteria and check by the page's form and by the command line.
#[tokio::test]
async fn kit_criteria_and_checks_come_as_files() {
    let bench = Bench::new("assay-kit");
    let (open, load) = (
        example("harbour-75/open.s1p"),
        example("harbour-75/load.s1p"),
    );
    let files: [(&str, &[u8]); 2] = [("open.s1p", &open), ("load.s1p", &load)];
    let kit = "[standards.open]\nkind = \"open\"\ncapacitance_f = 40e-15\n\
               [standards.short]\nkind = \"short\"\n\
               [standards.load]\nkind = \"load\"\nresistance_ohm = 50.05\n";
    let known = [
        ("length", "2.4m"),
        ("marked_impedance", "75"),
        ("kit", kit),
        ("criteria", "impedance_tolerance = 0.001"),
    ];
    let answer = send_form(&bench, "/api/assays", form(&files, &known)).await;
    let by_page = answer.has_status(200).json();
    let criterion = &by_page["finding"]["verdict"]["criteria"][0];
    assert_eq!(criterion["set"], true, "{criterion}");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("assay-kit");
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("kit.toml"), kit).unwrap();
    std::fs::write(folder.join("own.toml"), known[3].1).unwrap();
    for (name, bytes) in files {
        std::fs::write(folder.join(name), bytes).unwrap();
    }
    let line = "assay open.s1p load.s1p --length 2.4m --marked-impedance 75 --kit kit.toml \
                --criteria own.toml --json";
    let run = run_in(&folder, &line.split_whitespace().collect::<Vec<_>>()).has_code(0);
    let by_verb: Value = serde_json::from_str(&run.stdout).unwrap();
    for key in ["impedance", "delay", "verdict", "loss"] {
        assert_eq!(by_page["finding"][key], by_verb[key], "{key}");
    }
    let page = format!("/assay/{}", by_page["id"].as_str().unwrap());
    let page = bench.get(&page).await.has_status(200).text();
    assert!(page.contains("limit from your criteria file"), "{page}");
    // A check is no sweep of the cable.
    let known = [("far_ends", "open"), ("far_ends", "check-load")];
    let answer = send_form(&bench, "/api/assays", form(&files, &known)).await;
    let checked = answer.has_status(200).json();
    assert_eq!(checked["files"][1]["said"], "check-load");
    let sweeps = checked["finding"]["sweeps"].as_array();
    assert_eq!(
        sweeps.map_or(0, Vec::len),
        1,
        "{}",
        checked["finding"]["sweeps"]
    );
}

/// The page and the command line must not differ.
#[tokio::test]
async fn the_api_finds_what_the_command_line_finds() {
    let bench = Bench::new("same");
    let answer = harbour(&bench).await;
    let arguments = "assay harbour-75/open.s1p harbour-75/load.s1p --length 2.4m --load-ohms 50.05 --marked-impedance 75 --json";
    let arguments: Vec<&str> = arguments.split(' ').collect();
    let wanted = run_in(&examples(), &arguments).has_code(0).json();
    assert_eq!(answer["finding"], wanted);
    assert_eq!(answer["stage"], "done");
    assert_eq!(answer["files"][1]["taken_as"], "load");
    assert_eq!(answer["facts"]["load_ohms"], "50,05", "as typed");
}

#[tokio::test]
async fn a_wrong_file_is_named_with_its_line_and_the_rest_goes_on() {
    let bench = Bench::new("wrong");
    let open = example("harbour-75/open.s1p");
    let broken = b"# GHz S MA R 50\n1.2000 0.9412 -31\n1.2045 0.9412 -31.x2\n";
    let files: [(&str, &[u8]); 2] = [("open.s1p", &open), ("../short.s1p", broken)];
    let answer = send_form(&bench, "/api/assays", form(&files, &[]))
        .await
        .json();
    let error = &answer["files"][1]["error"];
    assert_eq!(answer["files"][1]["name"], "short.s1p", "a name is no path");
    assert_eq!(error["line"], 3);
    assert!(
        error["report"].as_str().unwrap().contains("-31.x2"),
        "{error}"
    );
    assert!(answer["finding"].is_object(), "{answer}");

    let page = bench
        .get(&format!("/assay/{}", answer["id"].as_str().unwrap()))
        .await
        .text();
    assert!(
        page.contains("short.s1p, line 3: expected a number"),
        "{page}"
    );
}

#[tokio::test]
async fn nothing_but_a_wrong_file_is_refused() {
    let bench = Bench::new("nothing");
    let answer = send_form(
        &bench,
        "/api/assays",
        form(&[("photo.png", b"\x89PNG\x00")], &[]),
    )
    .await;
    let answer = answer.has_status(200).json();
    assert_eq!(answer["stage"], "done");
    assert!(answer["finding"].is_null());
    assert!(
        answer["refused"]["error"]
            .as_str()
            .unwrap()
            .contains("sweep is left"),
        "{answer}"
    );
    assert!(answer["files"][0]["error"].is_object(), "{answer}");
    send_form(&bench, "/api/assays", form(&[], &[]))
        .await
        .has_status(422);
    send_form(
        &bench,
        "/api/assays",
        form(&[("a.s1p", b"x")], &[("colour", "red")]),
    )
    .await
    .has_status(422);
}

#[tokio::test]
async fn what_is_not_understood_is_said_at_its_field_and_kept() {
    let bench = Bench::new("field");
    let id = harbour(&bench).await["id"].as_str().unwrap().to_owned();
    let path = format!("/api/assays/{id}/facts");
    let put = |facts: Value| {
        let mut put = request(Method::PUT, &path, Body::from(facts.to_string()));
        put.headers_mut()
            .insert(CONTENT_TYPE, "application/json".parse().unwrap());
        bench.send(put)
    };
    let answer = put(json!({"length": "2.4", "marked": "RG-59"}))
        .await
        .json();
    assert_eq!(answer["stage"], "refused");
    assert_eq!(answer["refused"]["fields"][0]["field"], "length");
    let page = bench.get(&format!("/assay/{id}")).await.text();
    assert!(
        page.contains("value=\"2.4\"") && page.contains("value=\"RG-59\""),
        "{page}"
    );
    assert!(
        page.contains("aria-invalid=\"true\"") && page.contains("2.4ft"),
        "{page}"
    );
    let answer = put(json!({"length": "7ft10,5in"})).await.json();
    assert_eq!(answer["stage"], "done", "{answer}");
    let answer = put(json!({"far_ends": ["open", "leave-out"]})).await.json();
    assert_eq!(answer["finding"]["sweeps"].as_array().unwrap().len(), 1);
    assert_eq!(answer["finding"]["sweeps"][0]["guessed"], false);
    put(json!({"lenght": "2.4m"})).await.has_status(422);
}

#[tokio::test]
async fn more_sweeps_join_the_others() {
    let bench = Bench::new("more");
    let id = harbour(&bench).await["id"].as_str().unwrap().to_owned();
    let load = example("harbour-75/load.s1p");
    let body = form(&[("load.s1p", &load)], &[]);
    let answer = send_form(&bench, &format!("/api/assays/{id}/files"), body)
        .await
        .json();
    assert_eq!(answer["files"].as_array().unwrap().len(), 3);
    assert_eq!(answer["files"][2]["name"], "load (2).s1p");
    assert_eq!(answer["finding"]["sweeps"].as_array().unwrap().len(), 3);
    assert_eq!(answer["facts"]["length"], "2.4m", "what was known stays");
}

#[tokio::test]
async fn a_body_that_is_too_large_is_refused() {
    let bench = Bench::new("large");
    let large = vec![b'1'; 33 << 20];
    send_form(&bench, "/api/assays", form(&[("a.s1p", &large)], &[]))
        .await
        .has_status(413);
}

/// With two places, a third assay waits; it can be cancelled, and the others come to their end.
#[tokio::test(flavor = "multi_thread")]
async fn a_run_can_be_cancelled_and_taken_up_again() {
    let bench = Bench::new("cancel");
    let feeder = example("real-10m/10m_cable.s2p");
    let mut ids = Vec::new();
    for _ in 0..3 {
        let body = form(&[("feeder.s2p", &feeder)], &[]);
        let answer = send_form(&bench, "/api/assays?wait=false", body)
            .await
            .has_status(202);
        ids.push(answer.json()["id"].as_str().unwrap().to_owned());
    }
    let path = format!("/api/assays/{}", ids[2]);
    let delete = request(Method::DELETE, &format!("{path}/run"), Body::empty());
    bench.send(delete).await.has_status(204);
    let stream = bench.get(&format!("{path}/progress")).await.text();
    assert!(
        stream.contains("event: progress") && stream.contains("\"cancelled\""),
        "{stream}"
    );
    assert_eq!(bench.get(&path).await.json()["stage"], "cancelled");
    bench.get(&format!("{path}/finding")).await.has_status(409);
    let page = bench.get(&format!("/assay/{}", ids[2])).await.text();
    assert!(
        page.contains("Cancelled. The sweeps are still here."),
        "{page}"
    );
    let followed = bench
        .get(&format!("/api/assays/{}/progress", ids[0]))
        .await
        .text();
    assert!(
        followed.trim_end().ends_with('}') && followed.contains("\"done\""),
        "{followed}"
    );
    let mut put = request(Method::PUT, &format!("{path}/facts"), Body::from("{}"));
    put.headers_mut()
        .insert(CONTENT_TYPE, "application/json".parse().unwrap());
    assert_eq!(bench.send(put).await.json()["stage"], "done");
}

#[tokio::test(flavor = "multi_thread")]
async fn fifty_clients_at_once_are_all_answered() {
    let bench = Bench::new("fifty");
    let clients: Vec<_> = (0..50)
        .map(|_| {
            let bench = bench.clone();
            tokio::spawn(async move { harbour(&bench).await })
        })
        .collect();
    let mut findings = Vec::new();
    for client in clients {
        findings.push(client.await.unwrap()["finding"].clone());
    }
    assert!(findings[0]["impedance"].is_object());
    assert!(
        findings.iter().all(|f| *f == findings[0]),
        "same sweeps, same finding"
    );
}

#[tokio::test]
async fn the_first_page_explains_the_far_ends_and_offers_examples() {
    let bench = Bench::new("first");
    let page = bench.get("/").await.text();
    for wanted in [
        "Open",
        "Short",
        "Load",
        "Harbour receiver",
        "static charge",
        "Choose files",
    ] {
        assert!(
            page.to_lowercase().contains(&wanted.to_lowercase()),
            "{wanted} in {page}"
        );
    }
    bench.post_form("/demo/nothing", "").await.has_status(404);
}

#[tokio::test]
async fn the_page_of_an_example_says_all() {
    let bench = Bench::new("page");
    let to = bench
        .post_form("/demo/stairs", "")
        .await
        .has_status(303)
        .location()
        .to_owned();
    let page = done(&bench, &to).await;
    for wanted in [
        "Repair it: faulty, dented or kinked at 1.6",
        "data-condition=\"faulty\"",
        "data-event=\"0\"",
        "from the far end",
        "How do we know",
        "Safety",
        "<svg role=\"img\" aria-labelledby=\"smith-title smith-desc\"",
        "aria-labelledby=\"profile-title",
        "aria-labelledby=\"return-loss-title",
        "value=\"open\" checked",
        "guessed from data and name",
        "value=\"4.210m\"",
    ] {
        assert!(page.contains(wanted), "{wanted} in {page}");
    }
    assert!(!page.contains("(--"), "options say nothing on a page");
    let mut feet = request(Method::GET, &to, Body::empty());
    feet.headers_mut()
        .insert(COOKIE, "lineproof-units=feet".parse().unwrap());
    let page = bench.send(feet).await.text();
    // 4.208 m are 13.81 ft.
    assert!(page.contains("13.8") && page.contains("dB/100ft"), "{page}");
    let again = bench
        .get(&format!("{to}/part"))
        .await
        .has_status(200)
        .text();
    assert!(again.starts_with("<div id=\"sweeps\"") && again.contains("id=\"result\""));
    bench
        .get("/assay/0123456789abcdef0123456789abcdef")
        .await
        .has_status(404);
}

#[tokio::test]
async fn what_changes_of_a_page_waits_for_the_finding() {
    let bench = Bench::new("waits");
    let open = example("harbour-75/open.s1p");
    let files: [(&str, &[u8]); 1] = [("open.s1p", &open)];
    let not_understood = "data-not-understood=\"[{&quot;field&quot;:&quot;length&quot;";
    let cases = [("2.4m", "2.40 m, velocity factor"), ("2.4", not_understood)];
    for (length, wanted) in cases {
        let form = form(&files, &[("length", length)]);
        let begun = send_form(&bench, "/api/assays?wait=false", form).await;
        let id = begun.json()["id"].clone();
        let part = format!("/assay/{}/part?wait=true", id.as_str().unwrap());
        let part = bench.get(&part).await.has_status(200).text();
        assert!(part.contains(wanted), "{wanted} in {part}");
        assert!(!part.contains("data-stage=\"w"), "{part}");
    }
}

#[tokio::test]
async fn without_scripts_forms_do() {
    let bench = Bench::new("forms");
    let (open, load) = (
        example("harbour-75/open.s1p"),
        example("harbour-75/load.s1p"),
    );
    let files: [(&str, &[u8]); 2] = [("open.s1p", &open), ("load.s1p", &load)];
    let answer = send_form(&bench, "/assay", form(&files, &[("length", "2.4m")])).await;
    let to = answer.has_status(303).location().to_owned();
    let page = done(&bench, &to).await;
    assert!(page.contains("2.40 m, velocity factor"), "{page}");
    let said = [("far_end_1", "leave-out"), ("length", "2.5m")];
    let no_file: [(&str, &[u8]); 1] = [("", b"")];
    send_form(&bench, &to, form(&no_file, &said))
        .await
        .has_status(303);
    let page = done(&bench, &to).await;
    assert!(
        page.contains("2.50 m") && page.contains("value=\"leave-out\" checked"),
        "{page}"
    );
}

#[tokio::test]
async fn files_are_saved_under_their_names_only() {
    let bench = Bench::new("save");
    let answer = harbour(&bench).await;
    let to = format!("/assay/{}", answer["id"].as_str().unwrap());
    let file = async |name: &str| bench.get(&format!("{to}/{name}")).await.has_status(200);
    let json = file("finding.json").await;
    assert_eq!(json.json(), answer["finding"]);
    assert_eq!(
        json.headers["content-disposition"],
        "attachment; filename=\"finding.json\""
    );
    let csv = file("finding.csv").await.text();
    assert!(
        csv.starts_with("quantity,at_hz,at_m,value,u95,unit,note\r\nimpedance,100000000,,73.8"),
        "{csv}"
    );
    assert!(
        file("report.html")
            .await
            .text()
            .contains("<h1>Cable of open.s1p</h1>")
    );
    for picture in ["smith.svg", "profile.svg", "loss.svg", "return-loss.svg"] {
        assert!(file(picture).await.text().starts_with("<svg "), "{picture}");
    }
    bench
        .get(&format!("{to}/..%2f..%2fCargo.toml"))
        .await
        .has_status(404);
}

#[tokio::test]
async fn what_is_kept_is_on_the_shelf() {
    let bench = Bench::new("keep");
    let id = harbour(&bench).await["id"].as_str().unwrap().to_owned();
    let path = format!("/api/assays/{id}/keep");
    let kept = bench
        .post_json(
            &path,
            &json!({"tag": "mast-1", "measured_on": "2026-05-31"}),
        )
        .await;
    assert_eq!(
        kept.has_status(200).json(),
        json!({"tag": "mast-1", "new_cable": true})
    );
    let wrong = bench
        .post_json(&path, &json!({"tag": "mast-1", "measured_on": "last May"}))
        .await;
    assert_eq!(
        wrong.has_status(422).json()["fields"][0]["field"],
        "measured_on"
    );
    bench
        .post_json(&path, &json!({"tag": ""}))
        .await
        .has_status(422);
    let form = bench
        .post_form(&format!("/assay/{id}/keep"), "tag=mast+2%2Fb&measured_on=")
        .await;
    assert!(
        form.has_status(303)
            .location()
            .ends_with("?kept=mast%202%2Fb")
    );
    let list = Command::new(env!("CARGO_BIN_EXE_lineproof"))
        .args(["shelf", "list", "--json", "--shelf"])
        .arg(bench.shelf())
        .output()
        .unwrap();
    let list = String::from_utf8(list.stdout).unwrap();
    assert!(
        list.contains("mast-1") && list.contains("mast 2/b"),
        "{list}"
    );
}
