//! Texts to values: the core's readers, and what only people at a keyboard need.

use lineproof_core::plan::Range;
use lineproof_core::quantity::{self, AttenuationReading, QuantityError, Reading};
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;

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

/// Resistance where the option's name already says ohm: `49.97` or `49.97ohm`.
pub(crate) fn ohms(text: &str) -> Result<Reading, QuantityError> {
    let bare = |c: char| c.is_ascii_digit() || "+-., eE".contains(c);
    if text.chars().any(|c| c.is_ascii_digit()) && text.chars().all(bare) {
        quantity::parse_resistance_ohm(&format!("{}ohm", text.trim()))
    } else {
        quantity::parse_resistance_ohm(text)
    }
}

/// Attenuation with the frequency that it holds at.
pub(crate) fn attenuation_at(text: &str) -> Result<AttenuationReading, String> {
    let reading = quantity::parse_attenuation(text).map_err(|e| e.to_string())?;
    if reading.at_hz.is_none() {
        return Err(format!(
            "`{text}` names no frequency: write for example `{text}@100MHz`"
        ));
    }
    Ok(reading)
}

/// Temperatures that a cable is measured at, °C.
const POSSIBLE_C: std::ops::RangeInclusive<f64> = -60.0..=120.0;

/// Temperature in degrees Celsius or Fahrenheit: `21C`, `-5°C`, `70F`. Gives °C.
pub(crate) fn temperature_c(text: &str) -> Result<f64, String> {
    let trimmed = text.trim();
    let number_end = trimmed
        .rfind(|c: char| c.is_ascii_digit())
        .ok_or_else(|| format!("expected a temperature such as `21C`, found `{text}`"))?;
    let (number, unit) = trimmed.split_at(number_end + 1);
    let degrees: f64 = number
        .replace(',', ".")
        .parse()
        .map_err(|_| format!("`{number}` in `{text}` is not a number"))?;
    let celsius = match unit
        .trim()
        .trim_start_matches(['°', 'º'])
        .trim_start_matches("deg")
    {
        "C" | "c" => degrees,
        "F" | "f" => (degrees - 32.0) / 1.8,
        "" => {
            return Err(format!(
                "temperature `{text}` has no unit: write `{number}C` or `{number}F`"
            ));
        }
        unit => {
            return Err(format!(
                "`{unit}` in `{text}` is not a unit of temperature: expected one of C, F"
            ));
        }
    };
    if POSSIBLE_C.contains(&celsius) {
        Ok(celsius)
    } else {
        Err(format!(
            "temperature `{text}` is impossible for a cable: expected -60C to 120C"
        ))
    }
}

/// Units of a time between two actions at the bench, s.
const TIMES: [(&str, f64); 3] = [("min", 60.0), ("h", 3600.0), ("d", 86_400.0)];

/// A time of minutes, hours or days, s.
pub(crate) fn time_s(text: &str) -> Result<f64, String> {
    let trimmed = text.trim();
    let unit_at = trimmed.find(char::is_alphabetic).ok_or_else(|| {
        format!("time `{text}` has no unit: write `{trimmed}min`, `{trimmed}h` or `{trimmed}d`")
    })?;
    let (number, unit) = trimmed.split_at(unit_at);
    let (_, scale) = TIMES
        .iter()
        .find(|(name, _)| *name == unit)
        .ok_or_else(|| {
            format!("`{unit}` in `{text}` is not a unit of time: expected one of min, h, d")
        })?;
    let value: f64 = number
        .trim()
        .replace(',', ".")
        .parse()
        .map_err(|_| format!("`{number}` in `{text}` is not a number"))?;
    if value.is_finite() && value >= 0.0 {
        Ok(value * scale)
    } else {
        Err(format!(
            "time `{text}` is out of range: expected zero or more"
        ))
    }
}

/// Velocity factor, 0 to 1.
pub(crate) fn velocity_factor(text: &str) -> Result<Reading, String> {
    let reading = quantity::parse_ratio(text).map_err(|e| e.to_string())?;
    if reading.value > 0.0 && reading.value <= 1.0 {
        Ok(reading)
    } else {
        Err(format!(
            "velocity factor `{text}` is impossible: expected more than 0, at most 1"
        ))
    }
}

