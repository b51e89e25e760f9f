//! Forms whose fields are arguments of a verb: one definition feeds the command line, the form, the
//! JSON route and its description.
//!
//! A page names the fields that it takes; nothing else of what is sent is looked at. Each value is
//! handed over as `--name=value`, so no text can be another option or a file.

use std::collections::BTreeMap;

use clap::builder::PossibleValue;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Arg, ArgAction, Args, Command};
use maud::{Markup, html};
use serde::Deserialize;
use utoipa::openapi::Required;
use utoipa::openapi::path::{Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::schema::{ObjectBuilder, Type};

use super::refusal::{Refusal, Refused};
use crate::facts::{About, Row, table};

/// A field of a form.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Long name of its argument.
    pub name: &'static str,
    /// Label; the argument's help if empty.
    pub label: &'static str,
    /// What stands in it while it is empty.
    pub example: &'static str,
    /// What may be chosen, where the argument itself takes any text.
    pub choices: &'static [&'static str],
    /// Id of a list of suggestions on the page.
    pub list: &'static str,
    /// Whether the argument's help stands below a label of its own.
    pub hinted: bool,
    /// Whether label, example and hint are those of the table of facts.
    from_table: bool,
}

/// What was typed, by the names of the fields.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(transparent)]
pub struct Typed(BTreeMap<String, String>);

/// The fields of one question: arguments of a verb, or of one of its subcommands.
#[derive(Debug)]
pub struct Fields {
    command: Command,
    taken: &'static [Field],
    under: Option<&'static str>,
}

impl Field {
    /// A field that the argument's help labels.
    pub const fn new(name: &'static str, example: &'static str) -> Self {
        Self {
            name,
            label: "",
            example,
            choices: &[],
            list: "",
            hinted: false,
            from_table: false,
        }
    }

    /// A field of the table of facts, which has its words.
    pub const fn fact(name: &'static str) -> Self {
        Self {
            from_table: true,
            ..Self::new(name, "")
        }
    }

    /// With a label of its own; the argument's help stands below.
    #[must_use]
    pub const fn label(mut self, label: &'static str) -> Self {
        self.label = label;
        self.hinted = true;
        self
    }

    /// With a label that says everything.
    #[must_use]
    pub const fn only(mut self, label: &'static str) -> Self {
        self.label = label;
        self
    }

    /// With what may be chosen.
    #[must_use]
    pub const fn choices(mut self, choices: &'static [&'static str]) -> Self {
        self.choices = choices;
        self
    }

    /// With a list of suggestions on the page.
    #[must_use]
    pub const fn list(mut self, list: &'static str) -> Self {
        self.list = list;
        self
    }
}

impl Typed {
    /// What stands in a field; empty if nothing does.
    pub fn get(&self, name: &str) -> &str {
        self.0.get(name).map_or("", |text| text.trim())
    }

    /// Whether nothing stands in any of these fields.
    pub fn is_empty(&self, fields: &[Field]) -> bool {
        fields.iter().all(|field| self.get(field.name).is_empty())
    }

    /// The same with another text in a field.
    #[must_use]
    pub fn with(mut self, name: &str, text: &str) -> Self {
        self.0.insert(name.to_owned(), text.to_owned());
        self
    }

    /// All pairs of name and text.
    pub fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0
            .iter()
            .map(|(name, text)| (name.as_str(), text.as_str()))
    }
}

impl Fields {
    /// The named arguments of a verb, or of its subcommand `under`.
    pub fn of<A: Args>(fields: &'static [Field], under: Option<&'static str>) -> Self {
        let mut command = A::augment_args(Command::new("lineproof").no_binary_name(true));
        command.build();
        Self {
            command,
            taken: fields,
            under,
        }
    }

    /// What was typed as the arguments that the verb takes.
    ///
    /// # Errors
    /// [`Refusal`] that names the field.
    pub fn read<A: Args>(&self, typed: &Typed) -> Result<A, Refusal> {
        let mut arguments: Vec<String> = self.under.iter().map(|&u| u.to_owned()).collect();
        for field in self.taken {
            arguments.extend(self.arguments(field, typed.get(field.name)));
        }
        let matches = self.command.clone().try_get_matches_from(arguments);
        let read = matches.and_then(|matches| A::from_arg_matches(&matches));
        read.map_err(|error| self.refusal(&error))
    }

