//! The answer at a screenful, for every surface: the verdict in a sentence, what is wrong and where, what to do
//! next, the numbers that matter for the use, and the warnings that bear on the verdict. The rest of the finding
//! is the full text's.

use lineproof_core::finding::judge::doubt::is_bare_port;
use lineproof_core::finding::judge::stated::SYSTEMS_OHM;
use lineproof_core::finding::judge::types::NONE;
use lineproof_core::quantity::format_frequency;

use super::content::{self, Number, Row};
use super::number::{pair, percent, short, significant};
use super::units::Units;
use crate::finding::{
    Action, Advice, Condition, ElectricalLengthRow, EventFound, Finding, InputRow, LengthBasis,
    MarkingFound, Quantity, Warning, WarningCode,
};

/// Least probability of a type that the short answer names.
const NAMED: f64 = 0.1;
/// Most types that it names.
const MOST_TYPES: usize = 2;
/// Most advice where the verdict says what to do, and where it does not.
const MOST_ADVICE: [usize; 2] = [1, 2];

/// The short answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Brief<'a> {
    /// What to do, and the condition that it follows from.
    pub verdict: String,
    /// What the cable is, and whether its jacket is right.
    pub cable: Option<String>,
    /// What it was judged by and passes, if nothing is wrong.
    pub passes: Vec<String>,
    /// What is wrong and where, beside the verdict; rows of events carry their numbers.
    pub wrong: Vec<Row>,
    /// What is not as marked, beside the sentence of the cable.
    pub marking: Vec<String>,
    /// What to do next, as the verdict says.
    pub next: Vec<String>,
    /// Impedance, delay and the like.
    pub numbers: Vec<Number>,
    /// The line as it lies at the frequencies of use.
    pub at_use: Option<AtUse>,
    /// The likeliest types.
    pub types: Option<String>,
    /// Warnings that bear on the verdict.
    pub warnings: Vec<String>,
    /// Methods that disagree with the fit: the verdict has weighed them, and the full answer says why each does.
    pub disagreeing: usize,
    /// What would help most.
    pub advice: Vec<&'a Advice>,
}

/// Headings of [`AtUse::rows`].
pub const USE_COLUMNS: [&str; 5] = [
    "",
    "insertion loss",
    "return loss",
    "VSWR",
    "electrical length",
];

/// The line as it lies, faults and plugs included.
#[derive(Clone, Debug, PartialEq)]
pub struct AtUse {
    /// What it lies between.
    pub heading: String,
    /// A row for each frequency.
    pub rows: Vec<[String; 5]>,
    /// What a star in them means.
    pub note: Option<&'static str>,
    /// The system that such cable is made for, ohm, if the rows are of another.
    pub other_ohm: Option<f64>,
}

/// The short answer, with lengths in these units.
pub fn brief(finding: &Finding, units: Units) -> Brief<'_> {
    let undetermined = finding.condition == Condition::Undetermined;
    let next = next(finding, units);
    let most_advice = MOST_ADVICE[usize::from(next.is_empty() && !is_kept(finding))];
    Brief {
        verdict: verdict(finding, units),
        cable: cable(finding, units),
        passes: passes(finding, units),
        wrong: wrong(finding, units),
        marking: against_marking(finding, units),
        next,
        numbers: if undetermined {
            Vec::new()
        } else {
            numbers(finding, units)
        },
        at_use: at_use(finding).filter(|_| !undetermined),
        types: types(finding),
        warnings: warnings(finding, units),
        disagreeing: finding.warnings.iter().filter(|w| of_a_method(w)).count(),
        advice: finding.advice.iter().take(most_advice).collect(),
    }
}

/// The short answer below its first sentence, as names and texts.
pub fn rows(finding: &Finding, units: Units) -> Vec<Row> {
    let said = brief(finding, units);
    let mut rows = named("Passes", said.passes);
    let mut wrong = said.wrong;
    if let Some(first) = wrong.first_mut() {
        first.name = wrong_heading(finding, "Wrong");
    }
    rows.extend(wrong);
    rows.extend(named("Marking", said.marking));
    rows.extend(named("What to do", said.next));
    rows.extend(named(warnings_heading(finding), said.warnings));
    rows.extend(named("Likely type", said.types.into_iter().collect()));
    rows
}

/// Of sweeps that determine nothing, the warnings are the reason and the way out.
pub fn warnings_heading(finding: &Finding) -> &'static str {
    match finding.condition {
        Condition::Undetermined => "Why, and what to do",
        _ => "Warnings",
    }
}

/// Texts of which only the first is named.
fn named(name: &'static str, texts: Vec<String>) -> Vec<Row> {
    let mut rows: Vec<Row> = texts.into_iter().map(plain).collect();
    if let Some(first) = rows.first_mut() {
        first.name = name;
    }
    rows
}

