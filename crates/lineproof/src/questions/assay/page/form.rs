//! The left of the page: files, what ended the cable in each, and what is known besides.

use lineproof_core::quantity::format_frequency;
use maud::{Markup, html};

use crate::facts::ends::{self, Asked, End};
use crate::facts::{Ended, Group, Question, Row, Shape, table};
use crate::questions::assay::sessions::Facts;
use crate::questions::assay::sessions::answer::AssayAnswer;
use crate::questions::assay::sessions::file::FileAnswer;
use crate::server::form::words;

/// What a file may be that is no sweep of this cable, with what these have in common.
const OTHER: [(&str, Asked); 3] = [
    (
        "Measured at the calibrated plane, without the cable; shows the drift",
        Asked::Part,
    ),
    (
        "Before the near plug, to de-embed; list several from the analyser outwards, in the order of this page",
        Asked::TwoPort,
    ),
    (
        "The same cable with the same plugs, from port to port; enter its length below",
        Asked::Piece,
    ),
];

const PART_NOTE: &str =
    "a resistor such as 75ohm or 25ohm+-0.05ohm, or a standard of the kit by its name";

/// Id of what folds away of a group.
fn id(group: Group) -> &'static str {
    match group {
        Group::Known => "more-known",
        Group::Jacket => "more-jacket",
        Group::Look => "more-look",
        Group::Purpose => "more-use",
        Group::Plane => "more-setup",
        Group::Reading => "more-files",
        Group::Own(heading) => heading,
    }
}

/// The whole form.
pub(super) fn form(answer: Option<&AssayAnswer>) -> Markup {
    let id = answer.map(|a| a.id.as_str());
    let action = id.map_or_else(|| "/assay".to_owned(), |id| format!("/assay/{id}"));
    let texts = Texts::of(answer);
    html! {
        form.stand.screen id="form" method="post" action=(action) enctype="multipart/form-data"
            data-id=[id] {
            (drop_zone(answer.is_none_or(|a| a.files.is_empty())))
            div id="trouble" role="alert" {}
            (sweeps(answer))
            fieldset.group {
                legend { (Group::Known.heading()) }
                @for fact in asked(Group::Known).filter(|f| f.about().first) { (texts.field(fact)) }
            }
            @for group in Group::OF_AN_ASSAY { (texts.more(group)) }
            noscript { div.actions { button.main { "Find" } } }
        }
    }
}

fn drop_zone(first: bool) -> Markup {
    html! {
        div.drop id="drop" {
            p.call {
                @if first { "Drop the sweeps of one cable here" } @else { "Drop more sweeps of this cable here" }
            }
            div.actions {
                label.button for="files" {
                    "Choose files"
                    input.hush id="files" name="files" type="file" multiple
                        accept=".s1p,.s2p,.ts,.csv,.txt,.tsv";
                }
                label.button id="folder-label" for="folder" hidden {
                    "Choose a folder"
                    input.hush id="folder" type="file" webkitdirectory;
                }
                @if !first { a.button href="/" { "Another cable" } }
            }
            p.hint { "Touchstone (.s1p, .s2p) or a table with a header" }
        }
    }
}

/// The files, each with what ended the cable.
pub(super) fn sweeps(answer: Option<&AssayAnswer>) -> Markup {
    let files = answer.map_or(&[][..], |a| &a.files);
    let texts = Texts::of(answer);
    html! {
        div id="sweeps" {
            @if !files.is_empty() {
                h2 { "What ended the cable?" }
                p.hint.keys hidden {
                    "Keys while a sweep has the focus: " kbd { "O" } " open, " kbd { "S" } " short, " kbd { "L" } " load, " kbd { "T" } " through"
                }
                @for (number, file) in files.iter().enumerate() { (sweep(number, file, &texts)) }
            }
        }
    }
}

fn sweep(number: usize, file: &FileAnswer, texts: &Texts<'_>) -> Markup {
    let taken = file.taken_as.as_deref();
    let checked = if file.said == Ended::Judge {
        taken
    } else {
        Some(file.said.name())
    };
    let key = |End { name, label, .. }: &End| {
        let id = format!("end-{number}-{name}");
        html! {
            label for=(id) {
                input type="radio" id=(id) name={ "far_end_" (number) } value=(name)
                    checked[checked == Some(name)];
                (label)
            }
        }
    };
    html! {
        fieldset.sweep data-said=(file.said.name()) {
            legend { (file.name) }
            div.choice { @for end in ends::asked(Asked::AtOnce) { (key(end)) } }
            details.other id={ "other-" (number) } open[is_other(file.said)] {
                summary { "Not a sweep of this cable" }
                @for (at, (hint, there)) in OTHER.into_iter().enumerate() {
                    @let id = format!("other-{number}-{at}");
                    p.hint id=(id) { (hint) }
                    div.choice role="group" aria-labelledby=(id) {
                        @for end in ends::asked(there) { (key(end)) }
                    }
                    @if at == 0 { (texts.part(number)) }
                }
            }
            @if let Some(error) = &file.error {
                div.refused {
                    p {
                        (file.name)
                        @if let Some(line) = error.line { ", line " (line) }
                        ": " (error.error)
                    }
                    @if let Some(report) = &error.report { pre tabindex="0" { (without_help(report)) } }
                    @if let Some(help) = &error.help { p { (help) } }
                }
            } @else {
                p.hint {
                    @if let (Some(points), Some(start), Some(stop)) = (file.points, file.start_hz, file.stop_hz) {
                        (points) " points, " (format_frequency(start)) " to " (format_frequency(stop))
                    }
                    @if file.said == Ended::Judge {
                        @match taken {
                            Some("through") => { "; two ports" }
                            Some(_) => { "; guessed from data and name" }
                            None => {}
                        }
                    }
                }
            }
        }
    }
}

