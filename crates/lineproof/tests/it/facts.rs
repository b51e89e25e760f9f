//! The table of facts against everything that is made from it.

use std::path::Path;

use axum::http::Method;
use axum::http::header::CONTENT_TYPE;
use lineproof::facts::ends::{self, Asked};
use lineproof::facts::{Question, Row, Said, Setup, Shape, Word, table};
use serde_json::json;

use crate::bench::{Bench, request};
use crate::bench_assay::{form, harbour, send_form};
use crate::support::{run, run_in};

fn facts_of_an_assay() -> impl Iterator<Item = &'static dyn Row> {
    table::taken_by(Question::Assay)
}

/// Texts that say a fact: its examples, or each of its words.
fn texts(fact: &dyn Row) -> Vec<String> {
    let hint = fact.about().hint;
    match fact.shape() {
        Shape::Choice(_, choices) => choices.iter().map(|(word, _)| (*word).to_owned()).collect(),
        Shape::Flag | Shape::File => vec![hint.to_owned()],
        _ => hint.split(" or ").map(str::to_owned).collect(),
    }
}

#[test]
fn every_fact_has_its_words_and_examples_that_are_understood() {
    for fact in table::all() {
        let about = fact.about();
        assert!(!about.label.is_empty(), "{about:?}");
        assert!(
            !about.help.is_empty() && !about.help.ends_with('.'),
            "{about:?}"
        );
        assert!(!about.help.contains("--"), "{about:?}");
        let examples = texts(fact);
        assert!(!examples.iter().any(String::is_empty), "{about:?}");
        for text in examples {
            let read = fact.check(&Word::text(&text));
            assert_eq!(read, Ok(()), "{}: {text}", about.name);
        }
    }
}

#[test]
fn every_fact_is_an_option() {
    let help = run(&["assay", "--help"]).has_code(0).stdout;
    for fact in facts_of_an_assay() {
        let about = fact.about();
        let option = format!("--{}", about.option());
        let line = |line: &str| line.split_whitespace().next() == Some(&option);
        assert!(help.lines().any(line), "{option} in {help}");
        assert!(help.contains(about.group.heading()), "{about:?}");
    }
}

/// Questions that take facts, each with the verb that asks it.
const VERBS: [(Question, &[&str]); 21] = [
    (Question::Plan, &["plan"]),
    (Question::Use, &["use"]),
    (Question::Cable, &["use"]),
    (Question::Types, &["types"]),
    (Question::TypesListed, &["types"]),
    (Question::Sort, &["sort"]),
    (Question::Compare, &["compare"]),
    (Question::Correct, &["correct"]),
    (Question::Readings, &["readings"]),
    (Question::Network, &["network"]),
    (Question::Removal, &["remove-line"]),
    (Question::ShelfListed, &["shelf", "list"]),
    (Question::Label, &["label"]),
    (Question::Piece, &["cut", "half-wave"]),
    (Question::Transformer, &["cut", "transformer"]),
    (Question::Stub, &["cut", "stub"]),
    (Question::HalfWave, &["cut", "half-wave"]),
    (Question::Phasing, &["cut", "phasing"]),
    (Question::Delay, &["cut", "delay"]),
    (Question::Equal, &["cut", "set"]),
    (Question::FaultCut, &["cut", "fault"]),
];

#[test]
fn every_question_has_the_options_of_its_facts() {
    for (question, verb) in VERBS {
        let help = run(&[verb, &["--help"]].concat()).has_code(0).stdout;
        for fact in table::taken_by(question) {
            let about = fact.about();
            let option = format!("--{}", about.option_of(question));
            let line = |line: &str| line.split_whitespace().next() == Some(&option);
            assert!(help.lines().any(line), "{question:?}: {option} in {help}");
            assert!(help.contains(about.group.heading()), "{about:?}");
        }
    }
}

#[test]
fn no_two_facts_have_one_name() {
    let mut names: Vec<&str> = table::all().map(|fact| fact.about().name).collect();
    names.sort_unstable();
    for pair in names.windows(2) {
        assert_ne!(pair[0], pair[1]);
    }
}

#[tokio::test]
async fn every_fact_is_a_field_and_a_property() {
    let bench = Bench::new("facts");
    let page = bench.get("/").await.has_status(200).text();
    let document = bench.get("/api/openapi.json").await.json();
    let schema = &document["components"]["schemas"]["Facts"];
    assert_eq!(schema["additionalProperties"], false);
    for fact in facts_of_an_assay() {
        let about = fact.about();
        let name = format!("name=\"{}\"", about.name);
        assert!(page.contains(&name), "{name} in {page}");
        let label = about.label.replace('\'', "&#39;");
        assert!(
            page.contains(about.label) || page.contains(&label),
            "{label}"
        );
        let property = &schema["properties"][about.name];
        assert_eq!(property["type"], "string", "{}", about.name);
        let described = property["description"].as_str().unwrap();
        assert!(described.starts_with(about.help), "{described}");
    }
    let properties = schema["properties"].as_object().unwrap();
    let of_files = ["far_ends", "parts"];
    assert_eq!(
        properties.len(),
        facts_of_an_assay().count() + of_files.len()
    );
}

