//! Which types of the catalogue stand beside the loss that was found.

use crate::catalogue::{CableType, Catalogue};
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::finding::found::Finding;
use crate::quantity::digits::percent;

/// A type of the catalogue whose loss is drawn beside the one that was found.
#[derive(Clone, Copy, Debug)]
pub struct Beside {
    /// The type.
    pub cable_type: &'static CableType,
    /// Its probability; absent if only the jacket names it.
    pub probability: Option<f64>,
}

/// Types below this probability are not drawn.
const DRAWN: f64 = 0.15;
/// At most so many likely types are.
const MOST_DRAWN: usize = 2;
/// Points of a catalogue's curve.
const CURVE_POINTS: i32 = 60;

/// The likeliest types, and the one that the jacket names, as far as the catalogue knows their loss.
pub fn beside(finding: &Finding) -> Vec<Beside> {
    let catalogue = Catalogue::built_in();
    let known = |name: &str| {
        let found = catalogue.find(name).ok();
        found.filter(|t| t.loss.known_hz().is_some())
    };
    let likely = finding.types.iter().filter(|t| t.probability >= DRAWN);
    let likely = likely.filter_map(|t| {
        Some(Beside {
            cable_type: known(&t.designation)?,
            probability: Some(t.probability),
        })
    });
    let mut all: Vec<Beside> = likely.take(MOST_DRAWN).collect();
    let marked = finding
        .marking
        .as_ref()
        .and_then(|m| m.designation.as_deref());
    let drawn = |t: &CableType| {
        all.iter()
            .any(|b| b.cable_type.designation == t.designation)
    };
    let marked = marked.and_then(known).filter(|t| !drawn(t));
    all.extend(marked.map(|cable_type| Beside {
        cable_type,
        probability: None,
    }));
    all
}

impl Beside {
    /// The type with why it is drawn and the id of the source of its loss.
    pub fn name(&self) -> String {
        let designation = &self.cable_type.designation;
        let source = self.cable_type.loss.source().unwrap_or("no source");
        match self.probability {
            Some(p) => format!("typical {designation} ({}) [{source}]", percent(p)),
            None => format!("typical {designation}, as marked [{source}]"),
        }
    }

    /// The document behind the source's id.
    pub fn document(&self) -> Option<(&'static str, &'static str)> {
        let id = self.cable_type.loss.source()?;
        Some((id, Catalogue::built_in().source(id)?))
    }

    /// Loss of a piece of the type as long as the one that was found, by its length or, without one, by its delay:
    /// frequency, Hz, and dB.
    pub fn curve(&self, finding: &Finding) -> Option<Vec<(f64, f64)>> {
        let velocity = self.cable_type.velocity_factor.value * SPEED_OF_LIGHT_M_S;
        let by_delay = || finding.delay.map(|d| d.one_way_s * velocity);
        let length_m = finding.length.map(|l| l.m).or_else(by_delay)?;
        let (first, last) = (finding.loss.first()?.at_hz, finding.loss.last()?.at_hz);
        let at = |i: i32| first * (last / first).powf(f64::from(i) / f64::from(CURVE_POINTS));
        let point = |freq_hz: f64| {
            let db_m = self.cable_type.loss.typical_db_m(freq_hz).ok()?;
            Some((freq_hz, db_m.value * length_m))
        };
        let points: Vec<(f64, f64)> = (0..=CURVE_POINTS).map(at).filter_map(point).collect();
        (points.len() > 1).then_some(points)
    }
}
