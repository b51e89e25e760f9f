//! What a report of a finding says, apart from how it looks: text, page, HTML, PDF and the table of numbers
//! are made from this, so that none says more, less or otherwise than another.

use lineproof_core::finding::judge::advice::line_cautions;
use lineproof_core::finding::judge::beside::{Beside, beside};
use lineproof_core::quantity::format_frequency;

use super::number::{pair, percent, rounded, short, significant};
use super::subject::Subject;
use super::summary::summary;
use super::units::Units;
use crate::finding::{
    Condition, CriterionFound, ElectricalLengthRow, EventFound, EventKind, Finding, InputRow,
    LeastDentFound, LossRow, MarkingFound, MethodFound, ProfileFound, TypeFound, VerdictFound,
};
use crate::workflow::pictures;

/// A name and what is said of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// The name; empty where it is the one before.
    pub name: &'static str,
    /// What is said.
    pub text: String,
    /// Number of the event that it is about.
    pub event: Option<usize>,
}

/// A number with its 95 % interval.
#[derive(Clone, Debug, PartialEq)]
pub struct Number {
    /// What it is; empty where it is the one before.
    pub name: &'static str,
    /// The value, rounded to its interval.
    pub value: String,
    /// The half-width; empty of what has none.
    pub u95: String,
    /// The unit of both.
    pub unit: &'static str,
    /// What goes with it.
    pub note: String,
}

/// A picture of a finding.
#[derive(Clone, Debug)]
pub struct Picture {
    /// Its name: `smith`, `profile`, `loss` or `return-loss`.
    pub name: &'static str,
    /// The SVG.
    pub svg: String,
    /// What stands below it.
    pub caption: String,
}

/// Title of a report.
pub fn title(subjects: &[Subject]) -> String {
    match subjects {
        [only] => format!("Cable {}", only.name),
        many => format!("{} cables", many.len()),
    }
}

/// How many cables there are for each thing to do, the most frequent first.
pub fn counts(subjects: &[Subject]) -> String {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for subject in subjects {
        let words = to_do(&subject.finding);
        match counts.iter_mut().find(|(known, _)| *known == words) {
            Some((_, count)) => *count += 1,
            None => counts.push((words, 1)),
        }
    }
    counts.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(b.0)));
    let counts = counts
        .iter()
        .map(|(words, count)| format!("{words}: {count}"));
    counts.collect::<Vec<_>>().join(", ")
}

fn to_do(finding: &Finding) -> &'static str {
    let verdict = finding.verdict.as_ref();
    verdict.map_or("not judged", |verdict| verdict.action.words())
}

/// Headings of the table of cables.
pub const OVERVIEW_COLUMNS: [&str; 4] = ["cable", "found", "condition", "what to do"];

/// A cable's row in the table of all.
pub fn overview(subject: &Subject, units: Units) -> [String; 4] {
    let Subject { name, finding, .. } = subject;
    [
        name.clone(),
        summary(finding, units),
        finding.condition.to_string(),
        to_do(finding).to_owned(),
    ]
}

/// What the owner says of it, and when it was measured.
pub fn facts(subject: &Subject) -> String {
    let measured = (!subject.day.is_empty()).then(|| format!("measured {}", subject.day));
    let given = (!subject.description.is_empty()).then(|| subject.description.clone());
    let facts: Vec<String> = given.into_iter().chain(measured).collect();
    facts.join(", ")
}

/// Whether it is sound, what to do, why, and what it seems to be.
pub fn decision(finding: &Finding, units: Units) -> Vec<Row> {
    let mut rows = Rows::default();
    rows.add("Condition", finding.condition.name());
    rows.list("", units.texts(&finding.condition_reasons));
    if let Some(verdict) = &finding.verdict {
        rows.add("What to do", verdict.action.words());
        rows.list("Why, how", units.texts(&verdict.reasons));
    }
    if finding.condition == Condition::Undetermined {
        rows.list("Warnings", warnings(finding, units));
    }
    for (i, event) in finding.events.iter().enumerate() {
        rows.add("Found", event_text(event, finding, units));
        rows.0.last_mut().expect("it was just added").event = Some(i);
    }
    rows.list("Cause", causes(finding, units));
    if let Some(marking) = &finding.marking {
        rows.add("Jacket", jacket(marking));
        rows.list("", against_marking(marking, units));
    }
    rows.list("Type", finding.types.iter().map(type_text));
    rows.0
}

