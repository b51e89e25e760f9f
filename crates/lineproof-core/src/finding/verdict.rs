//! Whether the cable is sound, and what to do with it.

use super::words::{codes, words};

words! {
    /// Whether the cable is sound.
    #[derive(Default)]
    pub enum Condition {
        /// Nothing speaks against it.
        Sound = "sound",
        /// Something does, and is not sure.
        Suspect = "suspect",
        /// It has a fault.
        Faulty = "faulty",
        /// Of a stored finding that is older than this key; no assay gives it.
        #[default]
        NotJudged = "not judged",
        /// The sweeps do not say; also a word that this version does not know.
        #[cfg_attr(feature = "serde", serde(other))]
        Undetermined = "undetermined",
    }
}

words! {
    /// What to do with a cable.
    pub enum Action {
        /// It is good for what it is meant for.
        Keep = "keep",
        /// It is sound, and not for this.
        UseElsewhere = "use-elsewhere",
        /// Cut the fault out, or renew a plug.
        Repair = "repair",
        /// Nothing of it is worth the work.
        Discard = "discard",
        /// The sweeps do not say enough.
        MeasureAgain = "measure-again",
    }
}

/// What to do, why, and by which criteria.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct VerdictFound {
    /// What to do.
    pub action: Action,
    /// Why, and how.
    pub reasons: Vec<String>,
    /// Every criterion that could be checked.
    pub criteria: Vec<CriterionFound>,
}

codes! {
    /// A limit that a cable must keep to, by its name in a criteria file.
    pub enum Criterion {
        /// Difference of impedance from the system's.
        ImpedanceTolerance = "impedance_tolerance",
        /// Difference of velocity factor from the claimed one.
        VelocityTolerance = "velocity_tolerance",
        /// Loss above the claimed one, relative.
        LossExcess = "loss_excess",
        /// Loss above the claimed one, dB.
        LossExcessDb = "loss_excess_db",
        /// Shortest piece worth keeping after a repair.
        ShortestM = "shortest_m",
        /// Most loss at the frequency of use.
        MostLossDb = "most_loss_db",
    }
}

/// One criterion with what was found.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CriterionFound {
    /// Its name in a criteria file.
    #[cfg_attr(feature = "schema", schema(value_type = String))]
    pub name: Criterion,
    /// What was found and what was wanted.
    pub text: String,
    /// Whether it is kept.
    pub passed: bool,
    /// Whether a criteria file set the limit to something else than the default.
    pub set: bool,
    /// Where the default comes from.
    pub source: String,
}

impl Action {
    /// The action for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::UseElsewhere => "use elsewhere",
            Self::MeasureAgain => "measure again",
            plain => plain.name(),
        }
    }
}
