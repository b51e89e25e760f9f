//! The answer at a screenful, for every surface: the verdict in a sentence, what is wrong and where, what to do
//! next, the numbers that matter for the use, and the warnings that bear on the verdict. The rest of the finding
//! is the full text's.

use super::at_use::{AtUse, at_use};
use super::decision::{event_details, event_text};
use super::rows::{Number, Numbers, Row};
use crate::finding::events::EventFound;
use crate::finding::found::Finding;
use crate::finding::judge::doubt::is_bare_port;
use crate::finding::judge::types::NONE;
use crate::finding::marking::{MarkingFound, Quantity};
use crate::finding::quantities::{LengthBasis, LengthFound};
use crate::finding::remarks::{Advice, Warning, WarningCode};
use crate::finding::verdict::{Action, Condition};
use crate::quantity::digits::{percent, short, significant};
use crate::quantity::{Units, format_frequency};

/// Least probability of a type that the short answer names.
const NAMED: f64 = 0.1;
/// Most types that it names.
const MOST_TYPES: usize = 2;
/// Most advice where the verdict says what to do, and where it does not.
const MOST_ADVICE: [usize; 2] = [1, 2];

/// The short answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Short<'a> {
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

/// The short answer, with lengths in these units.
pub fn answer(finding: &Finding, units: Units) -> Short<'_> {
    let undetermined = finding.condition == Condition::Undetermined;
    let next = next(finding, units);
    let most_advice = MOST_ADVICE[usize::from(next.is_empty() && !is_kept(finding))];
    Short {
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
    let said = answer(finding, units);
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
            event_details(event, finding)
        } else {
            vec![event_text(event, finding, Units::Metres)]
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
    let details = event_details(event, finding);
    [said].into_iter().chain(details).collect()
}

/// What the rows of [`Short::wrong`] are: of a sound cable, what somebody fitted into it.
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
    let mut rows = Numbers::default();
    if let Some(z) = finding.impedance {
        let note = format!("at {}", format_frequency(z.at_hz));
        rows.add("impedance", (z.ohm, z.u95_ohm), "ohm", note);
    }
    if let Some(d) = finding.delay {
        let value = (d.one_way_s * 1e9, d.u95_s * 1e9);
        rows.add("delay", value, "ns", "one way, with plugs");
    }
    if let Some(vf) = finding.velocity_factor {
        rows.add("velocity factor", (vf.ratio, vf.u95), "", "");
    }
    let by_tape = |length: &LengthFound| length.basis == LengthBasis::Tape;
    if let Some(length) = finding.length.filter(|l| !by_tape(l)) {
        let value = (units.of_m(length.m), units.of_m(length.u95_m));
        let note = length.basis.words();
        rows.add("length", value, units.length(), note);
    }
    rows.0
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
