//! Values as typed, with the resolution that their digits show.

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
}

/// An attenuation and the frequency that it was stated for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AttenuationReading {
    /// Attenuation, dB per 100 m.
    pub db_per_100m: Reading,
    /// Frequency it holds at, Hz; absent if the text names none.
    pub at_hz: Option<Reading>,
}