#[derive(Default)]
struct Rows(Vec<Row>);

impl Rows {
    fn add(&mut self, name: &'static str, text: impl Into<String>) {
        self.0.push(Row {
            name,
            text: text.into(),
            event: None,
        });
    }

    /// Texts of which only the first is named.
    fn list(&mut self, name: &'static str, texts: impl IntoIterator<Item = String>) {
        for (i, text) in texts.into_iter().enumerate() {
            self.add(if i == 0 { name } else { "" }, text);
        }
    }
}

/// An event with its place from both ends, and the cable's own impedance beside that there.
pub fn event_text(event: &EventFound, finding: &Finding, units: Units) -> String {
    let own = own_impedance(event, finding).filter(|_| event.beside_ohm.is_none());
    let own = own.map_or_else(String::new, |own| format!(" {own}"));
    let far = from_far(event).map_or_else(String::new, |far| format!("; {far}"));
    units.text(&format!("{}{own}{far}", event.text()))
}

/// What an event's sentence does not say of it: its length, its place from the far end, and what it lies in.
pub(super) fn event_details(event: &EventFound, finding: &Finding) -> Vec<String> {
    let length = event.length_m.filter(|_| event.kind != EventKind::Wet);
    let length = length.map(|m| format!("over {m:.3} m"));
    let parts = [length, own_impedance(event, finding), from_far(event)];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() {
        return Vec::new();
    }
    vec![parts.join(", ")]
}

fn own_impedance(event: &EventFound, finding: &Finding) -> Option<String> {
    let z = finding
        .impedance
        .filter(|_| event.impedance_ohm.is_some())?;
    Some(format!("in cable of {} ohm", short(z.ohm, z.u95_ohm)))
}

fn from_far(event: &EventFound) -> Option<String> {
    let far = event.from_far_m.filter(|m| *m >= 0.0)?;
    Some(format!("{far:.2} m from the far end"))
}

/// What physics says of each event's cause.
pub fn causes(finding: &Finding, units: Units) -> Vec<String> {
    let causes = finding.events.iter().filter_map(|e| e.cause.as_ref());
    units.texts(causes)
}

fn jacket(marking: &MarkingFound) -> String {
    let what = marking.designation.as_deref().unwrap_or("its figures");
    let judged = match marking.agrees {
        Some(true) => "agrees",
        Some(false) => "does not agree",
        None => "nothing to compare",
    };
    format!("{what}: {judged}")
}

/// What does not agree with the jacket, why, and what could not be compared.
pub fn against_marking(marking: &MarkingFound, units: Units) -> Vec<String> {
    let differences = marking.differences.iter().map(|d| &d.text);
    let besides = marking.explanation.iter().chain(&marking.remarks);
    units.texts(differences.chain(besides))
}

/// Most members of a group that a line names.
const MOST_NAMED: usize = 4;

/// A type with its probability and those that are the same cable.
fn type_text(found: &TypeFound) -> String {
    let also = same_as(found).map_or_else(String::new, |also| format!("; {also}"));
    format!(
        "{} ({}){also}",
        found.designation,
        percent(found.probability)
    )
}

/// The types that are electrically the same cable, in words.
pub fn same_as(found: &TypeFound) -> Option<String> {
    let named = found.same_as.iter().take(MOST_NAMED).cloned();
    let mut also: Vec<String> = named.collect();
    let more = found.same_as.len().saturating_sub(MOST_NAMED);
    also.extend((more > 0).then(|| format!("{more} more")));
    (!also.is_empty()).then(|| format!("the same electrically: {}", also.join(", ")))
}

/// Heading of the criteria.
pub const CRITERIA: &str = "Criteria";

/// Each criterion: whether it passes, what was found with its limit, where the limit comes from.
pub fn criteria(verdict: Option<&VerdictFound>, units: Units) -> Vec<[String; 3]> {
    let criteria = verdict.map_or(&[][..], |verdict| &verdict.criteria);
    let row = |c: &CriterionFound| {
        let passed = if c.passed { "pass" } else { "FAIL" };
        let limit = if c.set {
            "limit from your criteria file".to_owned()
        } else {
            format!("default: {}", c.source)
        };
        [passed.to_owned(), units.text(&c.text), limit]
    };
    criteria.iter().map(row).collect()
}

