//! Figures that differ by a factor which units make.

/// A factor that a slip would explain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slip {
    /// The factor.
    pub factor: f64,
    /// What would have been taken for what.
    pub what: &'static str,
}

/// Found over claimed loss, and what makes it so.
const LOSS_SLIPS: [Slip; 6] = [
    Slip {
        factor: 3.2808,
        what: "the claim is for 100 ft, not 100 m",
    },
    Slip {
        factor: 0.3048,
        what: "the claim is for 100 m and was converted from feet once more",
    },
    Slip {
        factor: 10.0,
        what: "the claim lacks a factor of ten (dB for 10 m, or a lost digit)",
    },
    Slip {
        factor: 0.1,
        what: "the claim has a factor of ten too much (dB for 1000 m, or a digit)",
    },
    Slip {
        factor: 8.6859,
        what: "the claim is in neper, not decibel",
    },
    Slip {
        factor: 100.0,
        what: "the claim is for 1 m, not 100 m",
    },
];
/// How close the ratio must be, relative.
const CLOSE: f64 = 0.03;

/// The slip that explains `found` over `claimed`, both losses in one unit, if there is one.
pub fn loss_slip(found: f64, claimed: f64) -> Option<Slip> {
    let ratio = found / claimed;
    let close = |slip: &&Slip| (ratio / slip.factor - 1.0).abs() < CLOSE;
    LOSS_SLIPS.iter().find(close).copied()
}

/// Antenna constants, feet times megahertz: half and quarter wave of a wire with its ends.
const ANTENNA_CONSTANTS: [f64; 2] = [468.0, 234.0];
/// How close a length must be to one of them, relative; feet are read to an inch.
const CLOSE_LENGTH: f64 = 0.003;

/// The antenna constant that `length_m` at `freq_hz` was made with, if it was: cable sums take 492 or
/// 246 and the velocity factor.
pub fn antenna_constant(length_m: f64, freq_hz: f64) -> Option<f64> {
    let product = length_m / crate::constants::METRES_PER_FOOT * freq_hz / 1e6;
    let close = |c: &&f64| (product / **c - 1.0).abs() < CLOSE_LENGTH;
    ANTENNA_CONSTANTS.iter().find(close).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hundred_feet_and_a_hundred_metres_differ_by_what_a_foot_is() {
        let slip = loss_slip(12.9, 12.9 * 0.3048).unwrap();
        assert!(slip.what.contains("100 ft"));
        assert_eq!(loss_slip(12.9, 10.0), None);
        assert_eq!(
            loss_slip(20.0, 10.0),
            None,
            "twice the loss may be corrosion"
        );
    }

    #[test]
    fn antenna_constants_are_known_by_their_product() {
        // 234/7.1 ft = 32.96 ft: the wire, not the cable (ARRL Handbook's constant, from memory)
        assert_eq!(antenna_constant(234.0 / 7.1 * 0.3048, 7.1e6), Some(234.0));
        assert_eq!(antenna_constant(246.0 / 7.1 * 0.66 * 0.3048, 7.1e6), None);
    }
}
