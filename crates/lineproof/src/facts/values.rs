//! Texts to values: the core's readers, and what only people at a keyboard need.

use std::ops::RangeInclusive;

use lineproof_core::plan::Range;
pub(crate) use lineproof_core::quantity::stated::{
    angle_deg, attenuation_at, impedance, impedance_point, ohms, small_ratio, temperature_c,
    time_s, velocity_factor,
};
use lineproof_core::quantity::{self, QuantityError, Reading};
use lineproof_core::uncertain::Uncertain;

/// Standard uncertainty, relative, of what is typed without one: what a caliper or a meter does.
const INSTRUMENT_U_REL: f64 = 0.01;

/// A typed value with its last digit and what an instrument is off by.
pub(crate) fn by_instrument(reading: Reading) -> Uncertain {
    reading
        .uncertain()
        .widened(INSTRUMENT_U_REL * reading.value)
}

/// Several quantities, apart by semicolons, or by commas that stand behind a unit: `145MHz, 7,1MHz`.
pub(crate) fn several(text: &str) -> impl Iterator<Item = &str> {
    let mut after_unit = false;
    let parts = text.split(move |c: char| {
        let apart = c == ';' || (c == ',' && after_unit);
        if !c.is_whitespace() {
            after_unit = c.is_alphabetic();
        }
        apart
    });
    parts.filter(|part| !part.trim().is_empty())
}

/// Relative spread of a length that is given as one value for a plan: it is a rough one.
const ROUGH: f64 = 0.1;

/// One rough length, `12m`, or a range, `10m..20m` or `10..20m`.
pub(crate) fn length_range(text: &str) -> Result<Range, QuantityError> {
    range(text, quantity::parse_length_m, ROUGH)
}

/// One velocity factor or a range, `0.64..0.70`.
pub(crate) fn velocity_factor_range(text: &str) -> Result<Range, String> {
    range(text, velocity_factor, 0.0)
}

/// A range of frequencies, `50kHz..900MHz`.
pub(crate) fn frequency_range(text: &str) -> Result<Range, String> {
    if !text.contains("..") {
        return Err(format!(
            "expected a range such as `50kHz..900MHz`, found `{text}`"
        ));
    }
    range(text, quantity::parse_frequency_hz, 0.0).map_err(|e| e.to_string())
}

/// A number of things, so many at least and at most.
pub(crate) fn count(text: &str, among: RangeInclusive<u32>) -> Result<u32, String> {
    let number = text.trim().parse().ok();
    number.filter(|n| among.contains(n)).ok_or_else(|| {
        let (least, most) = among.into_inner();
        format!("expected a number from {least} to {most}, found `{text}`")
    })
}

/// How many points a sweep has.
pub(crate) fn points(text: &str) -> Result<usize, String> {
    let expected = |_| format!("expected a number of points such as `401`, found `{text}`");
    text.trim().parse().map_err(expected)
}

/// `a..b` with the reader of one value; the unit of `b` serves for `a` where `a` has none. A
/// single value becomes a range of the relative half-width `spread`.
fn range<E>(
    text: &str,
    read: impl Fn(&str) -> Result<Reading, E>,
    spread: f64,
) -> Result<Range, E> {
    let Some((low, high)) = text.split_once("..") else {
        return Ok(Range::about(read(text)?.value, spread));
    };
    let unit = high.trim_start_matches(|c: char| c.is_ascii_digit() || ".,+- ".contains(c));
    let low = if low.trim().replace(',', ".").parse::<f64>().is_ok() {
        format!("{low}{unit}")
    } else {
        low.to_owned()
    };
    Ok(Range {
        low: read(&low)?.value,
        high: read(high)?.value,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_take_the_unit_of_their_end() {
        let got = length_range("10..20m").unwrap();
        assert_eq!((got.low, got.high), (10.0, 20.0));
        let got = length_range("1,5..2,5m").unwrap();
        assert_eq!((got.low, got.high), (1.5, 2.5));
        let got = length_range("80cm..1.2m").unwrap();
        assert_eq!((got.low, got.high), (0.8, 1.2));
        let got = velocity_factor_range("0.64..0.70").unwrap();
        assert_eq!((got.low, got.high), (0.64, 0.70));
        let got = frequency_range("50kHz..900MHz").unwrap();
        assert_eq!((got.low, got.high), (50e3, 900e6));
        assert!(length_range("10..20").is_err());
    }
}
