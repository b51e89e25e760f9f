//! How good a cable is for a box: one word and its reason.

use crate::finding::events::EventFound;
use crate::finding::found::Finding;
use crate::finding::remarks::WarningCode;
use crate::finding::verdict::{Condition, Criterion};

/// From worst to best.
#[derive(Clone, Copy, Debug, Eq, Ord, PartialEq, PartialOrd)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize, serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "serde", serde(rename_all = "kebab-case"))]
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
    use crate::finding::EventKind;
    use crate::finding::marking::{Difference, MarkingFound, Quantity};
    use crate::finding::quantities::{ImpedanceFound, LimitedBy};
    use crate::finding::verdict::{Action, CriterionFound, VerdictFound};

    fn of(condition: Condition, ohm: f64) -> Finding {
        Finding {
            condition,
            impedance: Some(ImpedanceFound {
                ohm,
                u95_ohm: 0.2,
                at_hz: 1e8,
                limited_by: LimitedBy::Load,
            }),
            ..Finding::default()
        }
    }

    fn verdict(action: Action, reasons: &[&str], failed: Option<Criterion>) -> VerdictFound {
        let criterion = |name| CriterionFound {
            name,
            text: String::new(),
            passed: false,
            set: false,
            source: String::new(),
        };
        VerdictFound {
            action,
            reasons: reasons.iter().map(|&r| r.to_owned()).collect(),
            criteria: failed.map(criterion).into_iter().collect(),
        }
    }

    #[test]
    fn what_is_worst_decides() {
        let broken = Finding {
            events: vec![EventFound::at(EventKind::Open, 2.0, 0.1)],
            condition: Condition::Faulty,
            ..Finding::default()
        };
        let other = Finding {
            verdict: Some(verdict(
                Action::UseElsewhere,
                &[],
                Some(Criterion::ImpedanceTolerance),
            )),
            ..of(Condition::Sound, 74.9)
        };
        let suspect = Finding {
            verdict: Some(verdict(Action::MeasureAgain, &["a plug"], None)),
            ..of(Condition::Suspect, 50.9)
        };
        let lossy = Finding {
            verdict: Some(verdict(
                Action::UseElsewhere,
                &["too much loss"],
                Some(Criterion::MostLossDb),
            )),
            ..of(Condition::Sound, 50.9)
        };
        let mismarked = Finding {
            marking: Some(MarkingFound {
                designation: None,
                agrees: Some(false),
                differences: vec![Difference {
                    quantity: Quantity::VelocityFactor,
                    marked: 0.7,
                    found: 0.6,
                    u95: 0.01,
                    unit: String::new(),
                    text: "slow".to_owned(),
                }],
                remarks: Vec::new(),
                explanation: Vec::new(),
            }),
            ..of(Condition::Sound, 50.9)
        };
        let cases = [
            (broken, Grade::Faulty, "open at 2.00 ± 0.10 m"),
            (
                Finding::default(),
                Grade::Undetermined,
                "the sweeps do not say",
            ),
            (other, Grade::OtherImpedance, "74.9 ohm, needs 50"),
            (suspect, Grade::Suspect, "a plug"),
            (lossy, Grade::Unfit, "too much loss"),
            (mismarked, Grade::Mismarked, "slow"),
            (of(Condition::Sound, 50.9), Grade::Good, ""),
        ];
        for (finding, wanted, why) in cases {
            let got = grade(&finding, Some(50.0));
            assert_eq!(got, (wanted, why.to_owned()), "{finding:?}");
        }
        assert!(Grade::Faulty < Grade::Good, "worst first");
    }
}