fn plain(text: String) -> Row {
    Row {
        name: "",
        text,
        event: None,
    }
}

/// The first sentence of every surface: what to do with the cable, and why.
pub fn verdict(finding: &Finding, units: Units) -> String {
    let because = units.text(&because(finding));
    match &finding.verdict {
        Some(verdict) => format!("{}: {because}.", imperative(verdict.action)),
        None => format!("No verdict: {because}."),
    }
}

/// An action as it is told to somebody.
pub fn imperative(action: Action) -> &'static str {
    match action {
        Action::Keep => "Keep it",
        Action::UseElsewhere => "Use it elsewhere",
        Action::Repair => "Repair it",
        Action::Discard => "Discard it",
        Action::MeasureAgain => "Measure again",
    }
}

fn because(finding: &Finding) -> String {
    if is_bare_port(finding) {
        return "no cable is connected, these sweeps show the bare port or a part of the kit"
            .into();
    }
    let action = finding.verdict.as_ref().map(|v| v.action);
    match (finding.condition, finding.condition_reasons.first()) {
        (Condition::Sound, _) => sound(finding, action),
        (Condition::Undetermined, _) => "these sweeps do not determine the cable".to_owned(),
        (Condition::NotJudged, _) => "this finding is older than verdicts".to_owned(),
        (condition, Some(why)) => format!("{condition}, {why}"),
        (condition, None) => condition.to_string(),
    }
}

fn sound(finding: &Finding, action: Option<Action>) -> String {
    let jacket = finding.marking.as_ref().and_then(|m| m.agrees);
    match (failed(finding).next(), action) {
        (Some(failed), Some(Action::UseElsewhere)) => format!("sound, but {failed}"),
        (Some(_), _) => "sound, but not as marked".to_owned(),
        (None, _) if jacket == Some(false) => "sound, but not as marked".to_owned(),
        (None, _) => "sound, as far as these sweeps show".to_owned(),
    }
}

/// Criteria that fail, as they are worded.
fn failed(finding: &Finding) -> impl Iterator<Item = &String> {
    let criteria = finding.verdict.iter().flat_map(|v| &v.criteria);
    criteria.filter(|c| !c.passed).map(|c| &c.text)
}

/// What the cable is, in a sentence, and whether the jacket is right; nothing if the sweeps do not say.
pub fn cable(finding: &Finding, units: Units) -> Option<String> {
    let z = finding.impedance?;
    let mut parts = vec![format!("{} ohm coaxial cable", short(z.ohm, z.u95_ohm))];
    parts.extend(finding.length.map(|length| {
        let about = match length.basis {
            LengthBasis::Tape => "",
            _ => "about ",
        };
        let value = short(units.of_m(length.m), units.of_m(length.u95_m));
        format!("{about}{value} {}", units.length())
    }));
    parts.extend(match (finding.velocity_factor, finding.delay) {
        (Some(vf), _) => Some(format!("velocity factor {:.2}", vf.ratio)),
        (None, Some(d)) => Some(format!("{} ns one way", significant(d.one_way_s * 1e9, 3))),
        (None, None) => None,
    });
    let marking = finding.marking.as_ref();
    let jacket = marking.map_or_else(String::new, |m| jacket(m, finding.condition));
    Some(format!("{}.{jacket}", parts.join(", ")))
}

fn jacket(marking: &MarkingFound, condition: Condition) -> String {
    let name = marking
        .designation
        .as_ref()
        .map_or_else(String::new, |d| format!(" ({d})"));
    match (marking.agrees, marking.differences.as_slice()) {
        // the marking is of the cable, and says nothing of a fault in it
        (Some(true), _) if condition == Condition::Faulty => {
            format!(" The cable beside the fault agrees with its marking{name}.")
        }
        (Some(true), _) => format!(" It agrees with its marking{name}."),
        (Some(false), [only]) if only.quantity == Quantity::Impedance => {
            format!(
                " It does not agree with its marking{name}: {} ohm.",
                only.marked
            )
        }
        (Some(false), differences) => {
            let what: Vec<&str> = differences.iter().map(|d| d.quantity.name()).collect();
            format!(
                " It does not agree with its marking{name}: {}.",
                what.join(", ")
            )
        }
        (None, _) => String::new(),
    }
}

/// What it was judged by, if it passes all of it.
fn passes(finding: &Finding, units: Units) -> Vec<String> {
    let passes = finding.condition == Condition::Sound && failed(finding).next().is_none();
    let verdict = finding.verdict.iter().filter(|_| passes);
    units.texts(verdict.flat_map(|v| &v.criteria).map(|c| &c.text))
}

