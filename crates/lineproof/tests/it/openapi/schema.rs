//! Values against schemas (OpenAPI 3.1: JSON Schema 2020-12, as far as the document uses it): what is
//! wrong with a value, what a schema leaves open, and what of a schema no value has shown.

use serde_json::{Value, json};

/// A schema with the document that it stands in.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Schema<'a> {
    document: &'a Value,
    schema: &'a Value,
}

impl<'a> Schema<'a> {
    /// Follows a reference.
    pub(crate) fn new(document: &'a Value, schema: &'a Value) -> Self {
        let Some(reference) = schema["$ref"].as_str() else {
            return Self { document, schema };
        };
        let target = document.pointer(&reference[1..]);
        Self::new(document, target.unwrap_or_else(|| panic!("no {reference}")))
    }

    fn other(self, schema: &'a Value) -> Self {
        Self::new(self.document, schema)
    }

    /// What is wrong with `value`; unknown keys are wrong too.
    pub(crate) fn faults(self, value: &Value, at: &str) -> Vec<String> {
        if let Some(choices) = self.choices() {
            let tried: Vec<_> = choices.iter().map(|s| s.faults(value, at)).collect();
            return match tried.iter().filter(|faults| faults.is_empty()).count() {
                1 => vec![],
                0 => vec![format!("{at}: fits none of its schemas: {tried:?}")],
                n => vec![format!("{at}: fits {n} schemas: {value}")],
            };
        }
        let mut found = Vec::new();
        let kind = &self.schema["type"];
        if !is_of(kind, value) {
            found.push(format!("{at}: {value} is no {kind}"));
        }
        if let Some(words) = self.schema["enum"].as_array()
            && !words.contains(value)
        {
            found.push(format!("{at}: {value} is none of {words:?}"));
        }
        if let (Some(items), Some(list)) = (self.items(), value.as_array()) {
            found.extend(self.wrong_length(list.len(), at));
            for (i, item) in list.iter().enumerate() {
                found.extend(items.faults(item, &format!("{at}/{i}")));
            }
        }
        if value.is_object() {
            found.extend(self.wrong_keys(value, at));
        }
        found
    }

    fn wrong_length(self, length: usize, at: &str) -> Option<String> {
        let limit = |key: &str| self.schema[key].as_u64().map(|n| n as usize);
        let few = limit("minItems").is_some_and(|least| length < least);
        let many = limit("maxItems").is_some_and(|most| length > most);
        (few || many).then(|| format!("{at}: {length} items"))
    }

    fn wrong_keys(self, value: &Value, at: &str) -> Vec<String> {
        let mut found = Vec::new();
        let required = self.schema["required"].as_array().into_iter().flatten();
        for name in required.filter(|name| value.get(name.as_str().unwrap()).is_none()) {
            found.push(format!("{at}: {name} is missing"));
        }
        for (name, value) in value.as_object().into_iter().flatten() {
            let at = format!("{at}/{name}");
            match self.schema["properties"].get(name) {
                Some(schema) => found.extend(self.other(schema).faults(value, &at)),
                None => found.push(format!("{at} is not described")),
            }
        }
        found
    }

    /// Where this says nothing of a value, or nothing of what a key means.
    pub(crate) fn gaps(self, at: &str) -> Vec<String> {
        if let Some(choices) = self.choices() {
            return choices.iter().flat_map(|s| s.gaps(at)).collect();
        }
        let mut found = Vec::new();
        if let Some(items) = self.items() {
            found.extend(items.gaps(&format!("{at}/*")));
        }
        for (name, schema) in self.properties() {
            let at = format!("{at}/{name}");
            if !is_explained(schema) {
                found.push(format!("{at} is not explained"));
            }
            found.extend(self.other(schema).gaps(&at));
        }
        let kinds = &self.schema["type"];
        let is = |kind: &str| {
            *kinds == kind || kinds.as_array().is_some_and(|k| k.contains(&json!(kind)))
        };
        let empty_object = is("object") && self.properties().next().is_none();
        if kinds.is_null() || empty_object || is("array") && self.items().is_none() {
            found.push(format!("{at} may be anything"));
        }
        found
    }

    /// What these values, which fit, do not show of it: keys that are never there or always null,
    /// lists that are always empty, words and variants that never come.
    pub(crate) fn unseen(self, values: &[&Value], at: &str) -> Vec<String> {
        let values: Vec<&Value> = values.iter().copied().filter(|v| !v.is_null()).collect();
        if values.is_empty() {
            return vec![at.to_owned()];
        }
        let mut found = Vec::new();
        if let Some(choices) = self.choices() {
            let variants = choices.into_iter().filter(|c| c.schema["type"] != "null");
            for (i, variant) in variants.enumerate() {
                let fits = |v: &&Value| variant.faults(v, "").is_empty();
                let of_it: Vec<&Value> = values.iter().copied().filter(fits).collect();
                let at = if i > 0 {
                    format!("{at}|{i}")
                } else {
                    at.to_owned()
                };
                found.extend(variant.unseen(&of_it, &at));
            }
            return found;
        }
        for word in self.schema["enum"].as_array().into_iter().flatten() {
            if !values.contains(&word) {
                found.push(format!("{at} = {word}"));
            }
        }
        if let Some(items) = self.items() {
            let all = values.iter().filter_map(|v| v.as_array()).flatten();
            found.extend(items.unseen(&all.collect::<Vec<_>>(), &format!("{at}/*")));
        }
        for (name, schema) in self.properties() {
            let all: Vec<&Value> = values.iter().filter_map(|v| v.get(name)).collect();
            found.extend(self.other(schema).unseen(&all, &format!("{at}/{name}")));
        }
        found
    }

