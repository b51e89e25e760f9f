//! A finding in a sentence or two, for lists, pages and labels.

use lineproof_core::finding::judge::stated::USUAL_HZ;
use lineproof_core::quantity::format_frequency;

use super::number::{short, significant};
use super::units::Units;
use crate::finding::{Condition, Finding};

/// What the cable is and what to do with it, with lengths in these units.
pub fn summary(finding: &Finding, units: Units) -> String {
    let parts = parts(finding, units);
    let found = if parts.is_empty() {
        "Not determined".to_owned()
    } else {
        parts.join(", ")
    };
    let condition = match finding.condition {
        Condition::NotJudged => String::new(),
        // nothing was determined: once is enough
        Condition::Undetermined if parts.is_empty() => String::new(),
        judged => format!("; {judged}"),
    };
    match &finding.verdict {
        Some(verdict) => format!("{found}{condition}: {}.", verdict.action.words()),
        None => format!("{found}{condition}."),
    }
}

/// Impedance, length, velocity factor and loss, as far as they are known.
fn parts(finding: &Finding, units: Units) -> Vec<String> {
    let impedance = finding.impedance;
    let impedance = impedance.map(|z| format!("{} ohm", short(z.ohm, z.u95_ohm)));
    let length = finding.length.map(|length| {
        let value = short(units.of_m(length.m), units.of_m(length.u95_m));
        format!("{value} {}", units.length())
    });
    let velocity = finding.velocity_factor;
    let velocity = velocity.map(|vf| format!("velocity factor {:.2}", vf.ratio));
    let loss = finding.loss_as_it_lies(USUAL_HZ);
    let loss = loss.filter(|(db, u95_db)| db > u95_db);
    let loss = loss.map(|(db, _)| {
        let at = format_frequency(USUAL_HZ);
        format!("{} dB at {at}", significant(db, 2))
    });
    let all = [impedance, length, velocity, loss];
    all.into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stored::finding;

    #[test]
    fn what_is_known_is_said_once() {
        let sound = r#"{"impedance":{"ohm":50.1,"u95_ohm":0.2,"at_hz":1e8,"limited_by":"load"},"condition":"sound",
            "verdict":{"action":"keep","reasons":["good"],"criteria":[]}}"#;
        let said = |json: &str| summary(&finding(json), Units::Metres);
        assert_eq!(said(sound), "50.1 ohm; sound: keep.");
        assert_eq!(said("{}"), "Not determined.");
        let nothing = r#"{"condition":"undetermined","verdict":{"action":"measure-again","reasons":[],"criteria":[]}}"#;
        assert_eq!(said(nothing), "Not determined: measure again.");
    }
}