/// Heading of the numbers.
pub const NUMBERS: &str = "Results, each with its 95 % interval";

#[derive(Default)]
struct Numbers(Vec<Number>);

impl Numbers {
    fn add(
        &mut self,
        name: &'static str,
        (value, u95): (f64, f64),
        unit: &'static str,
        note: impl Into<String>,
    ) {
        let (value, u95) = pair(value, u95);
        self.0.push(Number {
            name,
            value,
            u95,
            unit,
            note: note.into(),
        });
    }
}

/// Every number of the cable: its name, value with interval, unit, and what goes with it.
pub fn numbers(finding: &Finding, units: Units) -> Vec<Number> {
    let mut rows = Numbers::default();
    impedances(finding, &mut rows);
    if let Some(d) = finding.delay {
        let note = format!("one way, at {}", format_frequency(d.at_hz));
        rows.add("delay", (d.one_way_s * 1e9, d.u95_s * 1e9), "ns", note);
        if let (Some(s), Some(u95_s)) = (d.between_plugs_s, d.u95_between_plugs_s) {
            rows.add("", (s * 1e9, u95_s * 1e9), "ns", "between the plugs");
        }
    }
    if let Some(vf) = finding.velocity_factor {
        rows.add("velocity factor", (vf.ratio, vf.u95), "", "");
    }
    if let Some(length) = finding.length {
        let value = (units.of_m(length.m), units.of_m(length.u95_m));
        rows.add("length", value, units.length(), length.basis.words());
    }
    for (i, row) in finding.loss.iter().enumerate() {
        let name = if i == 0 { "loss" } else { "" };
        rows.add(name, (row.db, row.u95_db), "dB", loss_note(row, units));
    }
    loss_parts(finding, &mut rows);
    as_it_lies(finding, &mut rows);
    let mut rows = rows.0;
    rows.extend(finding.temperature_c.map(temperature));
    rows
}

fn impedances(finding: &Finding, rows: &mut Numbers) {
    if let Some(z) = finding.impedance {
        let at = format_frequency(z.at_hz);
        let note = format!("at {at}, limited by {}", z.limited_by);
        rows.add("impedance", (z.ohm, z.u95_ohm), "ohm", note);
    }
    for row in &finding.impedances {
        let note = at(row.at_hz, row.extrapolated);
        rows.add("", (row.ohm, row.u95_ohm), "ohm", note);
    }
    if let Some(z) = finding.impedance_limit {
        let note = "at high frequency";
        rows.add("", (z.ohm, z.u95_ohm), "ohm", note);
    }
}

/// Insertion loss and input of the piece as it lies.
fn as_it_lies(finding: &Finding, rows: &mut Numbers) {
    for (i, row) in finding.insertion_loss.iter().enumerate() {
        let name = if i == 0 { "insertion loss" } else { "" };
        let ohm = row.between_ohm;
        let at = format_frequency(row.at_hz);
        let note = if i == 0 {
            format!("at {at}, faults and plugs included, between {ohm} ohm")
        } else {
            format!("at {at}")
        };
        rows.add(name, (row.db, row.u95_db), "dB", note);
    }
    let mut inputs: Vec<Number> = finding.input.iter().map(input).collect();
    inputs.iter_mut().skip(1).for_each(|row| row.name = "");
    rows.0.extend(inputs);
    for (i, row) in finding.electrical_length.iter().enumerate() {
        electrical_length(row, i == 0, rows);
    }
}

fn electrical_length(row: &ElectricalLengthRow, first: bool, rows: &mut Numbers) {
    let name = if first { "electrical length" } else { "" };
    let note = at(row.at_hz, row.extrapolated);
    let value = (row.deg, row.u95_deg);
    rows.add(name, value, "°", format!("{note}, with plugs"));
}

/// The least return loss at the input; where the interval reaches total reflection, all may come back.
pub(super) fn least_return_loss(row: &InputRow) -> String {
    if row.vswr.is_none() || row.return_loss_db < NO_RETURN_LOSS_DB {
        return "0.0 dB".to_owned();
    }
    format!("≥ {} dB", significant(row.return_loss_db, 3))
}

