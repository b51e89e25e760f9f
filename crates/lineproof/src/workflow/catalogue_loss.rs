//! The catalogue's loss for a piece as long as the one that was found, to draw beside it.
//!
//! Without a length the piece is as long as its delay and the type's own velocity factor make it.

use lineproof_core::catalogue::{CableType, Catalogue};
use lineproof_core::constants::SPEED_OF_LIGHT_M_S;
use lineproof_draw::Curve;

use super::types::NONE;
use crate::kept::Kept;

/// Points of a curve.
const POINTS: usize = 60;
/// Likely types whose curves are drawn besides that of the marking.
const LIKELY: usize = 2;
/// Probability from which a type is likely.
const LIKELY_FROM: f64 = 0.1;

/// Curves of the type on the jacket and of the likeliest types, as far as the loss was found.
pub fn curves(kept: &Kept) -> Vec<Curve> {
    let mut named: Vec<&'static CableType> = Vec::new();
    let marked = kept.marking.iter().filter_map(|m| m.designation.as_deref());
    let likely = kept
        .types
        .iter()
        .filter(|t| t.designation != NONE && t.probability >= LIKELY_FROM)
        .map(|t| t.designation.as_str())
        .take(LIKELY);
    for name in marked.chain(likely) {
        if let Ok(found) = Catalogue::built_in().find(name)
            && !named.iter().any(|t| t.designation == found.designation)
        {
            named.push(found);
        }
    }
    named.into_iter().filter_map(|t| curve(kept, t)).collect()
}

fn curve(kept: &Kept, of: &CableType) -> Option<Curve> {
    let length_m = length_m(kept, of)?;
    let (low_hz, high_hz) = (kept.loss.first()?.at_hz, kept.loss.last()?.at_hz);
    let points: Vec<(f64, f64)> = (0..POINTS)
        .map(|i| {
            // Closer at low frequency, where a curve that grows as √f bends.
            let part = i as f64 / (POINTS - 1) as f64;
            low_hz + (high_hz - low_hz) * part * part
        })
        .filter_map(|hz| Some((hz, of.loss.typical_db_m(hz).ok()?.value * length_m)))
        .collect();
    (points.len() > 1).then(|| Curve {
        name: format!("{}, catalogue", of.designation),
        points,
    })
}

fn length_m(kept: &Kept, of: &CableType) -> Option<f64> {
    let found = kept.length.as_ref().map(|l| l.m);
    found.or_else(|| {
        let delay = kept.delay?;
        Some(delay.one_way_s * SPEED_OF_LIGHT_M_S * of.velocity_factor.value)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The curve of 10 m at 100 MHz is a tenth of the catalogue's figure for 100 m.
    #[test]
    fn a_curve_is_the_catalogues_for_this_length() {
        let kept = Kept::read(
            r#"{"length":{"m":10,"u95_m":0.01,"basis":"tape"},
                "loss":[{"at_hz":1e7,"db":0.5,"u95_db":0.01},{"at_hz":1e8,"db":1.6,"u95_db":0.01}],
                "types":[{"designation":"RG-58C/U","probability":0.9},
                         {"designation":"none of these","probability":0.1}]}"#,
        );
        let curves = curves(&kept);
        assert_eq!(curves.len(), 1);
        let (hz, db) = *curves[0].points.last().unwrap();
        let of = Catalogue::built_in().find("RG-58C/U").unwrap();
        let wanted = of.loss.typical_db_m(1e8).unwrap().value * 10.0;
        assert!(
            (hz, db) == (1e8, wanted),
            "got {db} at {hz}, wanted {wanted}"
        );
    }
}