/// Faults with what the verdict does not say of them and with their causes, and what else speaks against it.
fn wrong(finding: &Finding, units: Units) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for (i, event) in finding.events.iter().enumerate() {
        let said = if event.is_surely_connector() {
            connector(event, finding)
        } else if i == 0 {
            content::event_details(event, finding)
        } else {
            vec![content::event_text(event, finding, Units::Metres)]
        };
        let said: Vec<String> = said.into_iter().chain(event.cause.clone()).collect();
        if !said.is_empty() {
            rows.push(Row {
                event: Some(i),
                ..plain(units.text(&said.join("; ")))
            });
        }
    }
    // an event is a reason too, and the first one stands in the verdict
    let reasons = finding.condition_reasons.iter();
    let in_question = finding.events.iter().filter(|e| !e.is_surely_connector());
    let reasons = reasons.skip(in_question.count().max(1));
    rows.extend(reasons.map(|reason| plain(units.text(reason))));
    if finding.condition != Condition::Undetermined {
        let told = verdict(finding, units);
        let failed = failed(finding).map(|text| units.text(text));
        let failed = failed.filter(|text| !told.contains(text.as_str()));
        rows.extend(failed.map(|text| plain(format!("beyond a limit: {text}"))));
    }
    rows
}

/// A connector in the line, with what the verdict says of it.
fn connector(event: &EventFound, finding: &Finding) -> Vec<String> {
    let sentence = event.sentence();
    let reasons = finding.verdict.iter().flat_map(|v| &v.reasons);
    let mut said = reasons.filter(|reason| reason.starts_with(&sentence));
    let said = said.next().cloned().unwrap_or(sentence);
    let details = content::event_details(event, finding);
    [said].into_iter().chain(details).collect()
}