/// Return loss that one decimal shows as zero, dB.
const NO_RETURN_LOSS_DB: f64 = 0.05;

fn input(row: &InputRow) -> Number {
    let sign = if row.reactance_ohm < 0.0 { '−' } else { '+' };
    let vswr = row
        .vswr
        .map_or_else(String::new, |s| format!(", VSWR ≤ {}", significant(s, 3)));
    Number {
        name: "input",
        value: format!(
            "{} {sign} j{}",
            significant(row.resistance_ohm, 3),
            significant(row.reactance_ohm.abs(), 3)
        ),
        u95: String::new(),
        unit: "ohm",
        note: format!(
            "at {}, return loss {}{vswr}",
            format_frequency(row.at_hz),
            least_return_loss(row)
        ),
    }
}

fn loss_parts(finding: &Finding, rows: &mut Numbers) {
    let Some(parts) = &finding.loss_parts else {
        return;
    };
    let at = format_frequency(parts.at_hz);
    let conductor = parts.conductor_db.zip(parts.u95_conductor_db);
    let dielectric = parts.dielectric_db.zip(parts.u95_dielectric_db);
    for (name, part) in [("conductors", conductor), ("dielectric", dielectric)] {
        if let Some(part) = part {
            rows.add("", part, "dB", format!("of it in the {name}, at {at}"));
        }
    }
}

fn temperature(celsius: f64) -> Number {
    Number {
        name: "temperature",
        value: significant(celsius, 3),
        u95: String::new(),
        unit: "°C",
        note: "of the cable during the sweeps".to_owned(),
    }
}

fn loss_note(row: &LossRow, units: Units) -> String {
    let mut notes = vec![at(row.at_hz, row.extrapolated)];
    if let (Some(db), Some(u95)) = (row.db_per_100m, row.u95_db_per_100m)
        && db > u95
    {
        let db = rounded(units.of_db_per_100m(db), units.of_db_per_100m(u95));
        notes.push(format!("{db} {}", units.attenuation()));
    }
    if let (Some(db), Some(u95)) = (row.db_at_20c, row.u95_db_at_20c) {
        notes.push(format!("{} dB at 20 °C", rounded(db, u95)));
    }
    notes.join(", ")
}

fn at(freq_hz: f64, extrapolated: bool) -> String {
    format!("at {}", frequency(freq_hz, extrapolated))
}

/// A frequency, and whether the sweeps reach it.
fn frequency(freq_hz: f64, extrapolated: bool) -> String {
    let beyond = if extrapolated {
        " (beyond the sweeps)"
    } else {
        ""
    };
    format!("{}{beyond}", format_frequency(freq_hz))
}

/// What belongs below the numbers: why a part of the loss is absent.
pub fn below_numbers(finding: &Finding, units: Units) -> Vec<String> {
    let parts = finding.loss_parts.as_ref();
    units.texts(parts.and_then(|parts| parts.reason.as_ref()))
}

/// Headings of the table of the piece in its system.
pub const SYSTEM_COLUMNS: [&str; 6] = [
    "",
    "VSWR",
    "return loss",
    "VSWR, worst length",
    "return loss",
    "more loss",
];

/// The piece between ends of the impedance that was named: heading and rows.
pub fn in_system(finding: &Finding) -> Option<(String, Vec<[String; 6]>)> {
    let system = finding.system.as_ref()?;
    let rows = system.rows.iter().map(|row| {
        [
            format_frequency(row.at_hz),
            format!("{:.2}", row.highest_swr),
            format!("{:.1} dB", row.least_return_loss_db),
            format!("{:.2}", row.swr_at_worst_length),
            format!("{:.1} dB", row.return_loss_db_at_worst_length),
            format!("{:.2} dB", row.most_extra_loss_db),
        ]
    });
    let heading = format!(
        "VSWR and return loss between {} ohm at both ends, at most",
        system.ohm
    );
    Some((heading, rows.collect()))
}

/// Sentences under a heading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sentences {
    /// The heading.
    pub heading: &'static str,
    /// The sentences; none if there is nothing to say.
    pub items: Vec<String>,
}

