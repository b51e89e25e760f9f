//! What a report of a finding says, apart from how it looks: page and PDF are made from this.

use lineproof_core::quantity::format_frequency;

use super::number::{pair, percent};
use super::subject::Subject;
use super::units::Units;
use crate::kept::{Kept, Marking, Method, Verdict};
use crate::workflow::pictures;
use lineproof_core::finding::judge::advice::line_cautions;

/// Types that the decision names.
const TYPES_NAMED: usize = 3;

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
    let mut counts: Vec<(String, usize)> = Vec::new();
    for subject in subjects {
        let verdict = subject.kept.verdict.as_ref();
        let words = verdict.map_or_else(|| "not judged".to_owned(), Verdict::words);
        match counts.iter_mut().find(|(known, _)| *known == words) {
            Some((_, count)) => *count += 1,
            None => counts.push((words, 1)),
        }
    }
    counts.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let counts = counts
        .iter()
        .map(|(words, count)| format!("{words}: {count}"));
    counts.collect::<Vec<_>>().join(", ")
}

/// Headings of the table of cables.
pub const OVERVIEW_COLUMNS: [&str; 4] = ["cable", "found", "condition", "what to do"];

/// A cable's row in the table of all.
pub fn overview(subject: &Subject) -> [String; 4] {
    let Subject { name, kept, .. } = subject;
    let condition = kept.condition.as_deref().unwrap_or("not judged");
    let verdict = kept.verdict.as_ref();
    [
        name.clone(),
        kept.sentence(),
        condition.to_owned(),
        verdict.map_or_else(String::new, Verdict::words),
    ]
}

/// What the owner says of it, and when it was swept.
pub fn facts(subject: &Subject) -> String {
    let swept = (!subject.day.is_empty()).then(|| format!("swept {}", subject.day));
    let said = (!subject.description.is_empty()).then(|| subject.description.clone());
    let facts: Vec<String> = said.into_iter().chain(swept).collect();
    facts.join(", ")
}

/// Whether it is sound, what to do, why, and what it seems to be.
pub fn decision(kept: &Kept, units: Units) -> Vec<Row> {
    let mut rows = Rows::default();
    let condition = kept.condition.as_deref().unwrap_or("not judged");
    rows.add("Condition", condition);
    rows.more(&kept.condition_reasons);
    if let Some(verdict) = &kept.verdict {
        rows.add("What to do", verdict.words());
        rows.list("Why, how", &verdict.reasons);
    }
    if kept.condition.as_deref() == Some("undetermined") {
        rows.list("Warnings", kept.warnings.iter().map(|w| &w.text));
    }
    for (i, event) in kept.events.iter().enumerate() {
        rows.add("Found", event.text_in(units));
        rows.0.last_mut().expect("it was just added").event = Some(i);
    }
    if let Some(marking) = &kept.marking {
        rows.add("Jacket", jacket(marking));
        rows.more(marking.differences.iter().map(|d| &d.text));
        rows.more(marking.explanation.iter().chain(&marking.remarks));
    }
    if !kept.types.is_empty() {
        let types = kept.types.iter().take(TYPES_NAMED);
        let types = types.map(|t| format!("{} ({})", t.designation, percent(t.probability)));
        rows.add("Type", types.collect::<Vec<_>>().join(", "));
    }
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

    fn more<'a>(&mut self, texts: impl IntoIterator<Item = &'a String>) {
        self.list("", texts);
    }

    /// Texts of which only the first is named.
    fn list<'a>(&mut self, name: &'static str, texts: impl IntoIterator<Item = &'a String>) {
        for (i, text) in texts.into_iter().enumerate() {
            self.add(if i == 0 { name } else { "" }, text.as_str());
        }
    }
}

fn jacket(marking: &Marking) -> String {
    let what = marking.designation.as_deref().unwrap_or("its figures");
    let judged = match marking.agrees {
        Some(true) => "agrees",
        Some(false) => "does not agree",
        None => "nothing to compare",
    };
    format!("{what}: {judged}")
}

/// Heading of the criteria.
pub const CRITERIA: &str = "By these criteria";

/// Each criterion: whether it is kept, what was found and wanted, where the limit comes from.
pub fn criteria(verdict: Option<&Verdict>) -> Vec<[String; 3]> {
    let criteria = verdict.map_or(&[][..], |verdict| &verdict.criteria);
    let row = |c: &crate::kept::Criterion| {
        let kept = if c.passed { "kept" } else { "NOT kept" };
        let limit = if c.set {
            "limit of your criteria file".to_owned()
        } else {
            format!("default: {}", c.source)
        };
        [kept.to_owned(), c.text.clone(), limit]
    };
    criteria.iter().map(row).collect()
}

/// Every number: its name, value with interval, unit, and what goes with it.
pub fn numbers(kept: &Kept, units: Units) -> Vec<[String; 4]> {
    let mut rows: Vec<[String; 4]> = Vec::new();
    let mut add = |name: &str, value: f64, u95: f64, unit: &str, note: String| {
        let (value, u95) = pair(value, u95);
        let value = format!("{value} ± {u95}");
        rows.push([name.to_owned(), value, unit.to_owned(), note]);
    };
    if let Some(z) = &kept.impedance {
        let at = format_frequency(z.at_hz);
        let note = format!("at {at}, limited by {}", z.limited_by);
        add("impedance", z.ohm, z.u95_ohm, "ohm", note);
    }
    if let Some(d) = kept.delay {
        let (ns, u95_ns) = (d.one_way_s * 1e9, d.u95_s * 1e9);
        add("delay, one way", ns, u95_ns, "ns", String::new());
    }
    if let Some(vf) = kept.velocity_factor {
        add("velocity factor", vf.ratio, vf.u95, "", String::new());
    }
    if let Some(length) = &kept.length {
        let (value, u95) = (units.of_m(length.m), units.of_m(length.u95_m));
        let note = format!("by {}", length.basis);
        add("length", value, u95, units.length(), note);
    }
    for row in &kept.loss {
        let per_100m = row.db_per_100m.map_or_else(String::new, |db| {
            let db = units.of_db_per_100m(db);
            format!(", {db:.1} {}", units.attenuation())
        });
        let note = format!("at {}{per_100m}", format_frequency(row.at_hz));
        add("loss", row.db, row.u95_db, "dB", note);
    }
    rows
}

