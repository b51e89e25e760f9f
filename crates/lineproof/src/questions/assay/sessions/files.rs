//! Files as they came from the browser. A name is a label: it is never looked up anywhere.

use std::collections::HashMap;
use std::sync::Arc;

use axum::extract::Multipart;
use axum::extract::multipart::{Field, MultipartError};

use crate::questions::assay::sessions::facts::Facts;
use crate::server::refusal::Refusal;

/// Most files of one assay.
const MOST_FILES: usize = 200;
/// Longest name that is kept, characters.
const LONGEST_NAME: usize = 120;
/// Longest text of a field, bytes.
const LONGEST_TEXT: usize = 4096;
/// Longest text that stands for a file, bytes.
const LONGEST_FILE_TEXT: usize = 64 << 10;
/// A file that was dropped.
#[derive(Clone, Debug)]
pub struct Dropped {
    /// Name, without folders, unlike that of any other file of the assay.
    pub label: String,
    /// Its bytes.
    pub bytes: Arc<[u8]>,
}

/// A form with files.
#[derive(Debug, Default)]
pub struct Form {
    /// The files in their order.
    pub files: Vec<Dropped>,
    /// What was said besides.
    pub facts: Facts,
}

/// Reads a form: parts named `files` are files, all others are facts by name; `far_ends` and `parts` may
/// come again and again, one for each file.
///
/// # Errors
/// [`Refusal`] if the form is broken, too large, or has a field that nobody knows.
pub async fn form(mut parts: Multipart) -> Result<Form, Refusal> {
    let mut form = Form::default();
    while let Some(part) = parts.next_field().await.map_err(broken)? {
        match part.name().unwrap_or_default() {
            "files" => form.files.extend(file(part).await?),
            name => {
                let name = name.to_owned();
                let text = part.text().await.map_err(broken)?;
                say(&mut form.facts, &name, text)?;
            }
        }
        if form.files.len() > MOST_FILES {
            let refusal = Refusal::bad(format!("more than {MOST_FILES} files for one cable"));
            return Err(refusal.help("sort a whole box on the page for that"));
        }
    }
    Ok(form)
}

/// Gives files names that differ from one another and from those that are there.
pub fn distinct(there: &[Dropped], mut new: Vec<Dropped>) -> Vec<Dropped> {
    let mut seen: HashMap<String, usize> = HashMap::new();
    for file in there {
        seen.insert(file.label.clone(), 1);
    }
    for file in &mut new {
        let plain = file.label.clone();
        while seen.contains_key(&file.label) {
            let times = seen.entry(plain.clone()).or_insert(1);
            *times += 1;
            file.label = numbered(&plain, *times);
        }
        seen.insert(file.label.clone(), 1);
    }
    new
}

fn numbered(name: &str, number: usize) -> String {
    match name.rsplit_once('.') {
        Some((stem, ending)) => format!("{stem} ({number}).{ending}"),
        None => format!("{name} ({number})"),
    }
}

/// A file; none if the person chose none, which browsers send as an empty one without a name.
async fn file(part: Field<'_>) -> Result<Option<Dropped>, Refusal> {
    let label = label(part.file_name().unwrap_or_default());
    let bytes = part.bytes().await.map_err(broken)?;
    let nothing = label.is_empty() && bytes.is_empty();
    Ok((!nothing).then(|| Dropped {
        label: if label.is_empty() {
            "sweep".to_owned()
        } else {
            label
        },
        bytes: bytes.as_ref().into(),
    }))
}

/// The name without folders, control characters and excess.
fn label(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain = last.replace(char::is_control, "\u{FFFD}");
    let from = plain.chars().count().saturating_sub(LONGEST_NAME);
    plain.chars().skip(from).collect()
}

fn say(facts: &mut Facts, name: &str, text: String) -> Result<(), Refusal> {
    let longest = if Facts::is_file(name) {
        LONGEST_FILE_TEXT
    } else {
        LONGEST_TEXT
    };
    if text.len() > longest {
        return Err(Refusal::field(name, "the text is too long"));
    }
    let said = facts.say(name, text, MOST_FILES);
    said.map_err(|error| Refusal::bad(format!("the form cannot be read: {error}")))
}

#[expect(clippy::needless_pass_by_value, reason = "for map_err")]
fn broken(error: MultipartError) -> Refusal {
    Refusal::new(error.status(), error.body_text())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_lose_their_folders_and_stay_apart() {
        let cases = [
            ("../../etc/passwd", "passwd"),
            ("C:\\sweeps\\open.s1p", "open.s1p"),
            ("box/open.s1p", "open.s1p"),
            ("a\u{1b}[2Jb.s1p", "a\u{FFFD}[2Jb.s1p"),
            ("..", ".."),
        ];
        for (name, wanted) in cases {
            assert_eq!(label(name), wanted);
        }
        let file = |name: &str| Dropped {
            label: name.to_owned(),
            bytes: Arc::from(&b""[..]),
        };
        let there = [file("open.s1p")];
        let new = distinct(&there, vec![file("open.s1p"), file("open.s1p"), file("x")]);
        let names: Vec<&str> = new.iter().map(|f| f.label.as_str()).collect();
        assert_eq!(names, ["open (2).s1p", "open (3).s1p", "x"]);
    }
}
