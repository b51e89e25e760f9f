//! How good a cable is for a box: one word and its reason.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::finding::{Condition, Criterion, EventFound, Finding, WarningCode};

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
pub fn grade(finding: &Finding, wanted_ohm: Option<f64>) -> (Grade, String) {
    let condition = finding.condition;
    if condition == Condition::Faulty {
        return (Grade::Faulty, trouble(finding));
    }
    let determined = condition != Condition::Undetermined;
    let Some(z) = finding.impedance.filter(|_| determined) else {
        let mut warnings = finding.warnings.iter();
        let why = warnings.find(|w| w.code != WarningCode::FarEndGuessed);
        let why = why.map_or_else(|| "the sweeps do not say".to_owned(), |w| w.text.clone());
        return (Grade::Undetermined, why);
    };
    let criteria = finding.verdict.iter().flat_map(|v| &v.criteria);
    let failed = criteria.filter(|c| !c.passed).map(|c| &c.name);
    let failed: Vec<&Criterion> = failed.collect();
    let other = failed.contains(&&Criterion::ImpedanceTolerance);
    if let Some(wanted) = wanted_ohm.filter(|_| other) {
        return (
            Grade::OtherImpedance,
            format!("{:.1} ohm, needs {wanted}", z.ohm),
        );
    }
    if condition == Condition::Suspect {
        return (Grade::Suspect, trouble(finding));
    }
    // A jacket that claims another velocity, or another impedance where nobody needs one, is wrong about the cable;
    // the cable may do all the same.
    let of_the_jacket = |name: &Criterion| {
        *name == Criterion::VelocityTolerance
            || (*name == Criterion::ImpedanceTolerance && wanted_ohm.is_none())
    };
    if failed.iter().any(|&name| !of_the_jacket(name)) {
        return (Grade::Unfit, trouble(finding));
    }
    match &finding.marking {
        Some(marking) if marking.agrees == Some(false) => {
            let differences = marking.differences.iter().map(|d| d.text.as_str());
            (Grade::Mismarked, differences.collect::<Vec<_>>().join("; "))
        }
        _ => (Grade::Good, doubts(finding)),
    }
}

/// What the verdict or the events say.
fn trouble(finding: &Finding) -> String {
    let verdict = finding.verdict.as_ref();
    if let Some(verdict) = verdict.filter(|v| !v.reasons.is_empty()) {
        return verdict.reasons.join("; ");
    }
    let events: Vec<String> = finding.events.iter().map(EventFound::text).collect();
    events.join("; ")
}

/// Warnings that touch the cable and not the way it was measured.
fn doubts(finding: &Finding) -> String {
    let of_the_cable = |code: &WarningCode| {
        matches!(
            code,
            WarningCode::LineNotUniform | WarningCode::FarEndMismatch
        )
    };
    let doubts = finding.warnings.iter().filter(|w| of_the_cable(&w.code));
    doubts
        .map(|w| w.text.as_str())
        .collect::<Vec<_>>()
        .join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stored;

    #[test]
    fn what_is_worst_decides() {
        let of = |ohm: f64| {
            format!(r#""impedance":{{"ohm":{ohm},"u95_ohm":0.2,"at_hz":1e8,"limited_by":"load"}}"#)
        };
        let verdict = |action: &str, reasons: &str, failed: &str| {
            let criteria = if failed.is_empty() {
                String::new()
            } else {
                format!(r#"{{"name":"{failed}","text":"","passed":false,"set":false,"source":""}}"#)
            };
            format!(
                r#""verdict":{{"action":"{action}","reasons":[{reasons}],"criteria":[{criteria}]}}"#
            )
        };
        let cases = [
            (
                r#"{"condition":"faulty","events":[{"kind":"open","at_m":2.0,"u95_m":0.1,"one_way_s":1e-8}]}"#.to_owned(),
                Grade::Faulty,
                "open at 2.00 ± 0.10 m",
            ),
            ("{}".to_owned(), Grade::Undetermined, "the sweeps do not say"),
            (
                format!(r#"{{"condition":"sound",{},{}}}"#, of(74.9), verdict("use-elsewhere", "", "impedance_tolerance")),
                Grade::OtherImpedance,
                "74.9 ohm, needs 50",
            ),
            (
                format!(r#"{{"condition":"suspect",{},{}}}"#, of(50.9), verdict("measure-again", r#""a plug""#, "")),
                Grade::Suspect,
                "a plug",
            ),
            (
                format!(r#"{{"condition":"sound",{},{}}}"#, of(50.9), verdict("use-elsewhere", r#""too much loss""#, "most_loss_db")),
                Grade::Unfit,
                "too much loss",
            ),
            (
                format!(
                    r#"{{"condition":"sound",{},"marking":{{"agrees":false,"differences":[{{"quantity":"velocity factor","marked":0.7,"found":0.6,"u95":0.01,"unit":"","text":"slow"}}]}}}}"#,
                    of(50.9)
                ),
                Grade::Mismarked,
                "slow",
            ),
            (format!(r#"{{"condition":"sound",{}}}"#, of(50.9)), Grade::Good, ""),
        ];
        for (json, grade_wanted, why) in cases {
            let got = grade(&stored::finding(&json), Some(50.0));
            assert_eq!(got, (grade_wanted, why.to_owned()), "{json}");
        }
        assert!(Grade::Faulty < Grade::Good, "worst first");
    }
}