    /// Some of the fields with what was typed, and what is wrong with one of them.
    pub fn show(&self, fields: &[Field], typed: &Typed, refused: Option<&Refused>) -> Markup {
        let mut groups: Vec<(Option<&str>, Vec<&Field>)> = Vec::new();
        for field in fields {
            let heading = self.argument(field).get_help_heading();
            match groups.last_mut() {
                Some((last, group)) if *last == heading => group.push(field),
                _ => groups.push((heading, vec![field])),
            }
        }
        html! {
            @for (heading, group) in groups { (self.group(heading, &group, typed, refused)) }
        }
    }

    /// Some of the fields under a heading of the page's own.
    pub fn group(
        &self,
        heading: Option<&str>,
        fields: &[&Field],
        typed: &Typed,
        refused: Option<&Refused>,
    ) -> Markup {
        html! {
            fieldset {
                @if let Some(heading) = heading { legend { (heading) } }
                div.fields {
                    @for field in fields { (self.field(field, typed, refused)) }
                }
            }
        }
    }

    /// One field.
    pub fn field(&self, field: &Field, typed: &Typed, refused: Option<&Refused>) -> Markup {
        let argument = self.argument(field);
        let wrong = refused.and_then(|r| r.of_field(field.name));
        let (hint, error) = (
            format!("{}-hint", field.name),
            format!("{}-error", field.name),
        );
        let hint_text = match self.fact(field) {
            Some(fact) => fact.note.to_owned(),
            None if field.hinted => help(argument),
            None => String::new(),
        };
        let example = self.fact(field).map_or(field.example, |fact| fact.hint);
        let has_hint = !hint_text.is_empty() && !is_flag(argument);
        let described = match (has_hint, wrong.is_some()) {
            (true, true) => format!("{error} {hint}"),
            (true, false) => hint.clone(),
            (false, true) => error.clone(),
            (false, false) => String::new(),
        };
        let described = Some(described).filter(|d| !d.is_empty());
        let text = typed.get(field.name);
        html! {
            div.field data-field=(field.name) {
                @if is_flag(argument) {
                    label { input type="checkbox" name=(field.name) value="yes" checked[!text.is_empty()]; " " (self.label(field)) }
                } @else {
                    label for=(field.name) { (self.label(field)) }
                    @if let Some(choices) = choices(argument, field) {
                        (select(argument, field, &choices, text, described.as_deref()))
                    } @else {
                        input id=(field.name) name=(field.name) value=(text) placeholder=(example)
                            autocomplete="off" spellcheck="false" autocapitalize="off"
                            list=[Some(field.list).filter(|l| !l.is_empty())]
                            required[argument.is_required_set()]
                            aria-describedby=[described] aria-invalid=[wrong.map(|_| "true")];
                    }
                }
                @if let Some(wrong) = wrong {
                    p.wrong id=(error) { (marked(wrong)) }
                }
                @if has_hint { p.hint id=(hint) { (hint_text) } }
            }
        }
    }

    /// Query parameters for the description of a route.
    pub fn parameters(&self) -> Vec<Parameter> {
        let parameter = |field: &Field| {
            let argument = self.argument(field);
            let schema = ObjectBuilder::new()
                .schema_type(Type::String)
                .enum_values(choices(argument, field).map(|c| c.into_iter().map(|c| c.0)))
                .build();
            let required = if argument.is_required_set() {
                Required::True
            } else {
                Required::False
            };
            let example = self.fact(field).map_or(field.example, |fact| fact.hint);
            let example = (!example.is_empty()).then(|| example.into());
            ParameterBuilder::new()
                .name(field.name)
                .parameter_in(ParameterIn::Query)
                .required(required)
                .description(Some(help(argument)))
                .example(example)
                .schema(Some(schema))
                .build()
        };
        self.taken.iter().map(parameter).collect()
    }

    fn command(&self) -> &Command {
        let under = self
            .under
            .and_then(|name| self.command.find_subcommand(name));
        under.unwrap_or(&self.command)
    }

    fn argument(&self, field: &Field) -> &Arg {
        let mut all = self.command().get_arguments();
        all.find(|a| is_spelled(a, field.name))
            .expect("pages name only fields that the verb has")
    }

