//! A finding in a few words, for who has room for no more: a label on a cable.

use crate::finding::found::Finding;
use crate::finding::judge::types::NONE;
use crate::known::KnownCable;
use crate::quantity::digits::{short, significant};
use crate::quantity::format_frequency;

/// A type is named if it is at least so probable.
const LIKELY: f64 = 0.5;
/// And without a question mark from here on.
const SURE: f64 = 0.9;

/// The impedance: `74.3 ohm`.
pub fn impedance(finding: &Finding) -> String {
    finding.impedance.map_or_else(
        || "impedance not known".to_owned(),
        |z| format!("{} ohm", terse(z.ohm, z.u95_ohm, 1)),
    )
}

/// The likeliest type; else what the jacket says, unless that is refuted.
pub fn kind(finding: &Finding) -> Option<String> {
    let named = finding.types.iter().filter(|t| t.designation != NONE);
    let likeliest = named.max_by(|a, b| a.probability.total_cmp(&b.probability));
    match likeliest {
        Some(t) if t.probability >= SURE => return Some(t.designation.clone()),
        Some(t) if t.probability >= LIKELY => return Some(format!("{}?", t.designation)),
        _ => {}
    }
    let marking = finding
        .marking
        .as_ref()
        .filter(|m| m.agrees != Some(false))?;
    Some(format!("marked {}", marking.designation.as_deref()?))
}

/// Loss of the piece at a frequency, by the finding's rows and the law through them.
pub fn loss(finding: &Finding, freq_hz: f64) -> String {
    let at = format_frequency(freq_hz);
    let found = KnownCable::of_finding(finding, "").and_then(|cable| cable.line(freq_hz, None));
    let Ok(db) = found.map(|line| line.loss_db) else {
        return format!("loss at {at} not known");
    };
    let half = db.u95();
    if db.value <= half {
        return format!("below {} dB at {at}", significant(db.value + half, 1));
    }
    let measured = finding
        .sweeps
        .iter()
        .any(|s| (s.start_hz..=s.stop_hz).contains(&freq_hz));
    let about = if measured { "" } else { "about " };
    format!("{about}{} dB at {at}", terse(db.value, half, 2))
}

/// The value with the digits that its interval deserves, at most so many after the point: who reads
/// a label wants a number to remember.
pub fn terse(value: f64, u95: f64, decimals: usize) -> String {
    let honest = short(value, u95);
    let places = honest.split_once('.').map_or(0, |(_, places)| places.len());
    if places > decimals {
        format!("{value:.decimals$}")
    } else {
        honest
    }
}
