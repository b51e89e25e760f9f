//! What the API says of itself against what it does: every route is called, every answer is held
//! against its schema, and questions that a verb answers too have the same answer there.

mod questions;
mod schema;
mod shelf;

use std::collections::{BTreeMap, BTreeSet};

use axum::body::Body;
use axum::http::Method;
use axum::http::header::CONTENT_TYPE;
use serde_json::{Value, json};

use crate::bench::{Answer, Bench, request};
use crate::bench_assay::{form, harbour, send_form};
use schema::{Schema, has_description};

/// The document, and what its operations answered.
struct Checked {
    document: Value,
    /// Answers with status 200 by operation.
    answers: BTreeMap<String, Vec<Value>>,
}

impl Checked {
    async fn of(bench: &Bench) -> Self {
        Self {
            document: bench.get("/api/openapi.json").await.json(),
            answers: BTreeMap::new(),
        }
    }

    /// Holds an answer against the document; gives what it says, of a stream the last event.
    #[track_caller]
    fn check(&mut self, method: &str, path: &str, answer: &Answer) -> Value {
        let operation = format!("{method} {path}");
        let status = answer.status.as_u16().to_string();
        let described = &self.document["paths"][path][method]["responses"][&status];
        assert!(
            described.is_object(),
            "{operation}: {status} is not described: {}",
            answer.text()
        );
        let answers = self.answers.entry(operation.clone()).or_default();
        if answer.body.is_empty() {
            return Value::Null;
        }
        let (kind, values) = said(answer);
        let schema = &described["content"][kind]["schema"];
        assert!(schema.is_object(), "{operation}: {kind} is not described");
        for value in &values {
            let found = Schema::new(&self.document, schema).faults(value, "");
            assert!(found.is_empty(), "{operation}: {found:#?}");
        }
        if status == "200" {
            answers.extend(values.iter().cloned());
        }
        values.last().cloned().unwrap_or_default()
    }

    /// The same of an answer that a verb printed.
    #[track_caller]
    fn check_printed(&mut self, path: &str, printed: Value) {
        let found = self.answer_of(path).faults(&printed, "");
        assert!(found.is_empty(), "{path}: {found:#?}");
        self.answers
            .get_mut(&format!("get {path}"))
            .unwrap()
            .push(printed);
    }

    /// What no answer of a `GET` has shown of its schema.
    fn unseen(&self, path: &str) -> Vec<String> {
        let answers = self.answers[&format!("get {path}")].iter();
        self.answer_of(path)
            .unseen(&answers.collect::<Vec<_>>(), path)
    }

    /// Schema of the answer to a `GET`.
    fn answer_of(&self, path: &str) -> Schema<'_> {
        let responses = &self.document["paths"][path]["get"]["responses"];
        Schema::new(&self.document, responses["200"].pointer(SCHEMA).unwrap())
    }
}

/// The kind of an answer, and the values that it is or, of a stream, its events are.
fn said(answer: &Answer) -> (&str, Vec<Value>) {
    let kind = answer.headers[CONTENT_TYPE].to_str().unwrap();
    if kind != "text/event-stream" {
        return (kind, vec![answer.json()]);
    }
    let text = answer.text();
    let data = text.lines().filter_map(|line| line.strip_prefix("data: "));
    let values = data.map(|data| serde_json::from_str(data).unwrap());
    (kind, values.collect())
}

/// The schema of a response that is JSON.
const SCHEMA: &str = "/content/application~1json/schema";

async fn document(name: &str) -> Value {
    Checked::of(&Bench::new(name)).await.document
}

/// All operations of the document: method, path, description.
fn operations(document: &Value) -> impl Iterator<Item = (&String, &String, &Value)> {
    let paths = document["paths"].as_object().unwrap();
    paths.iter().flat_map(|(path, methods)| {
        let methods = methods.as_object().unwrap().iter();
        methods.map(move |(method, operation)| (method, path, operation))
    })
}

