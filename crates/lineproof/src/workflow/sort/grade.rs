//! How good a cable is for a box: one word and its reason.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::kept::Kept;

/// From worst to best.
#[derive(Clone, Copy, Debug, Deserialize, Eq, Ord, PartialEq, PartialOrd, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// Broken, shorted, wet, dented.
    Faulty,
    /// The sweeps do not say.
    Undetermined,
    /// Not the impedance that the system needs.
    OtherImpedance,
    /// Something may be wrong.
    Suspect,
    /// Sound, and short of what it must keep to.
    Unfit,
    /// Sound, and not what its jacket says.
    Mismarked,
    /// Nothing speaks against it.
    Good,
}

impl Grade {
    /// The word for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Faulty => "faulty",
            Self::Undetermined => "undetermined",
            Self::OtherImpedance => "other impedance",
            Self::Suspect => "suspect",
            Self::Unfit => "unfit",
            Self::Mismarked => "mismarked",
            Self::Good => "good",
        }
    }
}

/// The grade of a finding for a system of `wanted_ohm`, and why.
pub fn grade(kept: &Kept, wanted_ohm: Option<f64>) -> (Grade, String) {
    let condition = kept.condition.as_deref();
    if condition == Some("faulty") {
        return (Grade::Faulty, trouble(kept));
    }
    let Some(z) = kept
        .impedance
        .as_ref()
        .filter(|_| condition != Some("undetermined"))
    else {
        let why = kept.warnings.iter().find(|w| w.code != "far-end-guessed");
        let why = why.map_or_else(|| "the sweeps do not say".to_owned(), |w| w.text.clone());
        return (Grade::Undetermined, why);
    };
    let criteria = kept.verdict.iter().flat_map(|v| &v.criteria);
    let failed: Vec<&str> = criteria
        .filter(|c| !c.passed)
        .map(|c| c.name.as_str())
        .collect();
    if let Some(wanted) = wanted_ohm.filter(|_| failed.contains(&"impedance_tolerance")) {
        return (
            Grade::OtherImpedance,
            format!("{:.1} ohm, {wanted} is needed", z.ohm),
        );
    }
    if condition == Some("suspect") {
        return (Grade::Suspect, trouble(kept));
    }
    // A jacket that claims another velocity is wrong about the cable; the cable may do all the same.
    if failed.iter().any(|&name| name != "velocity_tolerance") {
        return (Grade::Unfit, trouble(kept));
    }
    match &kept.marking {
        Some(marking) if marking.agrees == Some(false) => {
            let differences = marking.differences.iter().map(|d| d.text.as_str());
            (Grade::Mismarked, differences.collect::<Vec<_>>().join("; "))
        }
        _ => (Grade::Good, doubts(kept)),
    }
}

/// What the verdict or the events say.
fn trouble(kept: &Kept) -> String {
    if let Some(verdict) = kept.verdict.as_ref().filter(|v| !v.reasons.is_empty()) {
        return verdict.reasons.join("; ");
    }
    let events: Vec<String> = kept.events.iter().map(crate::kept::Event::text).collect();
    events.join("; ")
}

/// Warnings that touch the cable and not the way it was measured.
fn doubts(kept: &Kept) -> String {
    const OF_THE_CABLE: [&str; 2] = ["line-not-uniform", "far-end-mismatch"];
    let doubts = kept.warnings.iter();
    let doubts = doubts.filter(|w| OF_THE_CABLE.contains(&w.code.as_str()));
    doubts
        .map(|w| w.text.as_str())
        .collect::<Vec<_>>()
        .join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_worst_decides() {
        let cases = [
            (
                r#"{"condition":"faulty","events":[{"kind":"open","at_m":2.0}]}"#,
                Grade::Faulty,
                "open at 2.00 m",
            ),
            ("{}", Grade::Undetermined, "the sweeps do not say"),
            (
                r#"{"condition":"sound","impedance":{"ohm":74.9,"u95_ohm":0.2},"verdict":{"action":"use-elsewhere","criteria":[{"name":"impedance_tolerance","passed":false}]}}"#,
                Grade::OtherImpedance,
                "74.9 ohm, 50 is needed",
            ),
            (
                r#"{"condition":"suspect","impedance":{"ohm":50.9,"u95_ohm":0.2},"verdict":{"action":"measure again","reasons":["a plug"]}}"#,
                Grade::Suspect,
                "a plug",
            ),
            (
                r#"{"impedance":{"ohm":50.9,"u95_ohm":0.2},"verdict":{"action":"use-elsewhere","reasons":["too much loss"],"criteria":[{"name":"most_loss_db","passed":false}]}}"#,
                Grade::Unfit,
                "too much loss",
            ),
            (
                r#"{"impedance":{"ohm":50.9,"u95_ohm":0.2},"marking":{"agrees":false,"differences":[{"text":"slow"}]}}"#,
                Grade::Mismarked,
                "slow",
            ),
            (
                r#"{"impedance":{"ohm":50.9,"u95_ohm":0.2}}"#,
                Grade::Good,
                "",
            ),
        ];
        for (json, grade_wanted, why) in cases {
            let got = grade(&Kept::read(json), Some(50.0));
            assert_eq!(got, (grade_wanted, why.to_owned()), "{json}");
        }
        assert!(Grade::Faulty < Grade::Good, "worst first");
    }
}
