//! Lengths in metres or feet, as the person likes them; SI everywhere else.

use serde::Deserialize;

use super::number::pair;

/// The international foot, m (exact).
const FOOT_M: f64 = 0.3048;

/// Which units lengths are shown in.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Metres, and dB for 100 m.
    #[default]
    Metres,
    /// Feet, and dB for 100 ft.
    Feet,
}

impl Units {
    /// Its name in cookie and form.
    pub fn name(self) -> &'static str {
        match self {
            Self::Metres => "metres",
            Self::Feet => "feet",
        }
    }

    /// Unit of a length.
    pub fn length(self) -> &'static str {
        match self {
            Self::Metres => "m",
            Self::Feet => "ft",
        }
    }

    /// Unit of an attenuation.
    pub fn attenuation(self) -> &'static str {
        match self {
            Self::Metres => "dB/100m",
            Self::Feet => "dB/100ft",
        }
    }

    /// A length from metres.
    pub fn of_m(self, length_m: f64) -> f64 {
        match self {
            Self::Metres => length_m,
            Self::Feet => length_m / FOOT_M,
        }
    }

    /// An attenuation from dB for 100 m.
    pub fn of_db_per_100m(self, db: f64) -> f64 {
        match self {
            Self::Metres => db,
            Self::Feet => db * FOOT_M,
        }
    }

    /// A length with its 95 % half-width: `2.400 ± 0.057 m`.
    pub fn length_pair(self, length_m: f64, u95_m: f64) -> String {
        let (value, u95) = pair(self.of_m(length_m), self.of_m(u95_m));
        format!("{value} ± {u95} {}", self.length())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The international foot of 1959: 0.3048 m.
    #[test]
    fn lengths_and_attenuations_go_opposite_ways() {
        assert!((Units::Feet.of_m(3.048) - 10.0).abs() < 1e-12);
        assert!((Units::Feet.of_db_per_100m(10.0) - 3.048).abs() < 1e-12);
        assert_eq!(Units::Metres.length_pair(2.4, 0.0571), "2.400 ± 0.057 m");
    }
}
