//! Whether a length by tape can be that of the cable: the velocity factor that it makes says so.
//!
//! A velocity factor near 2, 0.5, 3.28 or 0.305 times the claimed one is a tape that was doubled or folded, or feet
//! and metres mixed up; without a claim the same factor must lead to what cables have. Two of those also have
//! another reading: a cable that ends halfway looks like a doubled tape from one end.

use crate::bench::Bench;
use crate::catalogue::{Catalogue, Claim};
use crate::constants::METRES_PER_FOOT;
use crate::method::velocity::{self, POSSIBLE};
use crate::quantity::{digits::significant, format_length};
use crate::uncertain::Uncertain;

/// A length that the cable does not have.
#[derive(Clone, Debug, PartialEq)]
pub struct TapeDoubt {
    /// Velocity factor that it makes.
    pub velocity_factor: f64,
    /// The slip that would explain it, if one does.
    pub slip: Option<TapeSlip>,
    /// The same in a sentence, with what to do.
    pub text: String,
}

/// A slip of a length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TapeSlip {
    /// Stated over true length.
    pub factor: f64,
    /// What was done.
    pub what: &'static str,
}

/// Slips that people make. Common practice.
const SLIPS: [TapeSlip; 4] = [
    TapeSlip {
        factor: 2.0,
        what: "the length is twice the cable's: a tape read there and back, a round trip, or a cable that ends \
               halfway",
    },
    TapeSlip {
        factor: 0.5,
        what: "the length is half the cable's: a folded cable, or half of a round trip",
    },
    TapeSlip {
        factor: 1.0 / METRES_PER_FOOT,
        what: "the number is in feet and was stated in metres",
    },
    TapeSlip {
        factor: METRES_PER_FOOT,
        what: "the number is in metres and was stated in feet",
    },
];
/// How near to a slip the velocity factor must come, relative: what pieces differ by from their claim, and
/// plugs that were measured with the cable. Common practice.
const NEAR: f64 = 0.10;
/// Velocity factors that cables have: an unclaimed one leads in here.
const USUAL: std::ops::RangeInclusive<f64> = 0.62..=0.92;

/// Why the bench's length can't be that of a cable with this one-way delay between its plugs, s; nothing if it
/// can, or if there is none.
pub fn doubt(bench: &Bench, delay_s: Uncertain) -> Option<TapeDoubt> {
    let length_m = bench.length_m?;
    let vf = velocity::velocity_factor(length_m, delay_s).value;
    if !vf.is_finite() {
        return None;
    }
    let claims = Claim::all(&bench.marking, Catalogue::built_in());
    let claimed: Vec<f64> = claims
        .iter()
        .filter_map(Claim::velocity_factor)
        .map(|c| c.figure.value)
        .collect();
    let near = |would_be: f64| {
        if claimed.is_empty() {
            USUAL.contains(&would_be)
        } else {
            claimed.iter().any(|c| (would_be / c - 1.0).abs() < NEAR)
        }
    };
    if near(vf) || (claimed.is_empty() && (0.58..=0.97).contains(&vf)) {
        return None;
    }
    let slip = SLIPS.into_iter().find(|slip| near(vf / slip.factor));
    if slip.is_none() && POSSIBLE.contains(&vf) {
        return None;
    }
    let against = claimed.first().map_or_else(String::new, |c| {
        format!(" where {} is claimed", significant(*c, 2))
    });
    let why = match slip {
        Some(slip) => slip.what.to_owned(),
        None => "length or unit is wrong, or the sweeps are not of this cable".to_owned(),
    };
    Some(TapeDoubt {
        velocity_factor: vf,
        slip,
        text: format!(
            "a length of {} makes a velocity factor of {}{against}: {why}; the length is not used and no place is \
             stated by it, measure it again",
            format_length(length_m.value),
            significant(vf, 3)
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::{Load, Marking};
    use crate::constants::SPEED_OF_LIGHT_M_S;

    /// 10 m of velocity factor 0.66 whose tape was stated as `stated_m`.
    fn doubted(stated_m: f64, marked: Option<f64>) -> Option<TapeDoubt> {
        let bench = Bench::new(Load::nominal(50.0))
            .unwrap()
            .with_length(Some(Uncertain::new(stated_m, 0.003)))
            .unwrap()
            .with_marking(Marking {
                velocity_factor: marked,
                ..Marking::default()
            });
        let delay_s = Uncertain::new(10.0 / (0.66 * SPEED_OF_LIGHT_M_S), 1e-11);
        doubt(&bench, delay_s)
    }

    /// Double and half tapes passed even against a marking.
    #[test]
    fn slips_are_known_by_their_factor() {
        for (stated_m, factor) in [
            (20.0, 2.0),
            (5.0, 0.5),
            (32.808, 1.0 / METRES_PER_FOOT),
            (3.048, METRES_PER_FOOT),
        ] {
            let found = doubted(stated_m, Some(0.66)).unwrap();
            assert_eq!(found.slip.map(|s| s.factor), Some(factor), "{found:?}");
        }
    }

    #[test]
    fn what_pieces_and_types_differ_by_is_no_slip() {
        for stated_m in [9.5, 10.0, 10.6] {
            assert_eq!(doubted(stated_m, Some(0.66)), None, "{stated_m}");
            assert_eq!(doubted(stated_m, None), None, "{stated_m}");
        }
        // foam where solid polyethylene is claimed: another type, not a slip
        assert_eq!(doubted(12.4, Some(0.66)), None);
        // twice the length of an unmarked cable: faster than light
        assert!(doubted(20.0, None).unwrap().slip.is_some());
        assert!(doubted(200.0, Some(0.66)).unwrap().slip.is_none());
    }
}
