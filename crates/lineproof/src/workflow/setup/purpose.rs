//! What a cable was judged by: the limits that it had to keep to, and what it was for.

use serde::{Deserialize, Serialize};

use lineproof_core::finding::judge::Purpose;
use lineproof_core::finding::judge::criteria::Criteria;

/// Every limit in numbers, since defaults may change.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Serialize)]
#[serde(default)]
pub(super) struct Limits {
    impedance_tolerance: f64,
    velocity_tolerance: f64,
    loss_excess: f64,
    loss_excess_db: f64,
    shortest_m: f64,
    most_loss_db: Option<f64>,
}

/// What it was for, as far as it was said.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Serialize)]
#[serde(default)]
pub(super) struct MeantFor {
    system_ohm: Option<f64>,
    use_hz: Option<f64>,
}

impl Default for Limits {
    fn default() -> Self {
        Self::of(Criteria::default())
    }
}

impl Limits {
    pub(super) fn of(criteria: Criteria) -> Self {
        let Criteria {
            impedance_tolerance,
            velocity_tolerance,
            loss_excess,
            loss_excess_db,
            shortest_m,
            most_loss_db,
        } = criteria;
        Self {
            impedance_tolerance,
            velocity_tolerance,
            loss_excess,
            loss_excess_db,
            shortest_m,
            most_loss_db,
        }
    }

    pub(super) fn criteria(self) -> Criteria {
        Criteria {
            impedance_tolerance: self.impedance_tolerance,
            velocity_tolerance: self.velocity_tolerance,
            loss_excess: self.loss_excess,
            loss_excess_db: self.loss_excess_db,
            shortest_m: self.shortest_m,
            most_loss_db: self.most_loss_db,
        }
    }
}

impl MeantFor {
    pub(super) fn of(purpose: Purpose) -> Self {
        let Purpose { system_ohm, use_hz } = purpose;
        Self { system_ohm, use_hz }
    }

    pub(super) fn purpose(self) -> Purpose {
        Purpose {
            system_ohm: self.system_ohm,
            use_hz: self.use_hz,
        }
    }
}
