//! What the API says of itself against what it does: every route is called, every answer is held
//! against its schema (OpenAPI 3.1: JSON Schema 2020-12, as far as the document uses it).

use axum::body::Body;
use axum::http::Method;
use axum::http::header::CONTENT_TYPE;
use serde_json::{Map, Value, json};

use crate::bench::{Answer, Bench, request};
use crate::bench_assay::{form, harbour, send_form};

/// What is wrong with `value` by `schema`; unknown keys are wrong too.
fn faults(document: &Value, schema: &Value, value: &Value, at: &str) -> Vec<String> {
    if let Some(reference) = schema["$ref"].as_str() {
        let target = document.pointer(&reference[1..]);
        return faults(
            document,
            target.unwrap_or_else(|| panic!("no {reference}")),
            value,
            at,
        );
    }
    for key in ["oneOf", "anyOf"] {
        if let Some(choices) = schema[key].as_array() {
            let fits = |s: &Value| faults(document, s, value, at).is_empty();
            return if choices.iter().any(fits) {
                vec![]
            } else {
                vec![format!("{at}: fits none of {key}: {value}")]
            };
        }
    }
    let mut found = Vec::new();
    if let Some(all) = schema["allOf"].as_array() {
        found.extend(all.iter().flat_map(|s| faults(document, s, value, at)));
    }
    if !is_of(&schema["type"], value) {
        found.push(format!("{at}: {value} is no {}", schema["type"]));
    }
    if let Some(words) = schema["enum"].as_array()
        && !words.contains(value)
    {
        found.push(format!("{at}: {value} is none of {words:?}"));
    }
    if let (Some(items), Some(list)) = (schema.get("items"), value.as_array()) {
        for (i, item) in list.iter().enumerate() {
            found.extend(faults(document, items, item, &format!("{at}/{i}")));
        }
    }
    if let (Some(properties), Some(object)) = (schema["properties"].as_object(), value.as_object())
    {
        found.extend(object_faults(document, schema, properties, object, at));
    }
    found
}

fn object_faults(
    document: &Value,
    schema: &Value,
    properties: &Map<String, Value>,
    object: &Map<String, Value>,
    at: &str,
) -> Vec<String> {
    let mut found = Vec::new();
    for name in schema["required"].as_array().into_iter().flatten() {
        if !object.contains_key(name.as_str().unwrap()) {
            found.push(format!("{at}: {name} is missing"));
        }
    }
    for (name, value) in object {
        match properties.get(name) {
            Some(schema) => found.extend(faults(document, schema, value, &format!("{at}/{name}"))),
            None => found.push(format!("{at}: `{name}` is not described")),
        }
    }
    found
}

fn is_of(kind: &Value, value: &Value) -> bool {
    match kind {
        Value::Null => true,
        Value::Array(kinds) => kinds.iter().any(|kind| is_of(kind, value)),
        kind => match kind.as_str().unwrap() {
            "object" => value.is_object(),
            "array" => value.is_array(),
            "string" => value.is_string(),
            "boolean" => value.is_boolean(),
            "integer" => value.is_u64() || value.is_i64(),
            "number" => value.is_number(),
            "null" => value.is_null(),
            other => panic!("unknown type {other}"),
        },
    }
}

#[test]
fn the_checker_sees_what_is_wrong() {
    let document = json!({"a": {"type": "object", "required": ["x"], "properties": {"x": {"type": "number"}}}});
    let schema = json!({"$ref": "#/a"});
    for (value, wanted) in [
        (json!({"x": 1.5}), 0),
        (json!({"x": "1.5"}), 1),
        (json!({}), 1),
        (json!({"x": 1, "y": 2}), 1),
        (json!([]), 1),
    ] {
        let got = faults(&document, &schema, &value, "");
        assert_eq!(got.len(), wanted, "{value}: {got:?}");
    }
}

/// The document, and which of its operations were called.
struct Checked {
    document: Value,
    called: Vec<String>,
}

impl Checked {
    /// Holds an answer against the document.
    #[track_caller]
    fn check(&mut self, method: &str, path: &str, answer: &Answer) -> Value {
        self.called.push(format!("{method} {path}"));
        let operation = &self.document["paths"][path][method];
        let status = answer.status.as_u16().to_string();
        let described = &operation["responses"][&status];
        assert!(
            described.is_object(),
            "{method} {path}: {status} is not described: {}",
            answer.text()
        );
        let Some(schema) = described.pointer("/content/application~1json/schema") else {
            return Value::Null;
        };
        let value = answer.json();
        let found = faults(&self.document, schema, &value, "");
        assert!(found.is_empty(), "{method} {path}: {found:#?}");
        value
    }
}

#[tokio::test]
async fn every_route_does_what_it_says() {
    let bench = Bench::new("openapi");
    let document = bench.get("/api/openapi.json").await.json();
    let mut api = Checked {
        document,
        called: Vec::new(),
    };
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
    questions(&bench, &mut api).await;
    sort(&bench, &mut api).await;

    for (path, methods) in api.document["paths"].as_object().unwrap() {
        for method in methods.as_object().unwrap().keys() {
            let operation = format!("{method} {path}");
            assert!(
                api.called.contains(&operation),
                "{operation} is not tried here"
            );
        }
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

async fn questions(bench: &Bench, api: &mut Checked) {
    let cases = [
        ("/api/plan", "length=12m", "length=12"),
        ("/api/readings", "quarter-wave-resistance=111ohm", "loss=x"),
        (
            "/api/use",
            "type=RG-213&frequency=145MHz&run=20m",
            "type=RG-213",
        ),
        ("/api/cut", "piece=fault&whole=20m&at=7.2m", "piece=set"),
        ("/api/types", "ohms=50", "ohms=x"),
        ("/api/identify", "seen-impedance=74.3", ""),
    ];
    for (path, good, bad) in cases {
        let answer = bench.get(&format!("{path}?{good}")).await;
        api.check("get", path, &answer.has_status(200));
        let answer = bench.get(&format!("{path}?{bad}")).await;
        api.check("get", path, &answer.has_status(422));
    }
    for (name, status) in [("RG-213", 200), ("none", 404)] {
        let answer = bench.get(&format!("/api/types/{name}")).await;
        api.check("get", "/api/types/{name}", &answer.has_status(status));
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
