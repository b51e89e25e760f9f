//! What changed about a cable between two assays, and where it is going.
//!
//! A change counts if it is larger than both intervals together: sqrt(u1² + u2²), as for independent
//! results (JCGM 100:2008, 5.1.2). Two assays with one load and one analyser share errors, so this
//! rather misses a small change than invents one. Loss is compared at 20 °C where both temperatures
//! are known; where a fault was found, the loss is that of the line as it lies.

use crate::finding::events::EventFound;
use crate::finding::found::Finding;
use crate::finding::quantities::InsertionLossRow;
use crate::finding::verdict::Condition;
use crate::quantity::digits::pair;
use crate::quantity::format_frequency;

/// Longest time between two assays of a cable in use, days: once a year. Common practice for outdoor
/// lines, no single source.
pub const RETEST_DAYS: f64 = 365.0;
/// Time after which a cable that has changed is measured again, days. Common practice.
const RETEST_AFTER_CHANGE_DAYS: f64 = 30.0;
/// Least number of assays that make a trend.
const TREND_ASSAYS: usize = 3;
/// Distance below which two events without intervals are the same, m.
const SAME_PLACE_M: f64 = 0.1;
/// Shares of the way that are one place.
const SAME_SHARE: f64 = 0.02;

/// Something that changed beyond its interval.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema), schema(as = ChangeFound))]
pub struct Change {
    /// `impedance`, `velocity factor`, `delay`, `loss`, `insertion loss`, `event` or `condition`.
    pub quantity: &'static str,
    /// The same for people.
    pub text: String,
}

/// How the loss grows with time.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Trend {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Growth, dB a year.
    pub db_per_year: f64,
    /// Its 95 % half-width, dB a year.
    pub u95_db_per_year: f64,
}

/// Changes from one finding to a later one.
pub fn changes(before: &Finding, after: &Finding) -> Vec<Change> {
    let mut changes = Vec::new();
    let at = before.impedance.as_ref().zip(after.impedance.as_ref());
    if let Some((a, b)) = at.filter(|(a, b)| a.at_hz == b.at_hz) {
        let pair = [(a.ohm, a.u95_ohm), (b.ohm, b.u95_ohm)];
        changes.extend(change("impedance", pair, "ohm", 1.0, ["down", "up"]));
    }
    if let Some((a, b)) = before.velocity_factor.zip(after.velocity_factor) {
        let pair = [(a.ratio, a.u95), (b.ratio, b.u95)];
        changes.extend(change("velocity factor", pair, "", 1.0, ["down", "up"]));
    }
    if let Some((a, b)) = before.delay.zip(after.delay) {
        let pair = [(a.one_way_s, a.u95_s), (b.one_way_s, b.u95_s)];
        changes.extend(change("delay", pair, "ns", 1e9, ["shorter", "longer"]));
    }
    changes.extend(loss_change(before, after));
    changes.extend(event_changes(before, after));
    changes.extend(condition_change(before, after));
    changes
}

fn change(
    quantity: &'static str,
    [(a, ua), (b, ub)]: [(f64, f64); 2],
    unit: &str,
    scale: f64,
    [less, more]: [&str; 2],
) -> Option<Change> {
    let (difference, u95) = (b - a, ua.hypot(ub));
    if difference.abs() <= u95 {
        return None;
    }
    let (from, _) = pair(a * scale, ua * scale);
    let (to, _) = pair(b * scale, ub * scale);
    let (by, u95) = pair(difference.abs() * scale, u95 * scale);
    let word = if difference < 0.0 { less } else { more };
    let unit = if unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    };
    Some(Change {
        quantity,
        text: format!("{quantity} {word} by {by} ± {u95}{unit}, from {from} to {to}{unit}"),
    })
}

/// A loss with its half-width, dB, and whether it is that at 20 °C.
type Comparable = (f64, f64, bool);

/// The frequency where the loss changed most, in units of its interval: of the cable, or where a fault was found, of
/// the line as it lies.
fn loss_change(before: &Finding, after: &Finding) -> Option<Change> {
    if !(before.events.is_empty() && after.events.is_empty()) {
        return insertion_loss_change(before, after);
    }
    let rows = before.loss.iter().filter_map(|a| {
        let b = after.loss_at(a.at_hz)?;
        let (mut one, mut two) = (a.comparable(), b.comparable());
        if one.2 != two.2 {
            (one, two) = ((a.db, a.u95_db, false), (b.db, b.u95_db, false));
        }
        Some((a.at_hz, one, two))
    });
    let size = |one: Comparable, two: Comparable| (two.0 - one.0).abs() / one.1.hypot(two.1);
    let (at_hz, one, two) = rows.max_by(|a, b| size(a.1, a.2).total_cmp(&size(b.1, b.2)))?;
    let pair = [(one.0, one.1), (two.0, two.1)];
    let mut change = change("loss", pair, "dB", 1.0, ["down", "up"])?;
    let when = if one.2 { ", both at 20 °C" } else { "" };
    change.text = format!("{} at {}{when}", change.text, format_frequency(at_hz));
    Some(change)
}