    /// The row of a field that the table of facts has the words of: its argument has the fact's name.
    fn fact(&self, field: &Field) -> Option<&'static About> {
        let row = field
            .from_table
            .then(|| table::named(self.argument(field).get_id().as_str()))?;
        row.map(Row::about)
    }

    fn arguments(&self, field: &Field, text: &str) -> Vec<String> {
        let argument = self.argument(field);
        let one = |text: &str| format!("--{}={text}", field.name);
        if text.is_empty() {
            Vec::new()
        } else if is_flag(argument) {
            vec![format!("--{}", field.name)]
        } else if is_list(argument) {
            items(text).iter().map(|item| one(item)).collect()
        } else {
            vec![one(text)]
        }
    }

    /// Labels of arguments of which one is needed, `--a|--b <B>`.
    fn labels(&self, said: &str) -> String {
        let named = said.split('|').filter_map(|one| self.named(one));
        let labels = named.map(|f| self.label(f));
        let labels: Vec<String> = labels.map(|label| format!("“{label}”")).collect();
        labels.join(", ")
    }

    /// The field that the parser's `--name <VALUE>` is about.
    fn named(&self, said: &str) -> Option<&'static Field> {
        let long = |field: &Field| self.argument(field).get_long().unwrap_or(field.name);
        self.taken.iter().find(|field| is_named(said, long(field)))
    }

    fn label(&self, field: &Field) -> String {
        if let Some(fact) = self.fact(field) {
            fact.label.to_owned()
        } else if field.label.is_empty() {
            help(self.argument(field))
        } else {
            field.label.to_owned()
        }
    }

    /// An error of the parser as a refusal of one field.
    fn refusal(&self, error: &clap::Error) -> Refusal {
        let named = error.get(ContextKind::InvalidArg).and_then(first);
        let field = named.and_then(|name| self.named(name));
        let label = field.map_or_else(String::new, |f| self.label(f));
        let text = match error.kind() {
            ErrorKind::MissingRequiredArgument if named.is_some_and(|n| n.contains('|')) => {
                format!(
                    "one of {} is needed",
                    self.labels(named.unwrap_or_default())
                )
            }
            ErrorKind::MissingRequiredArgument => format!("“{label}” is needed"),
            ErrorKind::ArgumentConflict => {
                let prior = error.get(ContextKind::PriorArg).and_then(first);
                let prior = prior.and_then(|name| self.named(name));
                let prior = prior.map_or_else(String::new, |f| self.label(f));
                format!("“{label}” and “{prior}” exclude each other: leave one empty")
            }
            ErrorKind::InvalidValue => {
                let found = error.get(ContextKind::InvalidValue).and_then(first);
                format!("`{}` is not one of the choices", found.unwrap_or_default())
            }
            _ => std::error::Error::source(error)
                .map_or_else(|| "this cannot be read".to_owned(), ToString::to_string),
        };
        match field {
            Some(field) => Refusal::field(field.name, text),
            None => Refusal::bad(text),
        }
    }
}

/// A sentence with what stands between backticks as code.
pub fn marked(text: &str) -> Markup {
    html! {
        @for (i, part) in text.split('`').enumerate() {
            @if i % 2 == 1 { code { (part) } } @else { (part) }
        }
    }
}

/// A box of choices. What is preset has an empty value, so that it is not sent and excludes nothing.
fn select(
    argument: &Arg,
    field: &Field,
    choices: &[(String, String)],
    text: &str,
    described: Option<&str>,
) -> Markup {
    let preset = argument
        .get_default_values()
        .first()
        .and_then(|v| v.to_str());
    let nothing = if field.choices.is_empty() {
        "not said"
    } else {
        "any"
    };
    html! {
        select id=(field.name) name=(field.name) aria-describedby=[described] {
            @if preset.is_none() && !argument.is_required_set() { option value="" { (nothing) } }
            @for (name, help) in choices {
                @let value = if preset == Some(name) { "" } else { name };
                option value=(value) selected[value == text || name == text] { (help) }
            }
        }
    }
}

/// What an argument takes, if that is one of a few: name and text of each.
fn choices(argument: &Arg, field: &Field) -> Option<Vec<(String, String)>> {
    if !field.choices.is_empty() {
        let same = |c: &&str| ((*c).to_owned(), (*c).to_owned());
        return Some(field.choices.iter().map(same).collect());
    }
    let values = argument.get_possible_values();
    if values.is_empty() || is_flag(argument) {
        return None;
    }
    let text = |value: &PossibleValue| {
        let help = value.get_help().map(ToString::to_string);
        let name = value.get_name();
        (name.to_owned(), words(name, &help.unwrap_or_default()))
    };
    Some(values.iter().map(text).collect())
}

/// The words of a value that may be chosen: its name, and what it looks like.
pub fn words(name: &str, looks: &str) -> String {
    let word = name.replace('-', " ");
    if looks.is_empty() {
        word
    } else {
        format!("{word}: {}", uncapitalised(looks))
    }
}

fn help(argument: &Arg) -> String {
    argument
        .get_help()
        .map_or_else(String::new, ToString::to_string)
}

/// `One wire` as it stands within a sentence; `AM's` stays.
fn uncapitalised(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next(), letters.next()) {
        (Some(first), Some(second)) if !second.is_uppercase() => {
            first.to_lowercase().chain(text.chars().skip(1)).collect()
        }
        _ => text.to_owned(),
    }
}

