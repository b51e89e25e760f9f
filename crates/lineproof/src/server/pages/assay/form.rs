//! The left of the page: files, what ended the cable in each, and what is known besides.

use clap::builder::PossibleValue;
use lineproof_core::quantity::format_frequency;
use maud::{Markup, html};

use crate::cli::look;
use crate::finding::Gives;
use crate::server::assays::answer::{AssayAnswer, FileAnswer};
use crate::server::assays::{Ended, Facts};
use crate::server::form::words;

/// A field: name, label, example, and a word on what it is for.
type Field = (&'static str, &'static str, &'static str, &'static str);

/// What is asked first, since it narrows the answer most.
const FIRST: [Field; 3] = [
    (
        "length",
        "Length by tape",
        "2.400m or 7ft10in",
        "between the plugs; gives velocity factor and places",
    ),
    // seen only where a sweep is said to be that of a shorter piece
    (
        "shorter_length",
        "Length of the shorter piece by tape",
        "0.500m",
        "between its plugs",
    ),
    (
        "load_ohms",
        "Calibration load by ohmmeter",
        "49.97",
        "ohm, leads subtracted; every impedance scales with it",
    ),
];

const JACKET: [Field; 4] = [
    ("marked", "Type printed on it", "RG-58C/U", ""),
    ("marked_impedance", "Impedance claimed", "50", "ohm"),
    (
        "marked_velocity_factor",
        "Velocity factor claimed",
        "0.66",
        "",
    ),
    (
        "marked_loss",
        "Loss claimed",
        "8.2dB/100m@100MHz",
        "with the frequency that it holds at",
    ),
];

const LOOK: [Field; 3] = [
    (
        "seen_diameter",
        "Outside diameter",
        "4.95mm",
        "helps to tell types apart",
    ),
    (
        "seen_dielectric_diameter",
        "Diameter over the dielectric",
        "2.95mm",
        "",
    ),
    (
        "seen_inner_diameter",
        "Diameter of the inner conductor",
        "0.90mm",
        "with the one above it tells crushed from wet",
    ),
];

/// What is chosen by eye: name and label, in the order of [`look::by_eye`].
const EYE: [(&str, &str); 3] = [
    ("seen_dielectric", "Dielectric"),
    ("seen_inner", "Inner conductor"),
    ("seen_magnet", "A magnet on the inner conductor"),
];

const USE: [Field; 3] = [
    ("use_at", "Frequency of use", "145MHz", ""),
    (
        "system_impedance",
        "Impedance of the system",
        "50",
        "ohm; the nearest of 50, 75 and 93 if empty",
    ),
    (
        "frequencies",
        "Further frequencies wanted",
        "145MHz; 430MHz",
        "for impedance and loss",
    ),
];

const SETUP: [Field; 7] = [
    (
        "calibration_age",
        "Time since the calibration",
        "40min or 3h",
        "at the sweeps",
    ),
    (
        "tape_error",
        "How far the tape may be off",
        "3mm",
        "95 %; 6 mm and 0.04 % if empty",
    ),
    (
        "far_load_ohms",
        "Another load at the far end",
        "100.1",
        "ohm, if it was not the calibration load",
    ),
    (
        "temperature",
        "Temperature of the cable",
        "21C or 70F",
        "states the loss at 20 °C too",
    ),
    (
        "near_adapter",
        "Adapter at the near end",
        "sma-bnc or 120ps",
        "between the calibrated plane and the plug",
    ),
    (
        "far_adapter",
        "Adapter at the far end",
        "sma-bnc or 120ps",
        "between the plug and what ends the cable",
    ),
    (
        "frequency_unit",
        "Unit of frequency in the files",
        "MHz",
        "only where a file does not say",
    ),
];