/// The same of the insertion loss between equal impedances; nothing where one of the two is not stated.
fn insertion_loss_change(before: &Finding, after: &Finding) -> Option<Change> {
    let rows = before.insertion_loss.iter().filter_map(|a| {
        let same = |b: &&InsertionLossRow| a.at_hz == b.at_hz && a.between_ohm == b.between_ohm;
        Some((a, after.insertion_loss.iter().find(same)?))
    });
    let size = |(a, b): &(&InsertionLossRow, &InsertionLossRow)| {
        (b.db - a.db).abs() / a.u95_db.hypot(b.u95_db)
    };
    let (a, b) = rows.max_by(|one, other| size(one).total_cmp(&size(other)))?;
    let pair = [(a.db, a.u95_db), (b.db, b.u95_db)];
    let mut change = change("insertion loss", pair, "dB", 1.0, ["down", "up"])?;
    change.text = format!("{} at {}", change.text, format_frequency(a.at_hz));
    Some(change)
}

fn event_changes(before: &Finding, after: &Finding) -> Vec<Change> {
    let missing = |from: &[EventFound], of: &EventFound| !from.iter().any(|e| same_event(e, of));
    let new = after.events.iter().filter(|e| missing(&before.events, e));
    let gone = before.events.iter().filter(|e| missing(&after.events, e));
    let say = |word: &str, event: &EventFound| Change {
        quantity: "event",
        text: format!("{word}: {}", event.text()),
    };
    new.map(|e| say("new", e))
        .chain(gone.map(|e| say("gone", e)))
        .collect()
}

/// Of one kind and at one place, as far as the intervals say.
fn same_event(a: &EventFound, b: &EventFound) -> bool {
    let near = match (a.place_m(), b.place_m()) {
        (Some(a), Some(b)) => {
            let apart = (a.value - b.value).abs();
            apart <= a.u95().hypot(b.u95()).max(SAME_PLACE_M)
        }
        // where a length was not believed, the share of the way tells
        _ => a
            .share
            .zip(b.share)
            .is_some_and(|(a, b)| (a - b).abs() < SAME_SHARE),
    };
    a.kind == b.kind && near
}

fn condition_change(before: &Finding, after: &Finding) -> Option<Change> {
    let (a, b) = (before.condition, after.condition);
    let judged = a != Condition::NotJudged && b != Condition::NotJudged;
    (judged && a != b).then(|| Change {
        quantity: "condition",
        text: format!("condition from {a} to {b}"),
    })
}

/// The straight line of loss against time through all assays (weighted least squares), if there are
/// enough of them at 100 MHz. `days` are those of the assays.
pub fn trend(days: &[f64], findings: &[Finding]) -> Option<Trend> {
    const AT_HZ: f64 = 100e6;
    let sound = findings.iter().all(|f| f.events.is_empty());
    let all_cool = findings
        .iter()
        .filter_map(|f| f.loss_at(AT_HZ))
        .all(|row| row.comparable().2);
    let points: Vec<(f64, f64, f64)> = days
        .iter()
        .zip(findings)
        .filter_map(|(&day, finding)| {
            let (db, u95) = match finding.loss_at(AT_HZ).filter(|_| sound && all_cool) {
                Some(row) => (row.comparable().0, row.comparable().1),
                None => finding.loss_as_it_lies(AT_HZ)?,
            };
            (u95 > 0.0).then_some((day / 365.25, db, u95))
        })
        .collect();
    if points.len() < TREND_ASSAYS {
        return None;
    }
    let (db_per_year, u95_db_per_year) = slope(&points)?;
    Some(Trend {
        at_hz: AT_HZ,
        db_per_year,
        u95_db_per_year,
    })
}

/// Slope of y on x with weights 1/u², and its half-width (Bevington and Robinson, Data Reduction and
/// Error Analysis, 3rd ed., eq. 6.12 and 6.23; from memory).
fn slope(points: &[(f64, f64, f64)]) -> Option<(f64, f64)> {
    let sum = |of: fn(f64, f64) -> f64| -> f64 {
        points.iter().map(|&(x, y, u)| of(x, y) / (u * u)).sum()
    };
    let (s, sx, sy) = (sum(|_, _| 1.0), sum(|x, _| x), sum(|_, y| y));
    let (sxx, sxy) = (sum(|x, _| x * x), sum(|x, y| x * y));
    let determinant = s * sxx - sx * sx;
    (determinant > 1e-12 * s * sxx)
        .then(|| ((s * sxy - sx * sy) / determinant, (s / determinant).sqrt()))
}

