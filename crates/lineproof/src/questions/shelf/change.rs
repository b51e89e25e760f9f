//! What changes about a cable of the shelf, from its page or by the API.

use lineproof_record::{Decision, Edit, Note, Shelf};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::server::record;
use crate::server::refusal::Refusal;
use crate::server::shared::Shared;
use crate::workflow::shelf::{AgainError, look_again, now};

/// What can be changed about a cable.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Change {
    /// Its tag, description or place.
    Edit,
    /// It goes out of use; nothing is deleted.
    Retire,
    /// It comes back into use.
    TakeBack,
    /// What its owner decided.
    Decide,
    /// A note.
    Note,
    /// It is assayed again from its kept sweeps with this program.
    Again,
}

/// What is said with a change; each uses its own keys and passes over the others.
#[derive(Clone, Debug, Default, Deserialize, ToSchema)]
#[serde(default)]
pub struct Said {
    /// `edit`: another tag; empty leaves it.
    pub new_tag: String,
    /// `edit`: what it is.
    pub description: String,
    /// `edit`: where it is kept.
    pub place: String,
    /// `decide`: what.
    pub action: String,
    /// `decide`, `retire`: why.
    pub why: String,
    /// `note`: the note.
    pub text: String,
}

/// What became of a change.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Changed {
    /// Tag of the cable, which may be another now.
    pub tag: String,
    /// `again`: what differs beyond the intervals, a sentence each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub differences: Vec<String>,
}

/// Does what is asked of a cable.
///
/// # Errors
/// [`Refusal`] of the shelf, or of a field that must not be empty.
pub async fn apply(
    shared: &Shared,
    tag: &str,
    change: Change,
    said: &Said,
) -> Result<Changed, Refusal> {
    let (tag, said) = (tag.to_owned(), said.clone());
    record::change(shared, move |shelf| applied(shelf, tag, change, said)).await
}

fn applied(shelf: &mut Shelf, tag: String, change: Change, said: Said) -> Result<Changed, Refusal> {
    let at = now();
    let mut changed = Changed {
        tag,
        differences: Vec::new(),
    };
    let tag = changed.tag.as_str();
    match change {
        Change::Edit => {
            let edit = Edit {
                tag: Some(said.new_tag.trim().to_owned()).filter(|new| !new.is_empty()),
                description: Some(said.description),
                place: Some(said.place),
            };
            changed.tag = shelf.edit(tag, &edit, &at)?.tag;
        }
        Change::Retire => shelf.retire(tag, &said.why, &at)?,
        Change::TakeBack => shelf.take_back(tag, &at)?,
        Change::Decide => {
            let action = needed("action", &said.action)?;
            let reason = said.why;
            shelf.decide(tag, &Decision { at, action, reason })?;
        }
        Change::Note => {
            let text = needed("text", &said.text)?;
            shelf.note(tag, &Note { at, text })?;
        }
        Change::Again => {
            for assay in shelf.assays(tag)? {
                let found = look_again(shelf, &assay, true).map_err(cannot)?;
                changed
                    .differences
                    .extend(found.into_iter().map(|c| c.text));
            }
        }
    }
    Ok(changed)
}

fn needed(field: &str, text: &str) -> Result<String, Refusal> {
    let text = text.trim().to_owned();
    if text.is_empty() {
        Err(Refusal::field(field, "expected text, found nothing"))
    } else {
        Ok(text)
    }
}

fn cannot(error: AgainError) -> Refusal {
    match error {
        AgainError::Shelf(error) => error.into(),
        error => Refusal::bad(error.to_string()),
    }
}