/// What a file may be that is no sweep of this cable: what these have in common, and each with its words.
type Kind = (&'static str, &'static [(Ended, &'static str)]);

const AT_PLANE: Kind = (
    "At the calibrated plane, without the cable: shows what has drifted",
    &[
        (Ended::CheckOpen, "open again"),
        (Ended::CheckShort, "short again"),
        (Ended::CheckLoad, "load again"),
        (Ended::CheckPart, "another known part"),
        (Ended::Ripple, "long line, for its ripple"),
    ],
);
const BEFORE: Kind = (
    "Before the near plug, to be taken away; several from the analyser outwards, in the order of this page",
    &[(Ended::TakeAway, "pad or transformer")],
);
const SAME_CABLE: Kind = (
    "The same cable with the same plugs, from port to port; its length is asked below",
    &[(Ended::Shorter, "shorter piece")],
);
const OTHER: [Kind; 3] = [AT_PLANE, BEFORE, SAME_CABLE];

const PART_HINT: &str =
    "a resistor such as 75ohm or 25ohm+-0.05ohm, or a standard of the kit by its name";

/// A text that a file holds: name, label, hint.
type FileText = (&'static str, &'static str, &'static str);

const CRITERIA: FileText = (
    "criteria",
    "Criteria file",
    "what a cable must keep to here; the usual limits if empty",
);
const OWN_TYPES: FileText = (
    "own_types",
    "Types of your own",
    "to be among those that it may be",
);
const KIT: FileText = (
    "kit",
    "Kit file",
    "open, short and load of the calibration as they are, not as the analyser takes them",
);

/// Id and label of the field that takes what an advice gives.
pub(super) fn field_of(gives: Gives) -> (&'static str, &'static str) {
    let [length, _, load] = FIRST;
    match gives {
        Gives::Length => (length.0, length.1),
        Gives::LoadByOhmmeter => (load.0, load.1),
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
                legend { "What you know" }
                (texts.fields(&FIRST))
            }
            (texts.more("jacket", "What the jacket claims", &JACKET, &[], &html! {}))
            (texts.more("look", "What caliper and eye say", &LOOK, &OF_LOOK, &texts.look()))
            (texts.more("use", "What it is for", &USE, &[CRITERIA.0], &texts.file(CRITERIA)))
            (texts.more("setup", "Set-up", &SETUP, &[KIT.0], &texts.kit()))
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
                    "Keys on a sweep: " kbd { "O" } " open, " kbd { "S" } " short, " kbd { "L" } " load, " kbd { "T" } " through"
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
    let key = |ended: Ended, words: &str| {
        let name = ended.name();
        let id = format!("end-{number}-{name}");
        html! {
            label for=(id) {
                input type="radio" id=(id) name={ "far_end_" (number) } value=(name)
                    checked[checked == Some(name)];
                (words)
            }
        }
    };
    html! {
        fieldset.sweep data-said=(file.said.name()) {
            legend { (file.name) }
            div.choice { @for ended in Ended::ALL { (key(ended, &ended.name().replace('-', " "))) } }
            details.other id={ "other-" (number) } open[is_other(file.said)] {
                summary { "Not a sweep of this cable" }
                @for (at, (hint, kinds)) in OTHER.into_iter().enumerate() {
                    @let id = format!("other-{number}-{at}");
                    p.hint id=(id) { (hint) }
                    div.choice role="group" aria-labelledby=(id) {
                        @for (ended, words) in kinds { (key(*ended, words)) }
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
    let mut kinds = OTHER.into_iter().flat_map(|(_, kinds)| kinds);
    kinds.any(|(ended, _)| *ended == said)
}

/// The report without its last line, which stands below it as a sentence.
fn without_help(report: &str) -> &str {
    report.split("\nhelp: ").next().unwrap_or(report)
}

/// Texts as they were typed, and what is wrong with them.
struct Texts<'a> {
    typed: serde_json::Value,
    answer: Option<&'a AssayAnswer>,
}

/// What of the group of caliper and eye is no field for a text.
const OF_LOOK: [&str; 4] = [EYE[0].0, EYE[1].0, EYE[2].0, OWN_TYPES.0];

impl<'a> Texts<'a> {
    fn of(answer: Option<&'a AssayAnswer>) -> Self {
        let facts = answer.map_or_else(Facts::default, |a| a.facts.clone());
        let typed = serde_json::to_value(facts).expect("facts hold only words");
        Self { typed, answer }
    }

    fn text(&self, name: &str) -> &str {
        self.typed[name].as_str().unwrap_or_default()
    }

    fn wrong(&self, name: &str) -> Option<&'a str> {
        let fields = &self.answer?.refused.as_ref()?.fields;
        let found = fields.iter().find(|f| f.field == name)?;
        Some(&found.error)
    }

    fn fields(&self, fields: &[Field]) -> Markup {
        html! {
            @for field in fields { (self.field(*field)) }
        }
    }

    /// Fields that fold away, with others of these names behind them; open if one of them was used.
    fn more(
        &self,
        id: &str,
        name: &str,
        fields: &[Field],
        other_names: &[&str],
        others: &Markup,
    ) -> Markup {
        let mut names = fields
            .iter()
            .map(|f| f.0)
            .chain(other_names.iter().copied());
        let used = names.any(|name| !self.text(name).is_empty());
        html! {
            details id={ "more-" (id) } open[used] {
                summary { (name) }
                div.group { (self.fields(fields)) (others) }
            }
        }
    }

    /// A text that a file holds: chosen, or written here.
    fn file(&self, (name, label, hint): FileText) -> Markup {
        let wrong = self.wrong(name);
        html! {
            div.field data-field=(name) {
                label for=(name) { (label) }
                textarea id=(name) name=(name) rows="3" spellcheck="false" placeholder="TOML"
                    aria-describedby={ (name) "-hint " (name) "-wrong" } aria-invalid=[wrong.map(|_| "true")] {
                    (self.text(name))
                }
                label.button.chooser for={ (name) "-file" } hidden {
                    "Choose a file" span.hush { ": " (label) }
                    input.hush id={ (name) "-file" } type="file" accept=".toml,text/plain" data-into=(name);
                }
                p.hint id={ (name) "-hint" } { (hint) }
                p.wrong.lines id={ (name) "-wrong" } { (wrong.unwrap_or_default()) }
            }
        }
    }

    fn look(&self) -> Markup {
        html! {
            @for ((name, label), values) in EYE.into_iter().zip(look::by_eye()) {
                (self.choice(name, label, &values))
            }
            (self.file(OWN_TYPES))
        }
    }

    /// One of a few, or nothing said.
    fn choice(&self, name: &str, label: &str, values: &[PossibleValue]) -> Markup {
        let wrong = self.wrong(name);
        html! {
            div.field data-field=(name) {
                label for=(name) { (label) }
                select id=(name) name=(name) aria-describedby={ (name) "-wrong" }
                    aria-invalid=[wrong.map(|_| "true")] {
                    option value="" { "not said" }
                    @for (value, text) in values.iter().map(words) {
                        option value=(value) selected[value == self.text(name)] { (text) }
                    }
                }
                p.wrong id={ (name) "-wrong" } { (wrong.unwrap_or_default()) }
            }
        }
    }

    /// Which part was at the plane in the file with this number; seen only where another part is said.
    fn part(&self, number: usize) -> Markup {
        let name = format!("part_{number}");
        let typed = self.typed["parts"][number].as_str().unwrap_or_default();
        let field = (name.as_str(), "Which part", "75ohm", PART_HINT);
        html! { div.part { (self.input(field, typed)) } }
    }

    fn kit(&self) -> Markup {
        let corrected = !self.text("corrected").is_empty();
        html! {
            (self.file(KIT))
            div.field data-field="corrected" {
                label for="corrected" { "With this kit the sweeps are" }
                select id="corrected" name="corrected" {
                    option value="" { "as the analyser gave them" }
                    option value="yes" selected[corrected] { "corrected for what the kit is" }
                }
                p.wrong id="corrected-wrong" {}
            }
        }
    }

    fn field(&self, field: Field) -> Markup {
        self.input(field, self.text(field.0))
    }

    fn input(&self, (name, label, example, hint): (&str, &str, &str, &str), typed: &str) -> Markup {
        let wrong = self.wrong(name);
        html! {
            div.field data-field=(name) {
                label for=(name) { (label) }
                input id=(name) name=(name) value=(typed) placeholder=(example)
                    autocomplete="off" spellcheck="false" aria-describedby={ (name) "-hint " (name) "-wrong" }
                    aria-invalid=[wrong.map(|_| "true")];
                p.hint id={ (name) "-hint" } { (hint) }
                p.wrong id={ (name) "-wrong" } { (wrong.unwrap_or_default()) }
            }
        }
    }
}