/// When to measure again, in days from the newest assay, and in a sentence.
pub fn retest(assays: usize, changed: bool, trend: Option<Trend>) -> (f64, String) {
    if assays < 2 {
        let text = "no earlier assay to compare with: measure again in a year, and after storms, falls or floods";
        return (RETEST_DAYS, text.to_owned());
    }
    if changed {
        let text = "the cable has changed: find out why, and measure again within a month";
        return (RETEST_AFTER_CHANGE_DAYS, text.to_owned());
    }
    match trend.filter(|t| t.db_per_year > t.u95_db_per_year) {
        Some(trend) => {
            let (growth, u95) = pair(trend.db_per_year, trend.u95_db_per_year);
            let at = format_frequency(trend.at_hz);
            let text = format!(
                "its loss at {at} grows by {growth} ± {u95} dB a year: measure again in half a year"
            );
            (RETEST_DAYS / 2.0, text)
        }
        None => (
            RETEST_DAYS,
            "nothing has changed beyond the intervals: measure again in a year, and after storms, \
             falls or floods"
                .to_owned(),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::events::EventKind;
    use crate::finding::quantities::{ImpedanceFound, LimitedBy, LossRow};

    fn loss(db: f64, u95_db: f64) -> Finding {
        let row = LossRow {
            at_hz: 1e8,
            db,
            u95_db,
            ..LossRow::default()
        };
        Finding {
            loss: vec![row],
            ..Finding::default()
        }
    }

    fn impedance(ohm: f64, loss: Finding) -> Finding {
        Finding {
            impedance: Some(ImpedanceFound {
                ohm,
                u95_ohm: 0.3,
                at_hz: 1e8,
                limited_by: LimitedBy::Load,
            }),
            ..loss
        }
    }

    fn event(kind: EventKind, at_m: f64, u95_m: f64) -> EventFound {
        EventFound::at(kind, at_m, u95_m)
    }

    fn events(condition: Condition, events: Vec<EventFound>) -> Finding {
        Finding {
            condition,
            events,
            ..Finding::default()
        }
    }

    fn texts(before: &Finding, after: &Finding) -> Vec<String> {
        let changes = changes(before, after).into_iter();
        changes.map(|c| c.text).collect()
    }

    #[test]
    fn only_what_exceeds_both_intervals_has_changed() {
        let before = impedance(50.0, loss(1.0, 0.03));
        let within = impedance(50.4, loss(1.04, 0.03));
        assert_eq!(changes(&before, &within), []);
        let beyond = impedance(49.5, loss(1.10, 0.03));
        assert_eq!(
            texts(&before, &beyond),
            [
                "impedance down by 0.50 ± 0.42 ohm, from 50.00 to 49.50 ohm",
                "loss up by 0.100 ± 0.042 dB, from 1.000 to 1.100 dB at 100 MHz"
            ]
        );
    }

    #[test]
    fn warmth_is_no_change() {
        let cooled = |mut finding: Finding, db: f64, u95: f64| {
            finding.loss[0].db_at_20c = Some(db);
            finding.loss[0].u95_db_at_20c = Some(u95);
            finding
        };
        let cool = cooled(loss(1.0, 0.01), 1.0, 0.01);
        let warm = cooled(loss(1.06, 0.01), 1.002, 0.011);
        assert_eq!(changes(&cool, &warm), []);
    }

    /// A joint that came costs what the line loses more, and the cable's own loss stays.
    #[test]
    fn a_fault_that_came_is_in_the_loss() {
        let lies = |mut finding: Finding, db: f64| {
            finding.insertion_loss = vec![InsertionLossRow {
                at_hz: 1e8,
                db,
                u95_db: 0.03,
                between_ohm: 50.0,
            }];
            finding
        };
        let before = lies(loss(1.0, 0.03), 1.02);
        let mut after = lies(loss(1.0, 0.03), 2.10);
        after.events = vec![event(EventKind::Joint, 3.0, 0.02)];
        let texts = texts(&before, &after);
        assert_eq!(
            texts[0],
            "insertion loss up by 1.080 ± 0.042 dB, from 1.020 to 2.100 dB at 100 MHz"
        );
    }

    #[test]
    fn new_and_gone_events_are_said() {
        let splice = |at_m| event(EventKind::Splice, at_m, 0.02);
        let before = events(Condition::Sound, vec![splice(3.0)]);
        let after = events(
            Condition::Faulty,
            vec![splice(3.05), event(EventKind::Wet, 9.1, 0.2)],
        );
        assert_eq!(
            texts(&before, &after),
            [
                "new: wet at 9.10 ± 0.20 m",
                "condition from sound to faulty"
            ]
        );
        assert_eq!(texts(&after, &before)[0], "gone: wet at 9.10 ± 0.20 m");
    }

    /// Points on a line have its slope; the half-width for equal weights is u/sqrt(Σ(x − x̄)²).
    #[test]
    fn a_trend_is_the_straight_line() {
        let year = |db: f64| loss(db, 0.02);
        let days = [0.0, 365.25, 730.5];
        let got = trend(&days, &[year(1.0), year(1.05), year(1.10)]).unwrap();
        assert!((got.db_per_year - 0.05).abs() < 1e-9, "{got:?}");
        assert!(
            (got.u95_db_per_year - 0.02 / 2f64.sqrt()).abs() < 1e-9,
            "{got:?}"
        );
        assert_eq!(trend(&days[..2], &[year(1.0), year(1.05)]), None);
        assert!(
            retest(3, false, Some(got))
                .1
                .contains("grows by 0.050 ± 0.014 dB")
        );
    }
}