/// Impedance as `R±jX` with its unit at the end: `0.9-j75.3ohm`, `1.2+74.9johm`; `50ohm` has no reactance,
/// `-j54.6ohm` no resistance.
pub(crate) fn impedance(text: &str) -> Result<[Reading; 2], String> {
    let example = || format!("expected an impedance such as `0.9-j75.3ohm`, found `{text}`");
    let compact: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    let number_end = compact
        .rfind(|c: char| c.is_ascii_digit() || c == '.' || c == 'j')
        .ok_or_else(example)?;
    let (numbers, unit) = compact.split_at(number_end + 1);
    let sign = numbers
        .char_indices()
        .skip(1)
        .filter(|&(i, c)| "+-".contains(c) && !numbers[..i].ends_with(['e', 'E']))
        .map(|(i, _)| i)
        .last();
    let part = |number: &str| {
        quantity::parse_reactance_ohm(&format!("{number}{unit}")).map_err(|e| e.to_string())
    };
    let none = Reading {
        value: 0.0,
        half_digit: 0.0,
    };
    let Some(sign) = sign else {
        return match numbers.matches('j').count() {
            0 => Ok([part(numbers)?, none]),
            1 => Ok([none, part(&numbers.replace('j', ""))?]),
            _ => Err(example()),
        };
    };
    let (resistance, reactance) = numbers.split_at(sign);
    if reactance.matches('j').count() != 1 {
        return Err(example());
    }
    Ok([part(resistance)?, part(&reactance.replace('j', ""))?])
}

/// A small ratio without unit, as an error of a reflection: `0.002`, `0.2%`.
pub(crate) fn small_ratio(text: &str) -> Result<f64, String> {
    let ratio = quantity::parse_ratio(text)
        .map_err(|e| e.to_string())?
        .value;
    if (0.0..0.5).contains(&ratio) {
        Ok(ratio)
    } else {
        Err(format!(
            "`{text}` is not an error of a reflection: expected 0 to 0.5"
        ))
    }
}

/// Angle in degrees: `84deg`, `84°`.
pub(crate) fn angle_deg(text: &str) -> Result<f64, String> {
    let trimmed = text.trim();
    let number = trimmed
        .strip_suffix("deg")
        .or_else(|| trimmed.strip_suffix('°'));
    let number =
        number.ok_or_else(|| format!("angle `{text}` has no unit: write for example `84deg`"))?;
    let degrees: f64 = number
        .trim()
        .replace(',', ".")
        .parse()
        .map_err(|_| format!("`{number}` in `{text}` is not a number"))?;
    if degrees > 0.0 && degrees.is_finite() {
        Ok(degrees)
    } else {
        Err(format!(
            "angle `{text}` is out of range: expected more than zero"
        ))
    }
}

/// Impedance as one complex number, ohm.
pub(crate) fn impedance_point(text: &str) -> Result<Complex64, String> {
    let [re, im] = impedance(text)?;
    Ok(Complex64::new(re.value, im.value))
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

    #[test]
    fn ohms_may_be_bare_only_where_the_option_says_ohm() {
        assert_eq!(ohms("49.97").unwrap().value, 49.97);
        assert_eq!(ohms("49,97").unwrap().value, 49.97);
        assert_eq!(ohms("0.1kohm").unwrap().value, 100.0);
        assert!(ohms("49.97m").is_err());
    }

    /// Fixed points of the two scales: 32 °F is 0 °C, 212 °F is 100 °C.
    #[test]
    fn temperatures_need_their_unit() {
        assert_eq!(temperature_c("21C").unwrap(), 21.0);
        assert_eq!(temperature_c("-5 °C").unwrap(), -5.0);
        assert_eq!(temperature_c("32F").unwrap(), 0.0);
        assert!((temperature_c("212F").unwrap() - 100.0).abs() < 1e-9);
        let both = temperature_c("21").unwrap_err();
        assert!(both.contains("21C") && both.contains("21F"), "{both}");
        assert!(temperature_c("21K").is_err());
        assert!(temperature_c("900C").is_err());
        assert!(temperature_c("warm").is_err());
    }

    #[test]
    fn times_need_their_unit() {
        assert_eq!(time_s("40min").unwrap(), 2400.0);
        assert_eq!(time_s("1,5 h").unwrap(), 5400.0);
        assert_eq!(time_s("2d").unwrap(), 172_800.0);
        for (text, wanted) in [("3", "`3h`"), ("3s", "min, h, d"), ("-1h", "out of range")] {
            let error = time_s(text).unwrap_err();
            assert!(error.contains(wanted), "{text}: {error}");
        }
    }

    #[test]
    fn impedances_take_the_unit_at_their_end() {
        let parts = |text| impedance(text).unwrap().map(|r| r.value);
        assert_eq!(parts("0.9-j75.3ohm"), [0.9, -75.3]);
        assert_eq!(parts("1.2 + 74.9j ohm"), [1.2, 74.9]);
        // Issue 18 §12: a pure resistance and a pure reactance were refused.
        assert_eq!(parts("50ohm"), [50.0, 0.0]);
        assert_eq!(parts("-j54.6ohm"), [0.0, -54.6]);
        assert!(impedance("5-75.3ohm").unwrap_err().contains("0.9-j75.3ohm"));
        assert!(impedance("0.9-j75.3").is_err());
        assert!(impedance("").is_err());
    }

    #[test]
    fn a_loss_without_frequency_is_refused() {
        assert!(
            attenuation_at("8.2dB/100m")
                .unwrap_err()
                .contains("@100MHz")
        );
        assert!(attenuation_at("8.2dB/100m@100MHz").is_ok());
    }
}
