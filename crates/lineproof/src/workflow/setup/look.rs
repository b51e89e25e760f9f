//! What caliper, meter and eye said, as the shelf keeps it.

use lineproof_core::catalogue::Filling;
use lineproof_core::identify::Observed;
use lineproof_core::uncertain::Uncertain;
use serde::{Deserialize, Serialize};

use super::{name, named};

/// What was looked at.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Serialize)]
#[serde(default)]
pub(super) struct Looked {
    jacket_diameter_m: Option<Measured>,
    dielectric_diameter_m: Option<Measured>,
    inner_diameter_m: Option<Measured>,
    capacitance_f_m: Option<Measured>,
    filling: Option<String>,
    stranded: Option<bool>,
    magnetic: Option<bool>,
}

/// A value with its standard uncertainty.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Serialize)]
struct Measured {
    value: f64,
    u: f64,
}

const FILLINGS: [(Filling, &str); 4] = [
    (Filling::SolidPolyethylene, "solid-pe"),
    (Filling::FoamedPolyethylene, "foam-pe"),
    (Filling::Ptfe, "ptfe"),
    (Filling::AirSpaced, "air"),
];

impl Looked {
    /// What an assay was told; impedance, velocity, loss and marking come from elsewhere.
    pub(super) fn of(look: &Observed) -> Self {
        let Observed {
            impedance_ohm: _,
            velocity_factor: _,
            loss: _,
            jacket_diameter_m,
            dielectric_diameter_m,
            inner_diameter_m,
            capacitance_f_m,
            filling,
            stranded,
            magnetic,
            marking: _,
        } = look;
        Self {
            jacket_diameter_m: jacket_diameter_m.map(Measured::of),
            dielectric_diameter_m: dielectric_diameter_m.map(Measured::of),
            inner_diameter_m: inner_diameter_m.map(Measured::of),
            capacitance_f_m: capacitance_f_m.map(Measured::of),
            filling: filling.and_then(|f| name(&FILLINGS, f)),
            stranded: *stranded,
            magnetic: *magnetic,
        }
    }

    pub(super) fn look(&self) -> Observed {
        let value = |m: Option<Measured>| m.map(|m| Uncertain::new(m.value, m.u));
        Observed {
            jacket_diameter_m: value(self.jacket_diameter_m),
            dielectric_diameter_m: value(self.dielectric_diameter_m),
            inner_diameter_m: value(self.inner_diameter_m),
            capacitance_f_m: value(self.capacitance_f_m),
            filling: self.filling.as_deref().and_then(|f| named(&FILLINGS, f)),
            stranded: self.stranded,
            magnetic: self.magnetic,
            ..Observed::default()
        }
    }
}

impl Measured {
    fn of(value: Uncertain) -> Self {
        Self {
            value: value.value,
            u: value.u,
        }
    }
}