/// What stands beside the numbers: the calibration, the caliper, and how small a fault would have shown.
pub fn beside_numbers(finding: &Finding, units: Units) -> [Sentences; 3] {
    let left = finding.calibration.iter().map(|left| &left.text);
    let caliper = finding.geometry.iter().map(|found| &found.text);
    [
        Sentences {
            heading: "What the calibration left",
            items: units.texts(left),
        },
        Sentences {
            heading: "By the caliper",
            items: units.texts(caliper),
        },
        Sentences {
            heading: "Smallest fault that would have shown",
            items: units.texts(&detection(finding)),
        },
    ]
}

/// The least dents at both ends, and how near to each other two places are told apart.
fn detection(finding: &Finding) -> Vec<String> {
    let Some(profile) = &finding.profile else {
        return Vec::new();
    };
    let apart = lineproof_core::quantity::format_length(profile.resolution_m);
    let apart = format!("two places closer than {apart} are not resolved");
    least_dents(profile).into_iter().chain([apart]).collect()
}

fn least_dents(profile: &ProfileFound) -> Option<String> {
    let (near, far) = (profile.least_dents.first()?, profile.least_dents.last()?);
    let percent = |d: &LeastDentFound| format!("{} %", significant(100.0 * d.relative, 2));
    let (near_end, far_end) = (percent(near), percent(far));
    let size = if near_end == far_end {
        format!("{near_end}, anywhere along the cable")
    } else {
        format!("{near_end} near the analyser, {far_end} at the far end")
    };
    let cm = 100.0 * profile.least_dent_length_m;
    Some(format!(
        "a dent of {cm:.0} cm that changes the impedance by {size}"
    ))
}

/// What follows: warnings, what would help, care to take.
pub fn remarks(finding: &Finding, units: Units) -> [Sentences; 3] {
    [
        Sentences {
            heading: "Warnings",
            items: warnings(finding, units),
        },
        Sentences {
            heading: "What would help",
            items: units.texts(finding.advice.iter().map(|a| &a.text)),
        },
        Sentences {
            heading: "Safety",
            items: cautions(finding),
        },
    ]
}

/// What the reader must know before trusting a number.
pub fn warnings(finding: &Finding, units: Units) -> Vec<String> {
    units.texts(finding.warnings.iter().map(|w| &w.text))
}

/// The finding's cautions, and always those for whoever connects an analyser again.
pub fn cautions(finding: &Finding) -> Vec<String> {
    let mut all = finding.cautions.clone();
    let always = line_cautions().into_iter();
    all.extend(always.filter(|c| !finding.cautions.contains(c)));
    all.push(
        "what this says about fitness is an estimate: local codes and licensed practice come first"
            .to_owned(),
    );
    all
}

/// The pictures that the finding and its sweeps make.
pub fn pictures(subject: &Subject, units: Units) -> Vec<Picture> {
    let (finding, sweeps) = (&subject.finding, &subject.sweeps);
    let mut all = Vec::new();
    let mut add = |name, svg, caption: String| all.push(Picture { name, svg, caption });
    if !sweeps.is_empty() {
        let svg = lineproof_draw::smith(&pictures::smith(sweeps, finding));
        let caption = "Reflections; frequency rises clockwise. Circles mark the points that the methods read.";
        add("smith", svg, caption.to_owned());
    }
    if let Some(profile) = pictures::profile(finding, units) {
        let caption = "Impedance along the cable with its 95 % band.";
        add(
            "profile",
            lineproof_draw::profile(&profile),
            caption.to_owned(),
        );
    }
    if !finding.loss.is_empty() {
        let svg = lineproof_draw::loss(&pictures::loss(finding));
        add("loss", svg, loss_caption(finding));
    }
    if !sweeps.is_empty() {
        let svg = lineproof_draw::return_loss(&pictures::return_loss(sweeps));
        let caption = "Return loss of the sweeps as read.";
        add("return-loss", svg, caption.to_owned());
    }
    all
}

fn loss_caption(finding: &Finding) -> String {
    let whole = "Matched one-way loss of the piece.".to_owned();
    let mut caption = vec![whole];
    let beside = beside(finding);
    if !beside.is_empty() {
        caption.push("The catalogue's loss for the same length is beside it.".to_owned());
    }
    let mut documents: Vec<_> = beside.iter().filter_map(Beside::document).collect();
    documents.dedup();
    let named = documents
        .iter()
        .map(|(id, document)| format!("[{id}] {document}."));
    caption.extend(named);
    caption.join(" ")
}

