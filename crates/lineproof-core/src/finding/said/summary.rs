//! A finding in a sentence or two, for lists, pages and labels.

use crate::finding::found::Finding;
use crate::finding::judge::stated::USUAL_HZ;
use crate::finding::verdict::Condition;
use crate::quantity::digits::{short, significant};
use crate::quantity::{Units, format_frequency};

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
    use crate::finding::quantities::{ImpedanceFound, LimitedBy};
    use crate::finding::verdict::{Action, VerdictFound};

    fn verdict(action: Action) -> VerdictFound {
        VerdictFound {
            action,
            reasons: vec!["good".to_owned()],
            criteria: Vec::new(),
        }
    }

    #[test]
    fn what_is_known_is_said_once() {
        let sound = Finding {
            impedance: Some(ImpedanceFound {
                ohm: 50.1,
                u95_ohm: 0.2,
                at_hz: 1e8,
                limited_by: LimitedBy::Load,
            }),
            condition: Condition::Sound,
            verdict: Some(verdict(Action::Keep)),
            ..Finding::default()
        };
        let said = |finding: &Finding| summary(finding, Units::Metres);
        assert_eq!(said(&sound), "50.1 ohm; sound: keep.");
        assert_eq!(said(&Finding::default()), "Not determined.");
        let nothing = Finding {
            condition: Condition::Undetermined,
            verdict: Some(verdict(Action::MeasureAgain)),
            ..Finding::default()
        };
        assert_eq!(said(&nothing), "Not determined: measure again.");
    }
}