fn is_flag(argument: &Arg) -> bool {
    matches!(argument.get_action(), ArgAction::SetTrue)
}

fn is_list(argument: &Arg) -> bool {
    matches!(argument.get_action(), ArgAction::Append)
}

/// The items of a list. A comma separates where a blank follows it or no digit stands before it, and
/// is a decimal comma elsewhere: `7,1MHz, 14,2MHz`.
fn items(text: &str) -> Vec<String> {
    let letters: Vec<char> = text.chars().collect();
    let mut items = vec![String::new()];
    for (i, &c) in letters.iter().enumerate() {
        let before = i.checked_sub(1).map(|b| letters[b]);
        let within = before.is_some_and(|b| b.is_ascii_digit())
            && letters.get(i + 1).is_some_and(char::is_ascii_digit);
        match c {
            ';' | '\n' => items.push(String::new()),
            ',' if !within => items.push(String::new()),
            ',' => items.last_mut().expect("there is one at least").push('.'),
            c => items.last_mut().expect("there is one at least").push(c),
        }
    }
    let trimmed = items.iter().map(|item| item.trim().to_owned());
    trimmed.filter(|item| !item.is_empty()).collect()
}

fn first(value: &ContextValue) -> Option<&str> {
    match value {
        ContextValue::String(text) => Some(text),
        ContextValue::Strings(texts) => texts.first().map(String::as_str),
        _ => None,
    }
}

/// Whether an argument has this spelling.
fn is_spelled(argument: &Arg, name: &str) -> bool {
    let also = argument.get_visible_aliases().unwrap_or_default();
    argument.get_long() == Some(name) || also.contains(&name)
}

/// Whether the parser's `--name <VALUE>` is this argument.
fn is_named(said: &str, name: &str) -> bool {
    let bare = said.trim_start_matches(['<', '-']);
    let end = bare.find(|c: char| !c.is_ascii_lowercase() && !c.is_ascii_digit() && c != '-');
    &bare[..end.unwrap_or(bare.len())] == name
}

#[cfg(test)]
mod tests {
    use super::*;
    use lineproof_core::quantity::{self, Reading};

    #[derive(Args)]
    struct Asked {
        #[arg(long, value_parser = quantity::parse_length_m)]
        length: Reading,
        #[arg(long, value_delimiter = ',', value_parser = quantity::parse_frequency_hz)]
        frequency: Vec<Reading>,
        #[arg(long, value_parser = ["air", "ptfe"])]
        dielectric: Option<String>,
    }

    const FIELDS: [Field; 3] = [
        Field::new("length", "12m").label("Length"),
        Field::new("frequency", ""),
        Field::new("dielectric", ""),
    ];

    fn typed(pairs: &[(&str, &str)]) -> Typed {
        let all = pairs.iter();
        all.fold(Typed::default(), |typed, (name, text)| {
            typed.with(name, text)
        })
    }

    #[test]
    fn lists_take_decimal_commas() {
        assert_eq!(items("7,1MHz, 14,2MHz"), ["7.1MHz", "14.2MHz"]);
        assert_eq!(
            items("7.1MHz,14.2MHz; 50MHz"),
            ["7.1MHz", "14.2MHz", "50MHz"]
        );
        assert!(items(" , ;").is_empty());
    }

    #[test]
    fn a_form_is_read_as_its_verb_reads() {
        let fields = Fields::of::<Asked>(&FIELDS, None);
        let read = |pairs: &[(&str, &str)]| fields.read::<Asked>(&typed(pairs));
        let asked = read(&[("length", "2,4m"), ("frequency", "7,1MHz; 50MHz")]).unwrap();
        assert!((asked.length.value - 2.4).abs() < 1e-12);
        let frequencies: Vec<f64> = asked.frequency.iter().map(|f| f.value).collect();
        assert_eq!(frequencies, [7.1e6, 50e6]);
        assert_eq!(asked.dielectric, None);
        let cases = [
            (vec![], "length", "needed"),
            (vec![("length", "12")], "length", "12m"),
            (
                vec![("length", "12m"), ("frequency", "7")],
                "frequency",
                "7",
            ),
            (
                vec![("length", "12m"), ("dielectric", "wool")],
                "dielectric",
                "wool",
            ),
            (vec![("length", "--json")], "length", "--json"),
        ];
        for (pairs, field, word) in cases {
            let said = read(&pairs).err().expect("it is refused").said;
            assert!(said.of_field(field).is_some(), "{said:?}");
            assert!(said.error.contains(word), "{said:?}");
        }
    }
}
