//! Quantities as people write them: `1.5m`, `4ft11in`, `145MHz`, `8.2dB/100m`.
//!
//! Every reader takes the whole text and gives a [`Reading`]: the value in the unit that the
//! function's name ends with, and half a unit of the last digit that was typed, so that `111ohm`
//! carries its own resolution. A bare number where the unit matters is refused with the two
//! likely readings. A decimal comma is accepted where only one reading is possible: `1,5m` is
//! 1.5 m, but `1,234m` may be 1.234 m or 1234 m and is refused.
//!
//! Units are read without regard to case unless that would confuse two of them (`mW`, `MW`).
//! Sources: SI prefixes (BIPM, SI Brochure 9th ed., table 7); international foot and inch.

pub mod digits;
mod display;
mod error;
mod number;
mod reading;
pub mod stated;
mod unit;
mod units;

use number::Scanner;
use unit::{Kind, Scale};

pub use display::{
    format_capacitance, format_delay, format_frequency, format_inductance, format_length,
    format_power, format_resistance, format_uncertain,
};
pub use error::QuantityError;
pub use reading::{AttenuationReading, Reading};
pub use units::Units;

/// Length in metres: `1.5m`, `80cm`, `12in`, `4ft11in`, `4'11"`, `4ft 11 1/2in`.
///
/// # Errors
/// [`QuantityError`]; a bare number may be metres or feet.
///
/// ```
/// # use lineproof_core::quantity::parse_length_m;
/// assert!((parse_length_m("4ft11in").unwrap().value - 1.4986).abs() < 1e-12);
/// assert_eq!(
///     parse_length_m("1.5").unwrap_err().to_string(),
///     "length `1.5` has no unit: write `1.5m` or `1.5ft`"
/// );
/// ```
pub fn parse_length_m(text: &str) -> Result<Reading, QuantityError> {
    let mut scanner = Scanner::new(text, &unit::LENGTH)?;
    let first = scanner.number()?;
    let unit = scanner.unit(&first)?;
    let mut total = unit.scale.apply(first.reading());
    if unit.is_foot() && !scanner.is_at_end() {
        let inches = scanner.number()?;
        if !scanner.is_at_end() {
            let second = scanner.unit(&inches)?;
            if !second.is_inch() {
                return Err(scanner.trailing(second.symbols[0]));
            }
        }
        if !(0.0..12.0).contains(&inches.value) {
            return Err(scanner.out_of_range("inches from 0 to below 12 after feet"));
        }
        let part = unit::INCH.apply(inches.reading());
        total = Reading {
            value: total.value + part.value,
            half_digit: part.half_digit,
        };
    }
    scanner.finish(total)
}

/// Frequency in hertz: `145MHz`, `7.1 MHz`, `1.5GHz`, `50kHz`, `300Hz`.
///
/// # Errors
/// [`QuantityError`].
pub fn parse_frequency_hz(text: &str) -> Result<Reading, QuantityError> {
    parse(text, &unit::FREQUENCY)
}

/// Resistance or magnitude of an impedance in ohm: `111ohm`, `111Ω`, `2.2kohm`; zero is allowed.
///
/// # Errors
/// [`QuantityError`].
pub fn parse_resistance_ohm(text: &str) -> Result<Reading, QuantityError> {
    parse(text, &unit::RESISTANCE)
}

/// Reactance in ohm, as [`parse_resistance_ohm`] but of either sign: `-48ohm` is capacitive. The j of an
/// imaginary number may stand before or after it, as screens print it: `-j48ohm`, `48johm`.
///
/// # Errors
/// [`QuantityError`].
///
/// ```
/// # use lineproof_core::quantity::parse_reactance_ohm;
/// assert_eq!(parse_reactance_ohm("-j54.6ohm").unwrap().value, -54.6);
/// ```
pub fn parse_reactance_ohm(text: &str) -> Result<Reading, QuantityError> {
    match text.matches('j').count() {
        1 => parse(&text.replace('j', ""), &unit::REACTANCE),
        _ => parse(text, &unit::REACTANCE),
    }
}

