//! Command-line arguments made from the table of facts: an option for each that the question takes.

use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;
use std::path::PathBuf;
use std::sync::LazyLock;

use clap::builder::{
    PathBufValueParser, PossibleValue, PossibleValuesParser, StringValueParser, TypedValueParser,
    ValueParser,
};
use clap::{Arg, ArgAction, ArgMatches, Args, Command, FromArgMatches};

use crate::facts::{self, About, Question, Row, Said, Shape, Spelling, Typed, Word, table};
use crate::workflow::assay::AssayRequest;
use crate::workflow::attached::Attached;

/// A question by its type, so that arguments can be named by it.
pub(crate) trait Takes: fmt::Debug {
    /// Which.
    const QUESTION: Question;
}

macro_rules! questions {
    ($($name:ident),+) => {$(
        #[doc = concat!("Facts of [`Question::", stringify!($name), "`].")]
        #[derive(Clone, Copy, Debug)]
        pub(crate) struct $name;

        impl Takes for $name {
            const QUESTION: Question = Question::$name;
        }
    )+};
}
questions!(
    Assay,
    Compare,
    Sort,
    Cable,
    Types,
    TypesListed,
    Readings,
    Correct,
    Plan,
    Use,
    Piece,
    Transformer,
    Stub,
    HalfWave,
    Phasing,
    Delay,
    Equal,
    FaultCut,
    Network,
    Removal,
    ShelfListed,
    Label
);

/// What was said of the facts that a question takes.
#[derive(Clone, Debug)]
pub(crate) struct SaidArgs<Q> {
    /// As typed. Every text in it was understood.
    pub(crate) said: Said,
    question: PhantomData<Q>,
}

impl<Q> SaidArgs<Q> {
    /// What is asked of a cable, without its files.
    pub(crate) fn request(&self) -> AssayRequest {
        facts::request(&self.said).expect(UNDERSTOOD)
    }

