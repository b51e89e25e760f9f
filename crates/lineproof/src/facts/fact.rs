//! A row of the table: what is to be known of a fact to ask for it and to read it.

use std::fmt;

use lineproof_core::bench::{FarEnd, MarkedLoss};
use lineproof_core::catalogue::Filling;
use lineproof_core::finding::judge::criteria::Criteria;
use lineproof_core::finding::judge::types::OwnTypes;
use lineproof_core::formats::{FrequencyUnit, PairFormat};
use lineproof_core::plan::{Dielectric, Range};
use lineproof_core::quantity::{AttenuationReading, Reading};
use lineproof_core::sections::StubEnd;
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;

use super::word::Word;
use crate::workflow::attached::Attached;
use crate::workflow::fixture::Fixture;

/// A fact whose text is read as a `T`.
#[derive(Debug)]
pub struct Fact<T: 'static> {
    /// Its name and its words.
    pub about: About,
    /// How it is read.
    pub reader: Reader<T>,
}

/// Name and words of a fact.
#[derive(Clone, Copy, Debug)]
pub struct About {
    /// Its name: key in JSON, field of a form, key in a stored set-up.
    pub name: &'static str,
    /// How its option is spelled.
    pub spelling: Spelling,
    /// What it belongs to.
    pub group: Group,
    /// Whether a form asks for it at once, since it narrows the answer most.
    pub first: bool,
    /// Label in a form.
    pub label: &'static str,
    /// An example.
    pub hint: &'static str,
    /// A few words more for a form: the unit, or what it is good for. May be empty.
    pub note: &'static str,
    /// A sentence that explains it, without a full stop.
    pub help: &'static str,
    /// The questions that take it.
    pub questions: &'static [Question],
    /// How its option is spelled where a question spells it in its own way.
    pub spelled: &'static [(Question, &'static str)],
    /// Further spellings of its option where a question has always had them.
    pub also: &'static [(Question, &'static str)],
    /// Arguments without which its option makes no sense.
    pub needs: &'static [&'static str],
    /// Facts that say the same in another way: only one of them may be said.
    pub excludes: &'static [&'static str],
    /// The questions that cannot be asked without it.
    pub required_by: &'static [Question],
    /// What holds if nothing is said; nothing does if empty.
    pub preset: &'static str,
}

/// How the option of a fact is spelled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spelling {
    /// Like the name, with hyphens.
    Derived,
    /// In another way.
    As(&'static str),
    /// One option for several facts: `--adapter near=…`.
    Keyed {
        /// The option.
        option: &'static str,
        /// What stands before the equals sign.
        key: &'static str,
        /// Help of the option.
        help: &'static str,
    },
}

/// What a fact belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Length, load, temperature.
    Known,
    /// What the jacket claims.
    Jacket,
    /// What caliper, meter and eye say.
    Look,
    /// What the cable is for.
    Purpose,
    /// The calibrated plane.
    Plane,
    /// What a file does not say of itself.
    Reading,
    /// What one question alone asks, under this heading.
    Own(&'static str),
}

/// A question that takes facts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Question {
    /// `assay`.
    Assay,
    /// `compare`.
    Compare,
    /// `sort`.
    Sort,
    /// Whatever is asked about a cable that may have been swept: `use`, `cut`, `network`, `remove-line`.
    Cable,
    /// `types`: which one a cable may be, from what one sees of it.
    Types,
    /// `types`: the list of the catalogue, narrowed down.
    TypesListed,
    /// `readings`.
    Readings,
    /// `correct`.
    Correct,
    /// `plan`.
    Plan,
    /// `use`, besides which cable.
    Use,
    /// `cut`, of every piece that is cut to a frequency.
    Piece,
    /// `cut transformer`.
    Transformer,
    /// `cut stub`.
    Stub,
    /// `cut half-wave`.
    HalfWave,
    /// `cut phasing`.
    Phasing,
    /// `cut delay`.
    Delay,
    /// `cut set`.
    Equal,
    /// `cut fault`.
    FaultCut,
    /// `network`, besides which cable.
    Network,
    /// `remove-line`, besides which cable.
    Removal,
    /// `shelf list`.
    ShelfListed,
    /// `label`.
    Label,
}

