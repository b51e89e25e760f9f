//! What is stated in words besides plain quantities: temperature, time, velocity factor, impedance, angle, and numbers
//! whose unit the question already names.

use num_complex::Complex64;

use super::{AttenuationReading, QuantityError, Reading};
use super::{parse_attenuation, parse_ratio, parse_reactance_ohm, parse_resistance_ohm};

/// Resistance where the question already says ohm: `49.97` or `49.97ohm`.
///
/// # Errors
/// A sentence that quotes the text and says what was expected.
pub fn ohms(text: &str) -> Result<Reading, QuantityError> {
    let bare = |c: char| c.is_ascii_digit() || "+-., eE".contains(c);
    if text.chars().any(|c| c.is_ascii_digit()) && text.chars().all(bare) {
        parse_resistance_ohm(&format!("{}ohm", text.trim()))
    } else {
        parse_resistance_ohm(text)
    }
}

/// Attenuation with the frequency that it holds at.
///
/// # Errors
/// A sentence that quotes the text and says what was expected.
pub fn attenuation_at(text: &str) -> Result<AttenuationReading, String> {
    let reading = parse_attenuation(text).map_err(|e| e.to_string())?;
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
///
/// # Errors
/// A sentence that quotes the text and says what was expected.
pub fn temperature_c(text: &str) -> Result<f64, String> {
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
///
/// # Errors
/// A sentence that quotes the text and says what was expected.
pub fn time_s(text: &str) -> Result<f64, String> {
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
///
/// # Errors
/// A sentence that quotes the text and says what was expected.
pub fn velocity_factor(text: &str) -> Result<Reading, String> {
    let reading = parse_ratio(text).map_err(|e| e.to_string())?;
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
///
/// # Errors
/// A sentence that quotes the text and says what was expected.
pub fn impedance(text: &str) -> Result<[Reading; 2], String> {
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
    let part =
        |number: &str| parse_reactance_ohm(&format!("{number}{unit}")).map_err(|e| e.to_string());
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

/// Impedance as one complex number, ohm.
///
/// # Errors
/// A sentence that quotes the text and says what was expected.
pub fn impedance_point(text: &str) -> Result<Complex64, String> {
    let [re, im] = impedance(text)?;
    Ok(Complex64::new(re.value, im.value))
}

/// A small ratio without unit, as an error of a reflection: `0.002`, `0.2%`.
///
/// # Errors
/// A sentence that quotes the text and says what was expected.
pub fn small_ratio(text: &str) -> Result<f64, String> {
    let ratio = parse_ratio(text).map_err(|e| e.to_string())?.value;
    if (0.0..0.5).contains(&ratio) {
        Ok(ratio)
    } else {
        Err(format!(
            "`{text}` is not an error of a reflection: expected 0 to 0.5"
        ))
    }
}

/// Angle in degrees: `84deg`, `84°`.
///
/// # Errors
/// A sentence that quotes the text and says what was expected.
pub fn angle_deg(text: &str) -> Result<f64, String> {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ohms_may_be_bare_only_where_the_question_says_ohm() {
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
        // A pure resistance and a pure reactance were refused.
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