    /// Some of what was said, read.
    pub(crate) fn read<T>(&self, read: impl FnOnce(&mut Typed<'_>) -> T) -> T {
        let mut typed = Typed::new(&self.said);
        let value = read(&mut typed);
        typed.whole(value).expect(UNDERSTOOD)
    }
}

/// Why a fact is there that its question requires, or that has a preset.
pub(crate) const SAID: &str = "the parser requires it or presets it";

const UNDERSTOOD: &str = "every argument was read when it was parsed";

/// `--adapter near=…`: which fact it is and what is said of it.
type Keyed = (&'static str, Word);

impl<Q: Takes> Args for SaidArgs<Q> {
    fn augment_args(mut command: Command) -> Command {
        let mut keyed = Vec::new();
        for fact in table::taken_by(Q::QUESTION) {
            match fact.about().spelling {
                Spelling::Keyed { option, help, .. } if !keyed.contains(&option) => {
                    keyed.push(option);
                    command = command.arg(keyed_argument::<Q>(fact, option, help));
                }
                Spelling::Keyed { .. } => {}
                _ => {
                    let also = fact.about().other_options(Q::QUESTION);
                    command = command.arg(argument(fact, Q::QUESTION).visible_aliases(also));
                }
            }
        }
        command
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl<Q: Takes> FromArgMatches for SaidArgs<Q> {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let mut said = Said::default();
        for fact in table::taken_by(Q::QUESTION) {
            if let Some(word) = word(fact, matches) {
                said.say(fact, word);
            }
        }
        let question = PhantomData;
        Ok(Self { said, question })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

/// What was said of a fact.
fn word(fact: &dyn Row, matches: &ArgMatches) -> Option<Word> {
    let about = fact.about();
    if let Spelling::Keyed { option, .. } = about.spelling {
        let mut all = matches.get_many::<Keyed>(option)?;
        let last = all.rfind(|(name, _)| *name == about.name)?;
        return Some(last.1.clone());
    }
    match fact.shape() {
        Shape::Flag => matches.get_flag(about.name).then(|| Word::text("yes")),
        Shape::Several(_) => {
            let all = matches.get_many::<Word>(about.name)?;
            let texts: Vec<&str> = all.map(Word::typed).collect();
            Some(Word::text(texts.join("; ")))
        }
        _ => matches.get_one::<Word>(about.name).cloned(),
    }
}

fn argument(fact: &'static dyn Row, question: Question) -> Arg {
    let about = fact.about();
    let plain = named(about, about.name, about.help, question)
        .required(about.is_required_by(question))
        .default_values(Some(about.preset).filter(|preset| !preset.is_empty()))
        .conflicts_with_all(about.excludes);
    match fact.shape() {
        Shape::Flag => plain.action(ArgAction::SetTrue),
        Shape::Quantity(value) => quantity(plain, fact, value),
        Shape::Several(value) => quantity(plain, fact, value).action(ArgAction::Append),
        Shape::Text(value) | Shape::TextOrFile(value, _) => {
            plain.value_name(value).value_parser(text(fact))
        }
        Shape::Choice(value, choices) => plain
            .value_name(value)
            .ignore_case(true)
            .value_parser(one_of(&choices)),
        Shape::File => plain.value_name("FILE").value_parser(file(fact)),
    }
}

fn quantity(plain: Arg, fact: &'static dyn Row, value: &'static str) -> Arg {
    plain
        .value_name(value)
        .allow_hyphen_values(has_sign(value))
        .value_parser(text(fact))
}

/// One option for several facts, each by its key.
fn keyed_argument<Q: Takes>(
    first: &'static dyn Row,
    option: &'static str,
    help: &'static str,
) -> Arg {
    let Shape::TextOrFile(value, is_file) = first.shape() else {
        unreachable!("facts that share an option are texts or files");
    };
    let hint = first.about().hint;
    let read = move |text: &str| -> Result<Keyed, String> {
        let (said_key, what) = text.split_once('=').unwrap_or((text, ""));
        let found = table::taken_by(Q::QUESTION).find_map(|fact| match fact.about().spelling {
            Spelling::Keyed { option: o, key, .. } if o == option && key == said_key => {
                Some(fact.about().name)
            }
            _ => None,
        });
        match found {
            Some(name) if !what.is_empty() => Ok((
                name,
                if is_file(what) {
                    Word::File(Attached::read(PathBuf::from(what)))
                } else {
                    Word::text(what)
                },
            )),
            _ => {
                let (first, second) = hint.split_once(" or ").unwrap_or((hint, hint));
                Err(format!(
                    "expected an end and its adapter such as `near={first}` or `far={second}`, found `{text}`"
                ))
            }
        }
    };
    named(first.about(), option, help, Q::QUESTION)
        .value_name(value)
        .action(ArgAction::Append)
        .value_parser(ValueParser::new(read))
}

fn named(about: &About, id: &'static str, help: &'static str, question: Question) -> Arg {
    Arg::new(id)
        .long(OPTIONS[&(about.name, question)].as_str())
        .help(help)
        .help_heading(about.group.heading())
        .requires_ifs(
            about
                .needs
                .iter()
                .map(|needed| (clap::builder::ArgPredicate::IsPresent, *needed)),
        )
}

/// Spelling of every option in each question that takes it; the parser keeps borrowed names only.
static OPTIONS: LazyLock<BTreeMap<(&'static str, Question), String>> = LazyLock::new(|| {
    let about = table::all().map(Row::about);
    let of = |about: &'static About| {
        let questions = about.questions.iter();
        questions.map(|&question| ((about.name, question), about.option_of(question)))
    };
    about.flat_map(of).collect()
});

/// A text that is read now, and again when it is made use of.
fn text(fact: &'static dyn Row) -> ValueParser {
    ValueParser::from(StringValueParser::new().try_map(move |text| {
        let word = Word::Text(text);
        fact.check(&word).map(|()| word)
    }))
}

fn one_of(choices: &[(&'static str, &'static str)]) -> ValueParser {
    let value = |&(word, looks): &(&'static str, &'static str)| {
        let value = PossibleValue::new(word);
        if looks.is_empty() {
            value
        } else {
            value.help(looks)
        }
    };
    let values: Vec<PossibleValue> = choices.iter().map(value).collect();
    ValueParser::from(PossibleValuesParser::new(values).map(Word::Text))
}

fn file(fact: &'static dyn Row) -> ValueParser {
    ValueParser::from(PathBufValueParser::new().try_map(move |path| {
        let word = Word::File(Attached::read(path));
        fact.check(&word).map(|()| word)
    }))
}

/// Whether a value may begin with a minus sign, so that the reader says what is wrong with it.
fn has_sign(value: &str) -> bool {
    ["LENGTH", "TEMPERATURE", "TIME", "REACTANCE", "IMPEDANCE"].contains(&value)
}
