//! Reading what another version wrote: a part of another shape is left out and hides nothing else.

use serde::de::IgnoredAny;
use serde::{Deserialize, Deserializer};

/// A part that is understood, or is not.
#[derive(Deserialize)]
#[serde(untagged)]
enum Part<T> {
    Understood(T),
    Odd(IgnoredAny),
}

impl<T> Part<T> {
    fn understood(self) -> Option<T> {
        match self {
            Self::Understood(part) => Some(part),
            Self::Odd(_) => None,
        }
    }
}

/// A part, or nothing in place of one of another shape.
pub(super) fn part<'de, D, T>(deserializer: D) -> Result<T, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de> + Default,
{
    let part = Part::deserialize(deserializer)?;
    Ok(part.understood().unwrap_or_else(T::default))
}

/// A list without the entries that are of another shape.
pub(super) fn list<'de, D, T>(deserializer: D) -> Result<Vec<T>, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de>,
{
    let list: Part<Vec<Part<T>>> = Part::deserialize(deserializer)?;
    let entries = list.understood().into_iter().flatten();
    Ok(entries.filter_map(Part::understood).collect())
}

#[allow(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde passes a reference"
)]
pub(super) fn is_false(value: &bool) -> bool {
    !value
}
