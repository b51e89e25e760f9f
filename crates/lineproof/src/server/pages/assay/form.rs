//! The left of the page: files, what ended the cable in each, and what is known besides.

use lineproof_core::quantity::format_frequency;
use maud::{Markup, html};

use crate::finding::Gives;
use crate::server::assays::answer::{AssayAnswer, FileAnswer};
use crate::server::assays::{Ended, Facts};

/// A field: name, label, example, and a word on what it is for.
type Field = (&'static str, &'static str, &'static str, &'static str);

/// What is asked first, since it narrows the answer most.
const FIRST: [Field; 2] = [
    (
        "length",
        "Length by tape",
        "2.400m or 7ft10in",
        "between the plugs; gives velocity factor and places",
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

const CALIPER: [Field; 3] = [
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

const SETUP: [Field; 5] = [
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

/// Words for the standards swept again, in the order of [`Ended::CHECKS`].
const AGAIN: [&str; 3] = ["open again", "short again", "load again"];

/// A text that a file holds: name, label, ending, hint.
type FileText = (&'static str, &'static str, &'static str);

const CRITERIA: FileText = (
    "criteria",
    "Criteria file",
    "what a cable must keep to here; the usual limits if empty",
);
const KIT: FileText = (
    "kit",
    "Kit file",
    "open, short and load of the calibration as they are, not as the analyser takes them",
);

/// Id and label of the field that takes what an advice gives.
pub(super) fn field_of(gives: Gives) -> (&'static str, &'static str) {
    let [length, load] = FIRST;
    match gives {
        Gives::Length => (length.0, length.1),
        Gives::LoadByOhmmeter => (load.0, load.1),
    }
}

/// The whole form.
pub(super) fn form(answer: Option<&AssayAnswer>, facts: &Facts, files: &[FileAnswer]) -> Markup {
    let id = answer.map(|a| a.id.as_str());
    let action = id.map_or_else(|| "/assay".to_owned(), |id| format!("/assay/{id}"));
    let texts = Texts::of(facts, answer);
    html! {
        form.stand.screen id="form" method="post" action=(action) enctype="multipart/form-data"
            data-id=[id] {
            (drop_zone(files.is_empty()))
            div id="trouble" role="alert" {}
            (sweeps(files))
            fieldset.group {
                legend { "What you know" }
                (texts.fields(&FIRST))
            }
            (texts.more("jacket", "What the jacket claims", &JACKET, &html! {}))
            (texts.more("caliper", "What a caliper says", &CALIPER, &html! {}))
            (texts.more("use", "What it is for", &USE, &texts.file(CRITERIA)))
            (texts.more("setup", "Set-up", &SETUP, &texts.kit()))
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
pub(super) fn sweeps(files: &[FileAnswer]) -> Markup {
    html! {
        div id="sweeps" {
            @if !files.is_empty() {
                h2 { "What ended the cable?" }
                p.hint.keys hidden {
                    "Keys on a sweep: " kbd { "O" } " open, " kbd { "S" } " short, " kbd { "L" } " load, " kbd { "T" } " through"
                }
                @for (number, file) in files.iter().enumerate() { (sweep(number, file)) }
            }
        }
    }
}

fn sweep(number: usize, file: &FileAnswer) -> Markup {
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
            details.check open[Ended::CHECKS.contains(&file.said)] {
                summary { "No cable: a standard swept again" }
                p.hint { "the kit’s own part at the plane, after the calibration; shows what has drifted" }
                div.choice {
                    @for (ended, words) in Ended::CHECKS.into_iter().zip(AGAIN) { (key(ended, words)) }
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

/// The report without its last line, which stands below it as a sentence.
fn without_help(report: &str) -> &str {
    report.split("\nhelp: ").next().unwrap_or(report)
}

/// Texts as they were typed, and what is wrong with them.
struct Texts<'a> {
    typed: serde_json::Value,
    answer: Option<&'a AssayAnswer>,
}

impl<'a> Texts<'a> {
    fn of(facts: &Facts, answer: Option<&'a AssayAnswer>) -> Self {
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

    /// Fields that fold away, with others behind them; open if one of them was used.
    fn more(&self, id: &str, name: &str, fields: &[Field], others: &Markup) -> Markup {
        let of_file = match id {
            "use" => self.text(CRITERIA.0),
            "setup" => self.text(KIT.0),
            _ => "",
        };
        let used = fields.iter().any(|f| !self.text(f.0).is_empty()) || !of_file.is_empty();
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

    fn field(&self, (name, label, example, hint): Field) -> Markup {
        let wrong = self.wrong(name);
        html! {
            div.field data-field=(name) {
                label for=(name) { (label) }
                input id=(name) name=(name) value=(self.text(name)) placeholder=(example)
                    autocomplete="off" spellcheck="false" aria-describedby={ (name) "-hint " (name) "-wrong" }
                    aria-invalid=[wrong.map(|_| "true")];
                p.hint id={ (name) "-hint" } { (hint) }
                p.wrong id={ (name) "-wrong" } { (wrong.unwrap_or_default()) }
            }
        }
    }
}