/// What a file can be has the same words wherever it is said.
#[tokio::test]
async fn every_thing_that_a_file_can_be_is_in_the_help_and_on_the_page() {
    let bench = Bench::new("facts-ends");
    let id = harbour(&bench).await["id"].clone();
    let path = format!("/assay/{}", id.as_str().unwrap());
    let page = bench.get(&path).await.has_status(200).text();
    let help = run(&["assay", "--help"]).has_code(0).stdout;
    let help: Vec<&str> = help.split_whitespace().collect();
    let help = help.join(" ");
    for end in &ends::ALL {
        assert!(help.contains(end.help), "{end:?} in {help}");
        let asked = format!("value=\"{}\"", end.name);
        let is_asked = page.contains(&asked) && page.contains(end.label);
        assert_eq!(is_asked, end.asked != Asked::Never, "{end:?}");
    }
}

#[test]
fn every_fact_comes_back_from_a_stored_setup_as_typed() {
    let said = facts_of_an_assay().fold(Said::default(), |said, fact| {
        said.with(fact, texts(fact)[0].as_str())
    });
    let setup = Setup::of(&said, &lineproof::workflow::plane::PlaneSaid::default());
    let stored = serde_json::to_value(&setup).unwrap();
    for fact in facts_of_an_assay() {
        let name = fact.about().name;
        assert_eq!(stored["said"][name], texts(fact)[0], "{name}");
    }
    let back: Setup = serde_json::from_value(stored).unwrap();
    assert_eq!(back, setup);
    let shown = back.facts();
    for fact in facts_of_an_assay() {
        let label = fact.about().label;
        assert!(shown.iter().any(|(name, _)| *name == label), "{label}");
    }
    assert!(back.request().is_ok());
}

/// What pages and the API lacked while they had lists of their own: the same files by page and command line.
#[tokio::test]
async fn what_a_file_does_not_say_is_said_on_the_page_too() {
    let bench = Bench::new("facts-reading");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("facts-reading");
    std::fs::create_dir_all(&folder).unwrap();
    let mut files = Vec::new();
    for name in ["open.s1p", "load.s1p"] {
        let examples = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/harbour-75");
        let text = std::fs::read_to_string(Path::new(examples).join(name)).unwrap();
        let silent = text.replace(OPTIONS, "");
        assert_ne!(silent, text);
        std::fs::write(folder.join(name), &silent).unwrap();
        files.push((name, silent.into_bytes()));
    }
    let said = [
        ("frequency_unit", "MHz"),
        ("pair_format", "ri"),
        ("reference_ohms", "50.2"),
        ("seen_capacitance_per_metre", "67pF"),
    ];
    let files: Vec<(&str, &[u8])> = files.iter().map(|(n, b)| (*n, &**b)).collect();
    let answer = send_form(&bench, "/api/assays", form(&files, &said)).await;
    let by_page = answer.has_status(200).json();
    let line = "assay open.s1p load.s1p --frequency-unit MHz --pair-format ri --reference-ohms 50.2 \
                --seen-capacitance-per-metre 67pF --json";
    let run = run_in(&folder, &line.split_whitespace().collect::<Vec<_>>());
    assert_eq!(by_page["finding"], run.has_code(0).json());
    let strict = [said[0], said[1], ("strict", "yes")];
    let answer = send_form(&bench, "/api/assays", form(&files, &strict)).await;
    let error = answer.has_status(200).json()["files"][0]["error"]["error"].clone();
    assert!(
        error
            .as_str()
            .unwrap()
            .contains("not allowed by the standard"),
        "{error}"
    );
}

/// Option line of the examples.
const OPTIONS: &str = "# MHZ S RI R 50\n";

/// An error is worded for the place where it is read.
#[tokio::test]
async fn no_option_is_named_on_a_page() {
    let bench = Bench::new("facts-words");
    let id = harbour(&bench).await["id"].clone();
    let path = format!("/api/assays/{}/facts", id.as_str().unwrap());
    let facts = json!({ "load_ohms": "100.1" });
    let mut put = request(Method::PUT, &path, facts.to_string().into());
    let json = "application/json".parse().unwrap();
    put.headers_mut().insert(CONTENT_TYPE, json);
    let refused = bench.send(put).await.has_status(200).json()["refused"].clone();
    assert_eq!(refused["fields"][0]["field"], "load_ohms", "{refused}");
    let help = refused["help"].as_str().unwrap();
    assert!(help.contains("“Other load at the far end”"), "{help}");
    assert!(!help.contains("--"), "{help}");
}
