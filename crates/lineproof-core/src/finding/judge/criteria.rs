//! What a cable must keep to, by default or as a club or a company has it, from a small TOML file.
//!
//! Defaults are figures in use in the trade; where nobody states one, the default is marked as our
//! own proposal. A criteria file may give any part of them:
//!
//! ```toml
//! impedance_tolerance = 0.04      # of the system's impedance: ±2 ohm in 50
//! velocity_tolerance = 0.05       # of the claimed velocity factor
//! loss_excess = 0.20              # of the claimed loss
//! loss_excess_db = 0.3            # the larger of both counts
//! shortest_m = 0.5                # what is left after a repair must be longer
//! most_loss_db = 2.0              # of the piece at the frequency of use
//! ```

use serde::Deserialize;

use crate::finding::verdict::Criterion;

/// Limits that a verdict is made by.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Criteria {
    /// Difference of impedance from the system's, relative.
    pub impedance_tolerance: f64,
    /// Difference of velocity factor from the claimed one, relative.
    pub velocity_tolerance: f64,
    /// Loss above the claimed one, relative.
    pub loss_excess: f64,
    /// The same in dB for the piece; the larger of both counts.
    pub loss_excess_db: f64,
    /// Shortest piece worth keeping after a repair, m.
    pub shortest_m: f64,
    /// Most loss of the piece at the frequency of use, dB; unlimited if absent.
    pub most_loss_db: Option<f64>,
}

impl Default for Criteria {
    fn default() -> Self {
        Self {
            impedance_tolerance: 0.04,
            velocity_tolerance: 0.05,
            loss_excess: 0.20,
            loss_excess_db: 0.3,
            shortest_m: 0.5,
            most_loss_db: None,
        }
    }
}

/// Where each default comes from, by the name in the file.
pub const SOURCES: [(Criterion, &str); 6] = [
    (
        Criterion::ImpedanceTolerance,
        "±2 ohm in 50, as military flexible cables are sold (MIL-DTL-17)",
    ),
    (
        Criterion::VelocityTolerance,
        "common practice: measured against data sheets, pieces differ by up to 5 %",
    ),
    (
        Criterion::LossExcess,
        "our own proposal: 20 % above the data sheet",
    ),
    (
        Criterion::LossExcessDb,
        "our own proposal; a plug has up to 0.25 dB in the trade's rules",
    ),
    (Criterion::ShortestM, "our own proposal"),
    (
        Criterion::MostLossDb,
        "none unless stated; rules in use have 2 dB for a feed line",
    ),
];

impl Criteria {
    /// Reads a criteria file's text.
    ///
    /// # Errors
    /// The reader's own message with line and column, or which number makes no sense.
    pub fn from_toml(text: &str) -> Result<Self, String> {
        let criteria: Self = toml::from_str(text).map_err(|e| e.to_string())?;
        let wrong = |n: f64| !(n.is_finite() && n > 0.0);
        let mut numbers = criteria.numbers().into_iter();
        match numbers.find(|(_, number)| number.is_some_and(wrong)) {
            Some((name, Some(n))) => Err(format!("`{name}` is {n}: expected a number above zero")),
            _ => Ok(criteria),
        }
    }

    /// Whether the limit of this name is another one than the default.
    pub fn is_set(&self, criterion: &Criterion) -> bool {
        let own = self.numbers().into_iter().zip(Self::default().numbers());
        let mut changed = own.filter(|(own, default)| own != default);
        changed.any(|((changed, _), _)| changed == *criterion)
    }

    /// Every limit by its name in a file.
    fn numbers(&self) -> [(Criterion, Option<f64>); 6] {
        [
            (
                Criterion::ImpedanceTolerance,
                Some(self.impedance_tolerance),
            ),
            (Criterion::VelocityTolerance, Some(self.velocity_tolerance)),
            (Criterion::LossExcess, Some(self.loss_excess)),
            (Criterion::LossExcessDb, Some(self.loss_excess_db)),
            (Criterion::ShortestM, Some(self.shortest_m)),
            (Criterion::MostLossDb, self.most_loss_db),
        ]
    }
}

/// Where a default comes from.
pub fn source(criterion: &Criterion) -> &'static str {
    SOURCES
        .iter()
        .find(|(known, _)| known == criterion)
        .map_or("", |(_, source)| source)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_changes_what_it_names() {
        let criteria = Criteria::from_toml("loss_excess = 0.1\nmost_loss_db = 2.2\n").unwrap();
        assert_eq!(criteria.loss_excess, 0.1);
        assert_eq!(criteria.most_loss_db, Some(2.2));
        assert!(criteria.is_set(&Criterion::LossExcess) && criteria.is_set(&Criterion::MostLossDb));
        assert!(!criteria.is_set(&Criterion::ShortestM));
        assert_eq!(criteria.shortest_m, Criteria::default().shortest_m);
    }

    #[test]
    fn mistakes_are_named() {
        let unknown = Criteria::from_toml("loss_exces = 0.1\n").unwrap_err();
        assert!(unknown.contains("loss_exces"), "{unknown}");
        let negative = Criteria::from_toml("shortest_m = -1\n").unwrap_err();
        assert!(negative.contains("shortest_m"), "{negative}");
    }

    #[test]
    fn every_default_has_its_source() {
        assert!(SOURCES.iter().all(|(_, source)| !source.is_empty()));
        assert!(source(&Criterion::LossExcess).contains("20 %"));
    }
}
