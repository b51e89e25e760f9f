//! Quantities back into text for people: a prefix that keeps the number between 1 and 1000, four
//! significant digits or as many as its uncertainty deserves, a blank before the unit.

use crate::rounding::{decimals_for, round_to};
use crate::uncertain::Uncertain;

/// Significant digits of the `format_` functions; frequencies get two more, since they are set
/// rather than measured.
const DIGITS: usize = 4;
const FREQUENCY_DIGITS: usize = 6;

/// Frequency given in hertz, for example `61.5 MHz`.
///
/// ```
/// # use lineproof_core::quantity::format_frequency;
/// assert_eq!(format_frequency(61.5e6), "61.5 MHz");
/// ```
pub fn format_frequency(freq_hz: f64) -> String {
    engineering(
        freq_hz,
        &[(1.0, "Hz"), (1e3, "kHz"), (1e6, "MHz"), (1e9, "GHz")],
        FREQUENCY_DIGITS,
    )
}

/// Length given in metres, for example `80 cm`, `1.5 m`.
pub fn format_length(length_m: f64) -> String {
    engineering(
        length_m,
        &[(1e-3, "mm"), (1e-2, "cm"), (1.0, "m"), (1e3, "km")],
        DIGITS,
    )
}

/// Resistance or reactance given in ohm, for example `111 ohm`.
pub fn format_resistance(ohm: f64) -> String {
    engineering(
        ohm,
        &[(1e-3, "mohm"), (1.0, "ohm"), (1e3, "kohm"), (1e6, "Mohm")],
        DIGITS,
    )
}

/// Capacitance given in farad, for example `98 pF`.
pub fn format_capacitance(farad: f64) -> String {
    engineering(
        farad,
        &[(1e-15, "fF"), (1e-12, "pF"), (1e-9, "nF"), (1e-6, "uF")],
        DIGITS,
    )
}

/// Inductance given in henry, for example `250 nH`.
pub fn format_inductance(henry: f64) -> String {
    engineering(
        henry,
        &[(1e-12, "pH"), (1e-9, "nH"), (1e-6, "uH"), (1e-3, "mH")],
        DIGITS,
    )
}

/// Delay given in seconds, for example `7.61 ns`.
pub fn format_delay(delay_s: f64) -> String {
    engineering(
        delay_s,
        &[
            (1e-12, "ps"),
            (1e-9, "ns"),
            (1e-6, "us"),
            (1e-3, "ms"),
            (1.0, "s"),
        ],
        DIGITS,
    )
}

/// Power given in watts, for example `50 W`.
pub fn format_power(power_w: f64) -> String {
    engineering(power_w, &[(1e-3, "mW"), (1.0, "W"), (1e3, "kW")], DIGITS)
}

/// A value with its 95 % half-width, two significant digits of which decide how many the value
/// gets: `74.31 ± 0.21 ohm`.
///
/// ```
/// # use lineproof_core::{quantity::format_uncertain, uncertain::Uncertain};
/// assert_eq!(format_uncertain(Uncertain::new(74.3142, 0.107), "ohm"), "74.31 ± 0.21 ohm");
/// ```
pub fn format_uncertain(quantity: Uncertain, unit: &str) -> String {
    let half_width = quantity.u95();
    if half_width == 0.0 || !half_width.is_finite() || !quantity.value.is_finite() {
        return format!("{} {unit}", significant(quantity.value, DIGITS));
    }
    let decimals = decimals_for(half_width, 2);
    format!(
        "{:.decimals$} ± {half_width:.decimals$} {unit}",
        quantity.value
    )
}

/// `value` in the largest of the units (rising factors) that leaves a number of at least 1.
fn engineering(value: f64, units: &[(f64, &str)], digits: usize) -> String {
    let magnitude = round_to(value.abs(), digits);
    let base = units.iter().find(|(factor, _)| *factor == 1.0);
    let chosen = match magnitude {
        0.0 => base,
        _ => units.iter().rev().find(|(factor, _)| magnitude >= *factor),
    };
    let &(factor, symbol) = chosen.unwrap_or(&units[0]);
    format!("{} {symbol}", significant(value / factor, digits))
}

/// At most `digits` significant digits, without zeros at the end.
fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{}", value.abs());
    }
    let text = format!("{:.*}", decimals_for(value, digits), value);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