/// Headings of the table of the piece in its system.
pub const SYSTEM_COLUMNS: [&str; 6] = [
    "",
    "SWR",
    "return loss",
    "SWR, worst length",
    "return loss",
    "more loss",
];

/// The piece between ends of the impedance that was named: heading and rows.
pub fn in_system(kept: &Kept) -> Option<(String, Vec<[String; 6]>)> {
    let system = kept.system.as_ref()?;
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
    let heading = format!("Between {} ohm at both ends, at most", system.ohm);
    Some((heading, rows.collect()))
}

/// Heading of what long lines show of the calibration.
pub const CALIBRATION: &str = "What the calibration left";

/// The pictures that the finding and its sweeps make.
pub fn pictures(subject: &Subject) -> Vec<Picture> {
    let (kept, sweeps) = (&subject.kept, &subject.sweeps);
    let mut all = Vec::new();
    let mut add = |name, svg, caption: String| all.push(Picture { name, svg, caption });
    if !sweeps.is_empty() {
        let svg = lineproof_draw::smith(&pictures::smith(sweeps, kept));
        let caption =
            "Reflections, clockwise with rising frequency. Circled: the points that methods read.";
        add("smith", svg, caption.to_owned());
    }
    if let Some(profile) = pictures::profile(kept) {
        let caption = "Impedance along the cable with its 95 % band.";
        add(
            "profile",
            lineproof_draw::profile(&profile),
            caption.to_owned(),
        );
    }
    if !kept.loss.is_empty() {
        let svg = lineproof_draw::loss(&pictures::loss(kept));
        add("loss", svg, loss_caption(kept));
    }
    if !sweeps.is_empty() {
        let svg = lineproof_draw::return_loss(&pictures::return_loss(sweeps));
        let caption = "Return loss of the sweeps as they were read.";
        add("return-loss", svg, caption.to_owned());
    }
    all
}

fn loss_caption(kept: &Kept) -> String {
    let whole = "Loss of the piece, one way, as if everything were matched.".to_owned();
    let mut caption = vec![whole];
    let beside = pictures::beside(kept);
    if !beside.is_empty() {
        caption.push("Beside it what the catalogue has for a piece as long.".to_owned());
    }
    let mut documents: Vec<_> = beside
        .iter()
        .filter_map(pictures::Beside::document)
        .collect();
    documents.dedup();
    let named = documents
        .iter()
        .map(|(id, document)| format!("[{id}] {document}."));
    caption.extend(named);
    caption.join(" ")
}

/// Heading of the methods.
pub const METHODS: &str = "Each method by itself, to check with a calculator";

/// Methods that the sweeps serve.
pub fn served(kept: &Kept) -> impl Iterator<Item = &Method> {
    kept.methods.iter().filter(|m| m.reason.is_none())
}

/// A method's name with what it gives.
pub fn method_title(method: &Method) -> String {
    match (method.ohm, method.u95_ohm) {
        (Some(ohm), Some(u95)) => {
            let (value, u95) = pair(ohm, u95);
            format!("{}: {value} ± {u95} ohm", method.name)
        }
        _ => method.name.clone(),
    }
}

/// Which methods the sweeps do not serve, and why; nothing if they serve all.
pub fn unserved(kept: &Kept) -> Option<String> {
    let unserved = kept.methods.iter().filter_map(|method| {
        let reason = method.reason.as_ref()?;
        Some(format!("{} ({reason})", method.name))
    });
    let unserved: Vec<String> = unserved.collect();
    let list = unserved.join("; ");
    (!unserved.is_empty()).then(|| format!("Not served by these sweeps: {list}."))
}

/// Headings of the table of sweeps.
pub const SWEEP_COLUMNS: [&str; 5] = ["sweep", "far end", "points", "from", "to"];

/// The sweeps that were used.
pub fn sweeps(kept: &Kept) -> Vec<[String; 5]> {
    let rows = kept.sweeps.iter().map(|sweep| {
        let judged = if sweep.guessed && sweep.far_end != "through" {
            ", judged"
        } else {
            ""
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

/// The finding's cautions, and always those for whoever connects an analyser again.
pub fn cautions(kept: &Kept) -> Vec<String> {
    let mut all = kept.cautions.clone();
    let always = line_cautions().into_iter();
    all.extend(always.filter(|c| !kept.cautions.contains(c)));
    all.push(
        "what this says about fitness is an estimate: local codes and licensed practice come first"
            .to_owned(),
    );
    all
}

/// Who made it, and what its intervals are.
pub fn origin(kept: &Kept) -> String {
    let version = kept
        .program_version
        .as_deref()
        .unwrap_or("of unknown version");
    format!("Made by lineproof {version}. Each ± is the half-width of a 95 % interval.")
}