/// What the rows of [`Brief::wrong`] are: of a sound cable, what somebody fitted into it.
pub fn wrong_heading(finding: &Finding, of_wrong: &'static str) -> &'static str {
    match finding.condition {
        Condition::Sound if failed(finding).next().is_none() => "In the line",
        _ => of_wrong,
    }
}

/// Differences from the marking that neither the verdict nor the sentence of the cable holds.
fn against_marking(finding: &Finding, units: Units) -> Vec<String> {
    let marking = finding.marking.as_ref();
    let differences = marking.map_or(&[][..], |m| &m.differences);
    let told = |quantity| match quantity {
        Quantity::Impedance => differences.len() == 1,
        Quantity::Loss => finding.condition == Condition::Suspect,
        _ => false,
    };
    let new = differences.iter().filter(|d| !told(d.quantity));
    units.texts(new.map(|d| &d.text))
}

fn is_kept(finding: &Finding) -> bool {
    let action = finding.verdict.as_ref().map(|v| v.action);
    action == Some(Action::Keep)
}

/// The verdict's reasons, as far as the first sentence does not hold them.
fn next(finding: &Finding, units: Units) -> Vec<String> {
    let Some(verdict) = &finding.verdict else {
        return Vec::new();
    };
    let nothing_new = match finding.condition {
        Condition::Undetermined => !is_bare_port(finding),
        _ => is_kept(finding) && failed(finding).next().is_none(),
    };
    if nothing_new {
        return Vec::new();
    }
    let said = |text: &&String| !finding.condition_reasons.contains(text);
    units.texts(verdict.reasons.iter().filter(said))
}

fn numbers(finding: &Finding, units: Units) -> Vec<Number> {
    let mut rows = Vec::new();
    let mut add = |name, (value, u95): (f64, f64), unit, note: String| {
        let (value, u95) = pair(value, u95);
        rows.push(Number {
            name,
            value,
            u95,
            unit,
            note,
        });
    };
    if let Some(z) = finding.impedance {
        let note = format!("at {}", format_frequency(z.at_hz));
        add("impedance", (z.ohm, z.u95_ohm), "ohm", note);
    }
    if let Some(d) = finding.delay {
        let value = (d.one_way_s * 1e9, d.u95_s * 1e9);
        add("delay", value, "ns", "one way, with plugs".to_owned());
    }
    if let Some(vf) = finding.velocity_factor {
        add("velocity factor", (vf.ratio, vf.u95), "", String::new());
    }
    let by_tape = |length: &crate::finding::LengthFound| length.basis == LengthBasis::Tape;
    if let Some(length) = finding.length.filter(|l| !by_tape(l)) {
        let value = (units.of_m(length.m), units.of_m(length.u95_m));
        let note = length.basis.words().to_owned();
        add("length", value, units.length(), note);
    }
    rows
}

/// Marks a loss that is not of the line as it lies.
const MATCHED: &str = "the matched loss of the cable, carried on beyond the sweeps";

/// The line at the frequencies of use; of a finding without them, where the impedance is stated.
fn at_use(finding: &Finding) -> Option<AtUse> {
    let between_ohm = finding.insertion_loss.first()?.between_ohm;
    let stated = finding.impedance.map(|z| z.at_hz);
    let asked: Vec<f64> = match finding.electrical_length.as_slice() {
        [] => stated.into_iter().collect(),
        rows => rows.iter().map(|row| row.at_hz).collect(),
    };
    let rows = asked.into_iter().filter_map(|f| use_row(finding, f));
    let rows: Vec<[String; 5]> = rows.collect();
    let starred = rows.iter().any(|[_, loss, ..]| loss.ends_with('*'));
    let own = finding.impedance.map(|z| z.ohm);
    (!rows.is_empty()).then(|| AtUse {
        heading: format!("As it lies between {between_ohm} ohm, faults and plugs included"),
        rows,
        note: starred.then_some(MATCHED),
        other_ohm: own.and_then(|z| other_system(between_ohm, z)),
    })
}

/// How far an impedance may be from that of the system that it is made for, relative.
const MADE_FOR: f64 = 0.06;

fn other_system(between_ohm: f64, cable_ohm: f64) -> Option<f64> {
    let made_for = |s: &f64| (cable_ohm / s - 1.0).abs() < MADE_FOR;
    let system = SYSTEMS_OHM.into_iter().find(made_for)?;
    ((system / between_ohm - 1.0).abs() > MADE_FOR).then_some(system)
}

fn use_row(finding: &Finding, at_hz: f64) -> Option<[String; 5]> {
    let near = |f: f64| (f - at_hz).abs() <= 1e-6 * at_hz;
    let insertion = finding.insertion_loss.iter().find(|row| near(row.at_hz));
    let input = finding.input.iter().find(|row| near(row.at_hz));
    let length = finding.electrical_length.iter().find(|row| near(row.at_hz));
    let matched = finding.loss_at(at_hz);
    let loss = match (insertion, matched) {
        (Some(row), _) => decibels(row.db, row.u95_db),
        (None, Some(row)) => format!("{} *", decibels(row.db, row.u95_db)),
        (None, None) => return None,
    };
    let [return_loss, vswr] = input.map_or_else(|| [const { String::new() }; 2], reflection);
    Some([
        format_frequency(at_hz),
        loss,
        return_loss,
        vswr,
        length.map_or_else(String::new, degrees),
    ])
}

fn decibels(db: f64, u95_db: f64) -> String {
    let (db, u95) = pair(db, u95_db);
    format!("{db} ± {u95} dB")
}

fn degrees(row: &ElectricalLengthRow) -> String {
    let (deg, u95) = pair(row.deg, row.u95_deg);
    format!("{deg} ± {u95}°")
}

/// The worst of return loss and VSWR.
fn reflection(row: &InputRow) -> [String; 2] {
    let vswr = row.vswr.map_or_else(String::new, |s| format!("≤ {s:.2}"));
    [content::least_return_loss(row), vswr]
}

/// The likeliest types with what is believed of them.
fn types(finding: &Finding) -> Option<String> {
    let named = finding.types.iter();
    let named = named.filter(|t| t.designation != NONE && t.probability >= NAMED);
    let texts: Vec<String> = named
        .take(MOST_TYPES)
        .map(|t| {
            let alike = match t.same_as.len() {
                0 => String::new(),
                1 => " or its equal".to_owned(),
                n => format!(" or one of {n} like it"),
            };
            format!("{}{alike} ({})", t.designation, percent(t.probability))
        })
        .collect();
    (!texts.is_empty()).then(|| texts.join(", "))
}

/// Warnings that leave the verdict as it is: an interval is wider, a number is absent, or a file was odd and
/// could be read all the same.
const QUIET: [&str; 20] = [
    "load-not-measured",
    "length-not-given",
    "loss-below-visible",
    "far-end-guessed",
    "points-left-out",
    "second-port-ignored",
    "calibration-old",
    "kit-not-described",
    "standard-without-limits",
    "encoding",
    "wrapping",
    "option-line",
    "keyword",
    "number-style",
    "surplus",
    "layout",
    "sorted",
    "duplicate-frequency",
    "noise-skipped",
    "columns",
];

/// Warnings that bear on the verdict, one of each kind.
fn warnings(finding: &Finding, units: Units) -> Vec<String> {
    let mut told: Vec<(&WarningCode, String, usize)> = Vec::new();
    for warning in &finding.warnings {
        if QUIET.contains(&warning.code.as_str()) || of_a_method(warning) {
            continue;
        }
        match told.iter_mut().find(|(code, ..)| *code == &warning.code) {
            Some((.., more)) => *more += 1,
            None => told.push((&warning.code, units.text(&warning.text), 0)),
        }
    }
    let worded = |(_, text, more): (&WarningCode, String, usize)| match more {
        0 => text,
        more => format!("{text} (and {more} more like it)"),
    };
    told.into_iter().map(worded).collect()
}

fn of_a_method(warning: &Warning) -> bool {
    warning.code == WarningCode::MethodsDisagree
}