#[tokio::test]
async fn nothing_that_is_sent_or_answered_is_left_open() {
    let document = document("openapi-open").await;
    let mut open = Vec::new();
    for (method, path, operation) in operations(&document) {
        let responses = operation["responses"].as_object().unwrap();
        for body in responses.values().chain(operation.get("requestBody")) {
            let contents = body["content"].as_object().into_iter().flatten();
            for (kind, content) in contents {
                let at = format!("{method} {path} {kind} ");
                open.extend(Schema::new(&document, &content["schema"]).gaps(&at));
            }
        }
        for parameter in operation["parameters"].as_array().into_iter().flatten() {
            let at = format!("{method} {path} {}", parameter["name"]);
            open.extend(Schema::new(&document, &parameter["schema"]).gaps(&at));
        }
    }
    assert!(open.is_empty(), "{open:#?}");
}

#[tokio::test]
async fn every_operation_and_parameter_is_explained() {
    let document = document("openapi-explained").await;
    let tags = document["tags"].as_array().unwrap();
    let explained = tags.iter().filter(|tag| has_description(tag));
    let explained: BTreeSet<&str> = explained.map(|tag| tag["name"].as_str().unwrap()).collect();
    let mut ids = BTreeSet::new();
    let mut wrong = Vec::new();
    for (method, path, operation) in operations(&document) {
        let mut say = |what: String| wrong.push(format!("{method} {path}: {what}"));
        if operation["summary"]
            .as_str()
            .is_none_or(|text| text.trim().is_empty())
        {
            say("no summary".to_owned());
        }
        let tagged = operation["tags"].as_array().into_iter().flatten();
        let tagged: Vec<&str> = tagged.map(|tag| tag.as_str().unwrap()).collect();
        if tagged.is_empty() || tagged.iter().any(|tag| !explained.contains(tag)) {
            say(format!(
                "tags {tagged:?}, of which {explained:?} are explained"
            ));
        }
        if !ids.insert(operation["operationId"].as_str().unwrap()) {
            say(format!("another one is {}, too", operation["operationId"]));
        }
        let parameters = operation["parameters"].as_array().into_iter().flatten();
        for parameter in parameters.filter(|p| !has_description(p)) {
            say(format!("{} is not explained", parameter["name"]));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[tokio::test]
async fn every_route_does_what_it_says() {
    let bench = Bench::new("openapi");
    let mut api = Checked::of(&bench).await;
    api.check("get", "/api/about", &bench.get("/api/about").await);
    let id = harbour(&bench).await["id"].as_str().unwrap().to_owned();
    let at = |rest: &str| format!("/api/assays/{id}{rest}");

    let broken = form(
        &[("a.s1p", b"# GHz S MA R 50\n1 x 0\n")],
        &[("length", "2")],
    );
    api.check(
        "post",
        "/api/assays",
        &send_form(&bench, "/api/assays", broken).await,
    );
    let stairs = bench
        .post_form("/demo/stairs", "")
        .await
        .location()
        .replace("/assay/", "/api/assays/");
    let done = api.check("get", "/api/assays/{id}", &bench.get(&stairs).await);
    assert_eq!(
        done["finding"]["events"][0]["kind"], "dent",
        "an event was checked too"
    );
    api.check("get", "/api/assays/{id}", &bench.get(&at("")).await);
    let nobody = "/api/assays/0123456789abcdef0123456789abcdef";
    api.check(
        "get",
        "/api/assays/{id}",
        &bench.get(nobody).await.has_status(404),
    );
    let mut put = request(
        Method::PUT,
        &at("/facts"),
        Body::from(r#"{"length":"2.4"}"#),
    );
    put.headers_mut()
        .insert(CONTENT_TYPE, "application/json".parse().unwrap());
    api.check("put", "/api/assays/{id}/facts", &bench.send(put).await);
    api.check(
        "get",
        "/api/assays/{id}/finding",
        &bench.get(&at("/finding")).await.has_status(422),
    );
    let mut put = request(
        Method::PUT,
        &at("/facts"),
        Body::from(r#"{"length":"2.4m","marked":"RG-59","frequencies":"1GHz"}"#),
    );
    put.headers_mut()
        .insert(CONTENT_TYPE, "application/json".parse().unwrap());
    api.check("put", "/api/assays/{id}/facts", &bench.send(put).await);
    let none = send_form(&bench, &at("/files"), form(&[], &[]))
        .await
        .has_status(422);
    api.check("post", "/api/assays/{id}/files", &none);
    api.check(
        "get",
        "/api/assays/{id}/finding",
        &bench.get(&at("/finding")).await.has_status(200),
    );
    api.check(
        "get",
        "/api/assays/{id}/charts",
        &bench.get(&at("/charts")).await.has_status(200),
    );
    api.check(
        "get",
        "/api/assays/{id}/progress",
        &bench.get(&at("/progress")).await.has_status(200),
    );
    let keep = bench.post_json(&at("/keep"), &json!({"tag": "a"})).await;
    api.check("post", "/api/assays/{id}/keep", &keep.has_status(200));
    let delete = request(Method::DELETE, &at("/run"), Body::empty());
    api.check(
        "delete",
        "/api/assays/{id}/run",
        &bench.send(delete).await.has_status(204),
    );

    shelf(&bench, &mut api).await;
    questions::questions(&bench, &mut api).await;
    sort(&bench, &mut api).await;

    for (method, path, _) in operations(&api.document) {
        let operation = format!("{method} {path}");
        assert!(
            api.answers.contains_key(&operation),
            "{operation} is not tried here"
        );
    }
}

/// The cable `a` is on the shelf.
async fn shelf(bench: &Bench, api: &mut Checked) {
    for (query, status) in [("", 200), ("?impedance=x", 422)] {
        let list = bench.get(&format!("/api/shelf{query}")).await;
        api.check("get", "/api/shelf", &list.has_status(status));
    }
    for (tag, status) in [("a", 200), ("none", 404)] {
        let one = bench.get(&format!("/api/shelf/{tag}")).await;
        api.check("get", "/api/shelf/{tag}", &one.has_status(status));
        let two = bench.get(&format!("/api/compare?one=a&two={tag}")).await;
        api.check("get", "/api/compare", &two.has_status(status));
        let labels = bench.get(&format!("/api/labels?cable={tag}")).await;
        api.check("get", "/api/labels", &labels.has_status(status));
        let said = json!({"text": "hangs in the lamp room"});
        let note = bench
            .post_json(&format!("/api/shelf/{tag}/note"), &said)
            .await;
        let path = "/api/shelf/{tag}/{change}";
        api.check("post", path, &note.has_status(status));
    }
}

async fn sort(bench: &Bench, api: &mut Checked) {
    let one = form(&[("a-open.s1p", b"# GHz S MA R 50\n1 x 0\n")], &[]);
    let begun = send_form(bench, "/api/sort", one).await.has_status(200);
    let begun = api.check("post", "/api/sort", &begun);
    let none = send_form(bench, "/api/sort", form(&[], &[])).await;
    api.check("post", "/api/sort", &none.has_status(422));
    for (id, status) in [(begun["id"].as_str().unwrap(), 200), ("none", 404)] {
        let path = format!("/api/sort/{id}");
        let more = form(&[("b-open.s1p", b"# GHz S MA R 50\n1 x 0\n")], &[]);
        let more = send_form(bench, &format!("{path}/files"), more).await;
        api.check("post", "/api/sort/{id}/files", &more.has_status(status));
        let events = bench.get(&format!("{path}/events")).await;
        api.check("get", "/api/sort/{id}/events", &events.has_status(status));
        let read = bench.get(&path).await.has_status(status);
        api.check("get", "/api/sort/{id}", &read);
        let named = json!({"cable": "a"});
        let open = bench.post_json(&format!("{path}/open"), &named).await;
        api.check("post", "/api/sort/{id}/open", &open.has_status(status));
        let cancel = bench.post_json(&format!("{path}/cancel"), &json!({})).await;
        api.check("post", "/api/sort/{id}/cancel", &cancel.has_status(status));
    }
}
