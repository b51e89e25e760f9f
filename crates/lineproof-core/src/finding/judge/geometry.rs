//! What a caliper at the conductor and the dielectric says beside the sweeps.
//!
//! Z0/VF = 59.96·ln(D/d) with D the diameter over the dielectric and d that of the inner conductor
//! (line theory; [`crate::line::geometry`]): the caliper gives it without any sweep, the
//! sweeps with a tape give it without a caliper. Without a tape the two together give the velocity
//! factor.

use crate::constants::ETA_0_OVER_2PI_OHM;
use crate::identify::Observed;
use crate::line::geometry::strand_factor;
use crate::quantity::format_uncertain;
use crate::uncertain::{Uncertain, propagate};

use crate::finding::found::Finding;
use crate::finding::quantities::{GeometryFound, from_u95};

/// Wires of an ordinary stranded conductor.
const USUAL_STRANDS: u32 = 7;
/// Wires of a braid, m: none (a foil) to thick. A braid acts as a tube wider than the dielectric by
/// 1.5 of its wires (trade formula, from memory).
const BRAID_WIRE_M: (f64, f64) = (0.0, 0.18e-3);
const BRAID_WIRES: f64 = 1.5;

/// Z0/VF as the diameters make it, ohm; `None` unless both are known and one is inside the other.
pub fn impedance_over_velocity_ohm(look: &Observed) -> Option<Uncertain> {
    let (outer, inner) = (look.dielectric_diameter_m?, look.inner_diameter_m?);
    if inner.value >= outer.value {
        return None;
    }
    let middle = 0.5 * (BRAID_WIRE_M.0 + BRAID_WIRE_M.1);
    let wire = Uncertain::within(middle, BRAID_WIRE_M.1 - middle);
    let outer = propagate([outer, wire], |[d, w]| d + BRAID_WIRES * w);
    let strands = strand_factor(USUAL_STRANDS)?;
    let acts_as = match look.stranded {
        Some(true) => Uncertain::new(strands, 0.01),
        Some(false) => Uncertain::exact(1.0),
        None => Uncertain::within(0.5 * (1.0 + strands), 1.0 - strands),
    };
    Some(propagate([outer, inner, acts_as], |[outer, inner, k]| {
        ETA_0_OVER_2PI_OHM * (outer / (k * inner)).ln()
    }))
}

/// Velocity factor from impedance and diameters.
pub fn velocity_factor(look: &Observed, impedance_ohm: Uncertain) -> Option<Uncertain> {
    let ratio = impedance_over_velocity_ohm(look)?;
    let vf = propagate([impedance_ohm, ratio], |[z, ratio]| z / ratio);
    (vf.value < 1.0).then_some(vf)
}

/// The caliper beside the sweeps; `None` without one.
pub fn compare(finding: &Finding, look: &Observed) -> Option<GeometryFound> {
    let by_caliper = impedance_over_velocity_ohm(look)?;
    let by_sweeps = finding
        .impedance
        .zip(finding.velocity_factor)
        .map(|(z, vf)| {
            let vf = from_u95(vf.ratio, vf.u95);
            propagate([z.uncertain(), vf], |[z, vf]| z / vf)
        });
    Some(GeometryFound {
        impedance_over_velocity_ohm: by_caliper.value,
        u95_ohm: by_caliper.u95(),
        by_sweeps_ohm: by_sweeps.map(|s| s.value),
        u95_by_sweeps_ohm: by_sweeps.map(Uncertain::u95),
        agrees: by_sweeps.map(|s| s.agrees_with(by_caliper)),
        text: sentence(by_caliper, by_sweeps),
    })
}

fn sentence(by_caliper: Uncertain, by_sweeps: Option<Uncertain>) -> String {
    let caliper = format!(
        "the diameters make Z0/VF {}",
        format_uncertain(by_caliper, "ohm")
    );
    let Some(sweeps) = by_sweeps else {
        return format!("{caliper}; give the length by tape to compare the sweeps with it");
    };
    let found = format!("{caliper}, the sweeps {}", format_uncertain(sweeps, "ohm"));
    let meaning = if sweeps.agrees_with(by_caliper) {
        "the diameters and the dielectric explain the impedance; it is not a fault"
    } else if sweeps.value < by_caliper.value {
        "the cable as a whole has less than at the caliper: conductor off centre, shield pressed \
         inwards, or a length that is too long"
    } else {
        "the cable as a whole has more than at the caliper: shield standing off, a thinner \
         conductor, or a length that is too short"
    };
    format!("{found}: {meaning}")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RG-213 by MIL-DTL-17/163 (from memory): 2.26 mm over 7 strands in 7.25 mm of polyethylene,
    /// 50 ohm, VF 0.659: Z0/VF = 75.9 ohm.
    #[test]
    fn the_diameters_of_a_usual_cable_make_its_impedance() {
        let look = Observed {
            dielectric_diameter_m: Some(Uncertain::exact(7.25e-3)),
            inner_diameter_m: Some(Uncertain::exact(2.26e-3)),
            stranded: Some(true),
            ..Observed::default()
        };
        let got = impedance_over_velocity_ohm(&look).unwrap();
        assert!(got.agrees_with(Uncertain::exact(50.0 / 0.659)), "{got:?}");
        assert!(got.u95() < 3.0, "{got:?}");
        let vf = velocity_factor(&look, Uncertain::exact(50.0)).unwrap();
        assert!(vf.agrees_with(Uncertain::exact(0.659)), "{vf:?}");
    }

    #[test]
    fn a_conductor_wider_than_its_dielectric_says_nothing() {
        let look = Observed {
            dielectric_diameter_m: Some(Uncertain::exact(1e-3)),
            inner_diameter_m: Some(Uncertain::exact(2e-3)),
            ..Observed::default()
        };
        assert_eq!(impedance_over_velocity_ohm(&look), None);
    }
}
