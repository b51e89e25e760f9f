//! Values as typed, with the resolution that their digits show.

use crate::constants::METRES_PER_FOOT;
use crate::uncertain::Uncertain;

/// A value that was typed, with its resolution, both in the unit that the reader's name gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The value.
    pub value: f64,
    /// Half a unit of the last digit typed: the true value lies anywhere within this of it.
    pub half_digit: f64,
}

impl Reading {
    /// The value with the standard uncertainty of its resolution (rectangular distribution).
    pub fn uncertain(self) -> Uncertain {
        Uncertain::within(self.value, self.half_digit)
    }

    /// Whether a length in metres was typed in feet or inches: its last digit is a decimal one of those.
    ///
    /// ```
    /// # use lineproof_core::quantity::parse_length_m;
    /// assert!(parse_length_m("86ft").unwrap().is_in_feet());
    /// assert!(!parse_length_m("26.21m").unwrap().is_in_feet());
    /// ```
    pub fn is_in_feet(self) -> bool {
        let decimal = |unit_m: f64| {
            let digit = (2.0 * self.half_digit / unit_m).log10();
            (digit - digit.round()).abs() < 1e-9
        };
        let inch_m = METRES_PER_FOOT / 12.0;
        decimal(METRES_PER_FOOT) || decimal(inch_m)
    }
}

/// An attenuation and the frequency that it was stated for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AttenuationReading {
    /// Attenuation, dB per 100 m.
    pub db_per_100m: Reading,
    /// Frequency it holds at, Hz; absent if the text names none.
    pub at_hz: Option<Reading>,
}