/// How what was said is read. The first field of most is what help calls the value.
#[derive(Debug)]
pub enum Reader<T: 'static> {
    /// A quantity.
    Quantity(&'static str, fn(&str) -> Result<T, String>),
    /// Several quantities in one text; an option may be given again.
    Several(&'static str, fn(&str) -> Result<T, String>),
    /// Any text.
    Text(&'static str, fn(&str) -> T),
    /// One of a few words.
    Choice(&'static str, &'static [Choice<T>]),
    /// Yes, or nothing said; what it means when it is said.
    Flag(T),
    /// A file, or its text.
    File(fn(&Attached) -> Result<T, String>),
    /// A text, or the name of a file if the function says that it is one.
    TextOrFile(&'static str, fn(&str) -> bool, fn(&Word) -> T),
}

/// One of a few words that may be said.
#[derive(Clone, Copy, Debug)]
pub struct Choice<T> {
    /// The word.
    pub word: &'static str,
    /// What it looks like or means. May be empty.
    pub looks: &'static str,
    /// What is meant.
    pub means: T,
}

/// What a fact takes, whatever it is read as.
#[derive(Clone, Debug)]
pub enum Shape {
    /// A quantity, called so in help.
    Quantity(&'static str),
    /// Several quantities.
    Several(&'static str),
    /// Any text.
    Text(&'static str),
    /// One of these words, each with what it looks like.
    Choice(&'static str, Vec<(&'static str, &'static str)>),
    /// Yes, or nothing said.
    Flag,
    /// A file.
    File,
    /// A text, or the name of a file if the function says that it is one.
    TextOrFile(&'static str, fn(&str) -> bool),
}

/// A fact, whatever it is read as.
pub trait Row: fmt::Debug + Sync {
    /// Its name and its words.
    fn about(&self) -> &About;
    /// What it takes.
    fn shape(&self) -> Shape;
    /// Reads and forgets.
    ///
    /// # Errors
    /// What is wrong, for a person.
    fn check(&self, word: &Word) -> Result<(), String>;
}

/// What a fact can be read as.
pub trait Value: Clone + fmt::Debug + Sync {
    /// From a number that was stored without its text.
    fn stored(_value: f64, _spread: f64) -> Option<Self> {
        None
    }
}

impl About {
    /// A fact without words.
    pub const PLAIN: Self = Self {
        name: "",
        spelling: Spelling::Derived,
        group: Group::Known,
        first: false,
        label: "",
        hint: "",
        note: "",
        help: "",
        questions: &[],
        spelled: &[],
        also: &[],
        needs: &[],
        excludes: &[],
        required_by: &[],
        preset: "",
    };

    /// Its option without the hyphens before it.
    pub fn option(&self) -> String {
        match self.spelling {
            Spelling::Derived => self.name.replace('_', "-"),
            Spelling::As(option) | Spelling::Keyed { option, .. } => option.to_owned(),
        }
    }

    /// Its option in a question.
    pub fn option_of(&self, question: Question) -> String {
        let own = self.spelled.iter().find(|(of, _)| *of == question);
        own.map_or_else(|| self.option(), |(_, option)| (*option).to_owned())
    }

    /// Further spellings of its option in a question.
    pub fn other_options(&self, question: Question) -> impl Iterator<Item = &'static str> {
        let also = self.also.iter().filter(move |(of, _)| *of == question);
        also.map(|(_, option)| *option)
    }

    /// Whether the question cannot be asked without it.
    pub fn is_required_by(&self, question: Question) -> bool {
        self.required_by.contains(&question)
    }

    /// Whether the question takes it.
    pub fn is_taken_by(&self, question: Question) -> bool {
        self.questions.contains(&question)
    }
}

impl Group {
    /// Those of an assay, in the order of help and form.
    pub const OF_AN_ASSAY: [Self; 6] = [
        Self::Known,
        Self::Jacket,
        Self::Look,
        Self::Purpose,
        Self::Plane,
        Self::Reading,
    ];

    /// Its heading.
    pub fn heading(self) -> &'static str {
        match self {
            Self::Known => "What you know",
            Self::Jacket => "Marking (jacket, seller, data sheet)",
            Self::Look => "What you observe (caliper, meter, eye)",
            Self::Purpose => "Use and acceptance limits",
            Self::Plane => "The calibrated plane",
            Self::Reading => "File format, if the file does not state it",
            Self::Own(heading) => heading,
        }
    }
}

impl<T> Choice<T> {
    /// A word, what it looks like, what is meant.
    pub(super) const fn new(word: &'static str, looks: &'static str, means: T) -> Self
    where
        T: Copy,
    {
        Self { word, looks, means }
    }
}

impl<T: Value> Fact<T> {
    /// Reads what was said.
    ///
    /// # Errors
    /// What is wrong, for a person.
    pub fn read(&self, word: &Word) -> Result<T, String> {
        match word {
            Word::Text(text) => self.read_text(text.trim(), word),
            Word::File(file) => match self.reader {
                Reader::File(read) => read(file),
                Reader::TextOrFile(_, _, read) => Ok(read(word)),
                _ => Err("a file cannot state this".to_owned()),
            },
            &Word::Number { value, spread } => T::stored(value, spread)
                .ok_or_else(|| format!("{value} without its text cannot state this")),
        }
    }

    fn read_text(&self, text: &str, word: &Word) -> Result<T, String> {
        match &self.reader {
            Reader::Quantity(_, read) | Reader::Several(_, read) => read(text),
            Reader::Text(_, read) => Ok(read(text)),
            Reader::Choice(_, choices) => one_of(choices, text),
            Reader::Flag(yes) => Ok(yes.clone()),
            Reader::File(read) => {
                let name = format!("{}.toml", self.about.name);
                let bytes = text.as_bytes().to_vec();
                read(&Attached::held(name.into(), bytes))
            }
            Reader::TextOrFile(_, _, read) => Ok(read(word)),
        }
    }
}

fn one_of<T: Clone>(choices: &[Choice<T>], text: &str) -> Result<T, String> {
    let found = choices.iter().find(|c| c.word.eq_ignore_ascii_case(text));
    found.map(|c| c.means.clone()).ok_or_else(|| {
        let words: Vec<&str> = choices.iter().map(|c| c.word).collect();
        format!("expected one of {}, found `{text}`", words.join(", "))
    })
}

impl<T: Value> Row for Fact<T> {
    fn about(&self) -> &About {
        &self.about
    }

    fn shape(&self) -> Shape {
        match &self.reader {
            Reader::Quantity(value, _) => Shape::Quantity(value),
            Reader::Several(value, _) => Shape::Several(value),
            Reader::Text(value, _) => Shape::Text(value),
            Reader::Choice(value, choices) => {
                Shape::Choice(value, choices.iter().map(|c| (c.word, c.looks)).collect())
            }
            Reader::Flag(_) => Shape::Flag,
            Reader::File(_) => Shape::File,
            Reader::TextOrFile(value, is_file, _) => Shape::TextOrFile(value, *is_file),
        }
    }

    fn check(&self, word: &Word) -> Result<(), String> {
        self.read(word).map(|_| ())
    }
}

impl Value for f64 {
    fn stored(value: f64, _spread: f64) -> Option<Self> {
        Some(value)
    }
}

impl Value for Reading {
    fn stored(value: f64, spread: f64) -> Option<Self> {
        let half_digit = spread;
        Some(Self { value, half_digit })
    }
}

impl Value for Uncertain {
    fn stored(value: f64, spread: f64) -> Option<Self> {
        Some(Self::new(value, spread))
    }
}

impl Value for Range {}
impl Value for Complex64 {}
impl Value for AttenuationReading {}
impl Value for Vec<AttenuationReading> {}
impl Value for Dielectric {}
impl Value for [Reading; 2] {}
impl Value for Vec<Reading> {}
impl Value for FarEnd {}
impl Value for StubEnd {}
impl Value for u32 {}
impl Value for usize {}
impl Value for bool {}
impl Value for String {}
impl Value for Vec<f64> {}
impl Value for Attached {}
impl Value for MarkedLoss {}
impl Value for Filling {}
impl Value for FrequencyUnit {}
impl Value for PairFormat {}
impl Value for Criteria {}
impl Value for OwnTypes {}
impl Value for Fixture {}
