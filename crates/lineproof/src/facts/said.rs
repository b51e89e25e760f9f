//! What a person said, by fact, and its way to typed values.

use std::collections::BTreeMap;

use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use thiserror::Error;

use super::fact::{About, Fact, Row, Value};
use super::stored::StoredWord;
use super::table;
use super::word::Word;

/// What a person said besides the sweeps. A fact of which nothing was said is absent.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Said {
    words: BTreeMap<&'static str, Word>,
}

/// What was said of a fact and is not understood. The message names neither option nor label: whoever shows it
/// says where the fact was asked for.
#[derive(Clone, Debug, Error)]
#[error("{error}")]
pub struct Refused {
    /// The fact.
    pub fact: &'static About,
    /// What is wrong.
    pub error: String,
}

/// Reads facts one after the other and gathers what is not understood.
#[derive(Debug)]
pub struct Typed<'a> {
    said: &'a Said,
    /// What was not understood so far.
    pub refused: Vec<Refused>,
}

impl Said {
    /// Says it, in place of what was said before; what says nothing takes that away.
    pub fn say(&mut self, fact: &'static dyn Row, word: Word) {
        let name = fact.about().name;
        if word.is_empty() {
            self.words.remove(name);
        } else {
            self.words.insert(name, word);
        }
    }

    /// The same with this said as well.
    #[must_use]
    pub fn with(mut self, fact: &'static dyn Row, text: impl Into<String>) -> Self {
        self.say(fact, Word::text(text));
        self
    }

    /// What was said of a fact.
    pub fn word(&self, fact: &dyn Row) -> Option<&Word> {
        self.words.get(fact.about().name)
    }

    /// What was typed of a fact; empty if nothing was, or if a file says it.
    pub fn text(&self, fact: &dyn Row) -> &str {
        self.word(fact).map_or("", Word::typed)
    }

    /// Everything that was said, with the names of the facts.
    pub fn all(&self) -> impl Iterator<Item = (&'static str, &Word)> {
        self.words.iter().map(|(name, word)| (*name, word))
    }

    /// Whether anything was said of a fact.
    pub fn has(&self, fact: &dyn Row) -> bool {
        self.word(fact).is_some()
    }
}

impl<'a> Typed<'a> {
    /// Nothing is read yet.
    pub fn new(said: &'a Said) -> Self {
        let refused = Vec::new();
        Self { said, refused }
    }

    /// What was said of a fact, if anything was and it is understood.
    pub fn get<T: Value>(&mut self, fact: &'static Fact<T>) -> Option<T> {
        let word = self.said.word(fact)?;
        match fact.read(word) {
            Ok(value) => Some(value),
            Err(error) => {
                let fact = &fact.about;
                self.refused.push(Refused { fact, error });
                None
            }
        }
    }

    /// What was read, if all of it was understood.
    ///
    /// # Errors
    /// Every fact that was not.
    pub fn whole<R>(self, read: R) -> Result<R, Vec<Refused>> {
        if self.refused.is_empty() {
            Ok(read)
        } else {
            Err(self.refused)
        }
    }
}

impl Serialize for Said {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(
            self.all()
                .map(|(name, word)| (name, StoredWord::from(word))),
        )
    }
}

impl<'de> Deserialize<'de> for Said {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mut said = Self::default();
        for (name, word) in BTreeMap::<String, StoredWord>::deserialize(deserializer)? {
            let fact = table::named(&name)
                .ok_or_else(|| D::Error::custom(format!("there is no fact `{name}`")))?;
            said.say(fact, word.into());
        }
        Ok(said)
    }
}
