//! Lengths in metres or feet, as the person likes them; SI everywhere else.

use super::digits::pair;
use crate::constants::METRES_PER_FOOT as FOOT_M;

/// Which units lengths are shown in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(rename_all = "lowercase"))]
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

impl Units {
    /// Sentences of a finding, which are metric, in these units.
    pub fn texts<'a>(self, texts: impl IntoIterator<Item = &'a String>) -> Vec<String> {
        texts.into_iter().map(|text| self.text(text)).collect()
    }

    /// A sentence of a finding with its lengths in these units. A finding states lengths in metres,
    /// whoever reads it; this is the one place that turns its sentences into feet.
    pub fn text(self, metric: &str) -> String {
        match self {
            Self::Metres => metric.to_owned(),
            Self::Feet => in_feet(metric),
        }
    }
}

/// Metric units in a sentence, what they become, and how many of the latter make one.
const IMPERIAL: [(&str, &str, f64); 7] = [
    ("dB/100m", "dB/100ft", FOOT_M),
    ("dB/100 m", "dB/100 ft", FOOT_M),
    ("dB per 100 m", "dB per 100 ft", FOOT_M),
    ("km", "ft", 1e3 / FOOT_M),
    ("m", "ft", 1.0 / FOOT_M),
    ("cm", "in", 1.0 / INCH_CM),
    ("mm", "in", 0.1 / INCH_CM),
];
/// The international inch, cm (exact).
const INCH_CM: f64 = 2.54;
/// Words between the numbers that one unit belongs to: `3.90 ± 0.02 m`, `3.90 to 4.10 m`.
const BETWEEN: [&str; 4] = ["±", "to", "and", "or"];

/// Word by word from the end, since a unit stands behind its numbers.
fn in_feet(metric: &str) -> String {
    let mut words: Vec<String> = metric.split(' ').map(str::to_owned).collect();
    let mut at = words.len();
    while at > 1 {
        at -= 1;
        let Some((unit, scale)) = unit_at(&words, at) else {
            continue;
        };
        if number(&words[at - 1]).is_none() {
            continue;
        }
        words[at] = unit;
        at -= 1;
        loop {
            words[at] = scaled(&words[at], scale);
            let chained = at >= 2 && BETWEEN.contains(&words[at - 1].as_str());
            if !chained || number(&words[at - 2]).is_none() {
                break;
            }
            at -= 2;
        }
    }
    words.join(" ")
}

/// The unit that a word is, with the signs around it, turned into feet or inches.
fn unit_at(words: &[String], at: usize) -> Option<(String, f64)> {
    let word = words[at].as_str();
    let bare = word.trim_end_matches(|c: char| ",;:.)".contains(c));
    let (_, name, scale) = IMPERIAL.iter().find(|(metric, ..)| *metric == bare)?;
    Some((format!("{name}{}", &word[bare.len()..]), *scale))
}

/// A number, perhaps behind a bracket.
fn number(word: &str) -> Option<f64> {
    word.trim_start_matches('(').parse().ok()
}

/// The number times `scale`, with as many digits as it has.
fn scaled(word: &str, scale: f64) -> String {
    let Some(value) = number(word) else {
        return word.to_owned();
    };
    let decimals = word.split_once('.').map_or(0, |(_, after)| after.len());
    // no digit is lost: of a larger unit one more is shown
    let decimals = (decimals as f64 - scale.log10().floor()).max(0.0) as usize;
    let bracket = if word.starts_with('(') { "(" } else { "" };
    format!("{bracket}{:.decimals$}", value * scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The international foot and inch of 1959: 0.3048 m and 2.54 cm.
    #[test]
    fn sentences_are_turned_word_by_word() {
        let cases = [
            (
                "dented or kinked at 1.600 ± 0.012 m, 40 ohm there",
                "dented or kinked at 5.249 ± 0.039 ft, 40 ohm there",
            ),
            (
                "cut out 1.54 to 1.67 m from the near end",
                "cut out 5.05 to 5.48 ft from the near end",
            ),
            (
                "a dent of 5 cm that changes the impedance",
                "a dent of 2.0 in that changes the impedance",
            ),
            (
                "sweep to 500 MHz (at 3.05 m)",
                "sweep to 500 MHz (at 10.01 ft)",
            ),
            (
                "the loss found, 8.20 dB/100m, is",
                "the loss found, 2.499 dB/100ft, is",
            ),
            (
                "read it to the millimetre (2.400m, not 2.4m)",
                "read it to the millimetre (2.400m, not 2.4m)",
            ),
        ];
        for (metric, wanted) in cases {
            assert_eq!(Units::Feet.text(metric), wanted);
            assert_eq!(Units::Metres.text(metric), metric);
        }
    }

    /// The international foot of 1959: 0.3048 m.
    #[test]
    fn lengths_and_attenuations_go_opposite_ways() {
        assert!((Units::Feet.of_m(3.048) - 10.0).abs() < 1e-12);
        assert!((Units::Feet.of_db_per_100m(10.0) - 3.048).abs() < 1e-12);
        assert_eq!(Units::Metres.length_pair(2.4, 0.0571), "2.400 ± 0.057 m");
    }
}