/// Heading of the methods.
pub const METHODS: &str = "Each method by itself, to check with a calculator";
/// Heading of those that have no answer.
pub const UNSERVED: &str = "Methods that these sweeps do not support";

/// Methods that the sweeps serve.
pub fn served(methods: &[MethodFound]) -> impl Iterator<Item = &MethodFound> {
    methods.iter().filter(|m| m.reason.is_none())
}

/// What a method gives: value, half-width, unit or quantity, frequency.
pub fn method_numbers(method: &MethodFound, units: Units) -> Vec<Number> {
    let mut rows = Numbers::default();
    let place = |at_hz: Option<f64>| at_hz.map_or_else(String::new, looked_at);
    if let (Some(ohm), Some(u95)) = (method.ohm, method.u95_ohm) {
        rows.add("", (ohm, u95), "ohm", place(method.at_hz));
    }
    if let (Some(delay), Some(u95)) = (method.one_way_s, method.u95_s) {
        let note = place(method.delay_at_hz);
        rows.add("", (delay * 1e9, u95 * 1e9), "ns one way", note);
    }
    if let Some(vf) = method.velocity_factor {
        rows.add("", (vf.ratio, vf.u95), "velocity factor", "");
    }
    if let (Some(m), Some(u95)) = (method.length_m, method.u95_m) {
        let length = (units.of_m(m), units.of_m(u95));
        rows.add("", length, units.length(), "");
    }
    for loss in &method.loss {
        rows.add("", (loss.db, loss.u95_db), "dB", place(loss.at_hz));
    }
    rows.0
}

/// Four digits say where a method looked.
fn looked_at(freq_hz: f64) -> String {
    let unit = 10f64.powf(freq_hz.log10().floor() - 3.0);
    format!("at {}", format_frequency((freq_hz / unit).round() * unit))
}

/// A method's name with what it gives.
pub fn method_title(method: &MethodFound, units: Units) -> String {
    let said = method_numbers(method, units).into_iter();
    let said = said.map(|n| {
        let text = format!("{} ± {} {} {}", n.value, n.u95, n.unit, n.note);
        text.trim_end().to_owned()
    });
    let said: Vec<String> = said.collect();
    if said.is_empty() {
        method.name.clone()
    } else {
        format!("{}: {}", method.name, said.join(", "))
    }
}

/// The arithmetic of a method, a step each.
pub fn steps(method: &MethodFound, units: Units) -> Vec<String> {
    units.texts(&method.steps)
}

/// Which methods the sweeps do not serve, why, and what would do.
pub fn unserved(methods: &[MethodFound]) -> Vec<String> {
    let unserved = methods.iter().filter_map(|method| {
        let reason = method.reason.as_ref()?;
        let would_do = method.would_do.as_ref();
        let would_do = would_do.map_or_else(String::new, |what| format!("; {what}"));
        Some(format!("{}: {reason}{would_do}", method.name))
    });
    unserved.collect()
}

/// Headings of the table of sweeps.
pub const SWEEP_COLUMNS: [&str; 5] = ["sweep", "far end", "points", "from", "to"];

/// The sweeps that were used.
pub fn sweeps(finding: &Finding) -> Vec<[String; 5]> {
    let rows = finding.sweeps.iter().map(|sweep| {
        let judged = match sweep.off_rms {
            Some(rms) => format!(", off by {rms:.4}"),
            None if sweep.guessed && sweep.far_end != "through" => ", judged".to_owned(),
            None => String::new(),
        };
        [
            sweep.file.clone(),
            format!("{}{judged}", sweep.far_end),
            sweep.points.to_string(),
            format_frequency(sweep.start_hz),
            format_frequency(sweep.stop_hz),
        ]
    });
    rows.collect()
}

/// Who made it, and what its intervals are.
pub fn origin(finding: &Finding) -> String {
    let version = match finding.program_version.as_str() {
        "" => "of unknown version",
        known => known,
    };
    format!("Made by lineproof {version}. Each ± is the half-width of a 95 % interval.")
}