    fn choices(self) -> Option<Vec<Self>> {
        let choices = self.schema.get("oneOf")?.as_array()?;
        Some(choices.iter().map(|s| self.other(s)).collect())
    }

    fn items(self) -> Option<Self> {
        self.schema.get("items").map(|s| self.other(s))
    }

    fn properties(self) -> impl Iterator<Item = (&'a String, &'a Value)> {
        self.schema["properties"].as_object().into_iter().flatten()
    }
}

/// Whether the key has a description, which stands inside of the choice where it may be null.
fn is_explained(schema: &Value) -> bool {
    let choices = schema["oneOf"].as_array().into_iter().flatten();
    [schema].into_iter().chain(choices).any(has_description)
}

/// Whether something has a description that is not empty.
pub(crate) fn has_description(part: &Value) -> bool {
    part["description"]
        .as_str()
        .is_some_and(|text| !text.trim().is_empty())
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
fn what_is_wrong_with_a_value_is_seen() {
    let document = json!({
        "a": {"type": "object", "required": ["x"], "properties": {
            "x": {"type": "number"},
            "pair": {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2},
            "end": {"oneOf": [{"type": "null"}, {"$ref": "#/end"}]},
            "any": {"oneOf": [{"type": "number"}, {"type": "integer"}]},
        }},
        "end": {"type": "string", "enum": ["near", "far"]},
    });
    let schema = json!({"$ref": "#/a"});
    for (value, wanted) in [
        (
            json!({"x": 1.5, "pair": [1, 2], "end": "far", "any": 0.5}),
            0,
        ),
        (json!({"x": 1.5, "end": null}), 0),
        (json!({"x": "1.5"}), 1),
        (json!({}), 1),
        (json!({"x": 1, "y": 2}), 1),
        (json!([]), 1),
        (json!({"x": 1, "pair": [1]}), 1),
        (json!({"x": 1, "pair": [1, 2, 3]}), 1),
        (json!({"x": 1, "pair": [1, "2"]}), 1),
        (json!({"x": 1, "end": "nigh"}), 1),
        (json!({"x": 1, "any": 1}), 1),
    ] {
        let got = Schema::new(&document, &schema).faults(&value, "");
        assert_eq!(got.len(), wanted, "{value}: {got:?}");
    }
}

#[test]
fn what_a_schema_leaves_open_is_seen() {
    let cases = [
        (json!({}), vec![" may be anything"]),
        (json!({"type": "object"}), vec![" may be anything"]),
        (json!({"type": "array"}), vec![" may be anything"]),
        (
            json!({"type": "array", "items": {}}),
            vec!["/* may be anything"],
        ),
        (
            json!({"oneOf": [{"type": "null"}, {}]}),
            vec![" may be anything"],
        ),
        (json!({"type": "string"}), vec![]),
        (
            json!({"type": "object", "properties": {"x": {"type": "number"}, "y": {"description": " "}}}),
            vec![
                "/x is not explained",
                "/y is not explained",
                "/y may be anything",
            ],
        ),
        (
            json!({"type": "object", "properties": {
                "x": {"oneOf": [{"type": "null"}, {"type": "number", "description": "Length, m."}]}}}),
            vec![],
        ),
    ];
    for (schema, wanted) in cases {
        assert_eq!(
            Schema::new(&json!({}), &schema).gaps(""),
            wanted,
            "{schema}"
        );
    }
}

#[test]
fn what_no_value_shows_is_seen() {
    let schema = json!({"type": "object", "properties": {
        "end": {"type": "string", "enum": ["near", "far"]},
        "list": {"type": "array", "items": {"type": "number"}},
        "of": {"oneOf": [
            {"type": "null"},
            {"type": "object", "properties": {"a": {"type": ["number", "null"]}}},
            {"type": "object", "properties": {"b": {"type": "number"}}, "required": ["b"]},
        ]},
    }});
    let unseen = |values: &[&Value]| Schema::new(&json!({}), &schema).unseen(values, "");
    let first = json!({"end": "near", "list": [], "of": {"a": null}});
    assert_eq!(
        unseen(&[&first]),
        ["/end = \"far\"", "/list/*", "/of/a", "/of|1"]
    );
    let second = json!({"end": "far", "list": [1], "of": {"a": 2}});
    let third = json!({"of": {"b": 2}});
    assert_eq!(unseen(&[&first, &second, &third]), Vec::<String>::new());
}