fn is_other(said: Ended) -> bool {
    let mut others = OTHER.into_iter().flat_map(|(_, there)| ends::asked(there));
    others.any(|end| end.ended == said)
}

/// The report without its last line, which stands below it as a sentence.
fn without_help(report: &str) -> &str {
    report.split("\nhelp: ").next().unwrap_or(report)
}

/// What an assay asks of this group.
fn asked(group: Group) -> impl Iterator<Item = &'static dyn Row> {
    table::taken_by(Question::Assay).filter(move |fact| fact.about().group == group)
}

/// Texts as they were typed, and what is wrong with them.
struct Texts<'a> {
    typed: Facts,
    answer: Option<&'a AssayAnswer>,
}

/// A field as it is shown: its name, its words, what stands in it.
#[derive(Clone, Copy)]
struct Field<'a> {
    name: &'a str,
    label: &'a str,
    hint: &'a str,
    note: &'a str,
    typed: &'a str,
    wrong: Option<&'a str>,
}

impl<'a> Texts<'a> {
    fn of(answer: Option<&'a AssayAnswer>) -> Self {
        let typed = answer.map_or_else(Facts::default, |a| a.facts.clone());
        Self { typed, answer }
    }

    fn wrong(&self, name: &str) -> Option<&'a str> {
        self.answer?.refused.as_ref()?.of_field(name)
    }

    /// Fields that fold away; open if one of them was used.
    fn more(&self, group: Group) -> Markup {
        let folded = || asked(group).filter(|fact| !fact.about().first);
        let used = folded().any(|fact| self.typed.said.has(fact));
        let title = match group {
            Group::Known => "More facts",
            group => group.heading(),
        };
        html! {
            details id=(id(group)) open[used] {
                summary { (title) }
                div.group { @for fact in folded() { (self.field(fact)) } }
            }
        }
    }

    fn field(&self, fact: &dyn Row) -> Markup {
        let about = fact.about();
        let field = Field {
            name: about.name,
            label: about.label,
            hint: about.hint,
            note: about.note,
            typed: self.typed.said.text(fact),
            wrong: self.wrong(about.name),
        };
        match fact.shape() {
            Shape::Choice(_, choices) => {
                let choices = choices.iter();
                field.choice(
                    "not said",
                    &choices
                        .map(|(word, looks)| (*word, words(word, looks)))
                        .collect::<Vec<_>>(),
                )
            }
            Shape::Flag => field.choice("no", &[("yes", "yes".to_owned())]),
            Shape::File => field.file(),
            Shape::Quantity(_) | Shape::Several(_) | Shape::Text(_) | Shape::TextOrFile(..) => {
                field.input()
            }
        }
    }

    /// Which part was at the plane in the file with this number; seen only where another part is said.
    fn part(&self, number: usize) -> Markup {
        let name = format!("part_{number}");
        let field = Field {
            name: &name,
            label: "Which part",
            hint: "75ohm",
            note: PART_NOTE,
            typed: self.typed.part(number),
            wrong: self.wrong(&name),
        };
        html! { div.part { (field.input()) } }
    }
}

impl Field<'_> {
    fn input(self) -> Markup {
        let name = self.name;
        self.around(&html! {
            input id=(name) name=(name) value=(self.typed) placeholder=(self.hint)
                autocomplete="off" spellcheck="false" aria-describedby=(self.described_by())
                aria-invalid=[self.wrong.map(|_| "true")];
        })
    }

    /// One of a few, or `nothing`.
    fn choice(self, nothing: &str, choices: &[(&str, String)]) -> Markup {
        let name = self.name;
        self.around(&html! {
            select id=(name) name=(name) aria-describedby=(self.described_by())
                aria-invalid=[self.wrong.map(|_| "true")] {
                option value="" { (nothing) }
                @for (value, text) in choices {
                    option value=(value) selected[*value == self.typed] { (text) }
                }
            }
        })
    }

    /// A text that a file holds: chosen, or written here.
    fn file(self) -> Markup {
        let name = self.name;
        self.around(&html! {
            textarea id=(name) name=(name) rows="3" spellcheck="false" placeholder=(self.hint)
                aria-describedby=(self.described_by()) aria-invalid=[self.wrong.map(|_| "true")] {
                (self.typed)
            }
            label.button.chooser for={ (name) "-file" } hidden {
                "Choose a file" span.hush { ": " (self.label) }
                input.hush id={ (name) "-file" } type="file" accept=".toml,text/plain" data-into=(name);
            }
        })
    }

    fn around(self, control: &Markup) -> Markup {
        let name = self.name;
        html! {
            div.field data-field=(name) {
                label for=(name) { (self.label) }
                (control)
                p.hint id={ (name) "-hint" } { (self.note) }
                p.wrong.lines id={ (name) "-wrong" } { (self.wrong.unwrap_or_default()) }
            }
        }
    }

    fn described_by(self) -> String {
        format!("{0}-hint {0}-wrong", self.name)
    }
}
