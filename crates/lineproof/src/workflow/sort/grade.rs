//! How good a cable is for a box: one word and its reason.

use serde::{Deserialize, Serialize};

use crate::kept::Kept;

/// How far, relative, an impedance may be from the one that is needed, as for a marking: 5 %, the
/// widest tolerance of common coaxial types (MIL-C-17 sheets allow ±2 to ±5 ohm; from memory).
const IMPEDANCE_TOLERANCE: f64 = 0.05;

/// From worst to best.
#[derive(Clone, Copy, Debug, Deserialize, Eq, Ord, PartialEq, PartialOrd, Serialize)]
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
    let off = |wanted: f64| (z.ohm - wanted).abs() > (IMPEDANCE_TOLERANCE * wanted).max(z.u95_ohm);
    if let Some(wanted) = wanted_ohm.filter(|&wanted| off(wanted)) {
        return (
            Grade::OtherImpedance,
            format!("{:.1} ohm, {wanted} is needed", z.ohm),
        );
    }
    if condition == Some("suspect") {
        return (Grade::Suspect, trouble(kept));
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
                r#"{"condition":"sound","impedance":{"ohm":74.9,"u95_ohm":0.2}}"#,
                Grade::OtherImpedance,
                "74.9 ohm, 50 is needed",
            ),
            (
                r#"{"condition":"suspect","impedance":{"ohm":50.9,"u95_ohm":0.2},"verdict":{"action":"measure again","reasons":["a plug"]}}"#,
                Grade::Suspect,
                "a plug",
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