/// Capacitance in farad: `98pF`, `0.1nF`.
///
/// # Errors
/// [`QuantityError`].
pub fn parse_capacitance_f(text: &str) -> Result<Reading, QuantityError> {
    parse(text, &unit::CAPACITANCE)
}

/// Inductance in henry: `250nH`, `0.25uH`.
///
/// # Errors
/// [`QuantityError`].
pub fn parse_inductance_h(text: &str) -> Result<Reading, QuantityError> {
    parse(text, &unit::INDUCTANCE)
}

/// Delay in seconds: `5.2ns`, `76ps`.
///
/// # Errors
/// [`QuantityError`].
pub fn parse_delay_s(text: &str) -> Result<Reading, QuantityError> {
    parse(text, &unit::DELAY)
}

/// Loss in decibels, a positive number: `0.3dB`. Return loss is written the same way.
///
/// # Errors
/// [`QuantityError`].
pub fn parse_loss_db(text: &str) -> Result<Reading, QuantityError> {
    parse(text, &unit::LOSS)
}

/// Power in watts: `50W`, `1.5kW`, `47dBm`.
///
/// # Errors
/// [`QuantityError`].
pub fn parse_power_w(text: &str) -> Result<Reading, QuantityError> {
    parse(text, &unit::POWER)
}

/// Temperature in degrees Celsius: `21C`, `21°C`, `70F`, `294K`.
///
/// # Errors
/// [`QuantityError`].
pub fn parse_temperature_c(text: &str) -> Result<Reading, QuantityError> {
    parse(text, &unit::TEMPERATURE)
}

/// Ratio above 0 and up to 1, such as a velocity factor: `0.66`, `66%`.
///
/// # Errors
/// [`QuantityError`]; `66` without the sign for per cent is out of range.
pub fn parse_ratio(text: &str) -> Result<Reading, QuantityError> {
    parse(text, &unit::RATIO)
}

/// Standing wave ratio, 1 or more: `9`, `9:1`, `1:9`.
///
/// # Errors
/// [`QuantityError`].
pub fn parse_swr(text: &str) -> Result<Reading, QuantityError> {
    let mut scanner = Scanner::new(text, &unit::SWR)?;
    let mut ratio = scanner.number()?;
    if scanner.skip(':') {
        let second = scanner.number()?;
        match (ratio.value == 1.0, second.value == 1.0) {
            (_, true) => {}
            (true, false) => ratio = second,
            (false, false) => return Err(scanner.out_of_range("a ratio to 1 such as `9:1`")),
        }
    }
    scanner.finish(ratio.reading())
}

/// Attenuation per length: `8.2dB/100m`, `2.5 dB/100ft`, `0.08dB/m`, with the frequency that it
/// holds at if the text goes on with `@100MHz`.
///
/// # Errors
/// [`QuantityError`]; decibels without a length may be per 100 m or per 100 ft.
///
/// ```
/// # use lineproof_core::quantity::parse_attenuation;
/// let marked = parse_attenuation("2.5dB/100ft@100MHz").unwrap();
/// assert!((marked.db_per_100m.value - 8.2021).abs() < 1e-4);
/// assert_eq!(marked.at_hz.unwrap().value, 100e6);
/// ```
pub fn parse_attenuation(text: &str) -> Result<AttenuationReading, QuantityError> {
    let (loss, at) = match text.split_once('@') {
        Some((loss, at)) => (loss, Some(at)),
        None => (text, None),
    };
    let mut scanner = Scanner::new(loss, &unit::ATTENUATION)?;
    let number = scanner.number()?;
    let unit = scanner.unit(&number)?;
    if !scanner.skip('/') {
        return Err(scanner.missing_length());
    }
    let per_m = scanner.run_of_length()?;
    let db = unit.scale.apply(number.reading());
    let reading = Scale::Times(100.0 / per_m).apply(db);
    Ok(AttenuationReading {
        db_per_100m: scanner.finish(reading)?,
        at_hz: at.map(parse_frequency_hz).transpose()?,
    })
}

fn parse(text: &str, kind: &'static Kind) -> Result<Reading, QuantityError> {
    let mut scanner = Scanner::new(text, kind)?;
    let number = scanner.number()?;
    let unit = scanner.unit(&number)?;
    scanner.finish(unit.scale.apply(number.reading()))
}
