//! Numbers as the working lines show them: five significant digits, so that a calculator comes to
//! the same result within the last digit shown.

/// `value` rounded to `digits` significant digits, without an exponent.
pub(crate) fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    let decimals = digits - 1 - value.abs().log10().floor() as i32;
    if decimals < 0 {
        let step = 10f64.powi(-decimals);
        return format!("{:.0}", (value / step).round() * step);
    }
    format!("{value:.*}", decimals as usize)
}

/// `value` to `digits` significant digits without trailing zeros, as sentences have it.
pub(crate) fn plain(value: f64, digits: i32) -> String {
    let text = significant(value, digits);
    if text.contains('.') {
        return text.trim_end_matches('0').trim_end_matches('.').to_owned();
    }
    text
}

/// `1 quarter wave`, `3 quarter waves`.
pub(crate) fn quarter_waves(order: u32) -> String {
    format!("{order} quarter wave{}", if order == 1 { "" } else { "s" })
}

/// Plain number, five digits.
pub(crate) fn number(value: f64) -> String {
    significant(value, 5)
}

/// `74.410 ohm`.
pub(crate) fn ohm(value: f64) -> String {
    format!("{} ohm", number(value))
}

/// `61.500 MHz`, in the unit that suits the size.
pub(crate) fn hertz(freq_hz: f64) -> String {
    scaled(
        freq_hz,
        &[(1e9, "GHz"), (1e6, "MHz"), (1e3, "kHz"), (1.0, "Hz")],
    )
}

/// `7.6100 ns`.
pub(crate) fn seconds(time_s: f64) -> String {
    scaled(time_s, &[(1e-6, "µs"), (1e-9, "ns"), (1e-12, "ps")])
}

/// `0.16300 dB`.
pub(crate) fn decibel(value: f64) -> String {
    format!("{} dB", number(value))
}

/// `1.5000 m`.
pub(crate) fn metres(value: f64) -> String {
    format!("{} m", number(value))
}

/// A frequency worth typing into an analyser: rounded up to two significant digits.
pub(crate) fn round_up_hertz(freq_hz: f64) -> String {
    if freq_hz <= 0.0 || !freq_hz.is_finite() {
        return format!("{freq_hz} Hz");
    }
    let step = 10f64.powf(freq_hz.log10().floor() - 1.0);
    trimmed(&hertz((freq_hz / step - 1e-9).ceil() * step))
}

/// A frequency step worth typing into an analyser: rounded down to two significant digits.
pub(crate) fn round_down_hertz(freq_hz: f64) -> String {
    if freq_hz <= 0.0 || !freq_hz.is_finite() {
        return format!("{freq_hz} Hz");
    }
    let step = 10f64.powf(freq_hz.log10().floor() - 1.0);
    trimmed(&hertz((freq_hz / step + 1e-9).floor() * step))
}

fn scaled(value: f64, units: &[(f64, &str)]) -> String {
    let last = units.len() - 1;
    let (size, unit) = *units
        .iter()
        .find(|(size, _)| value.abs() >= *size)
        .unwrap_or(&units[last]);
    format!("{} {unit}", number(value / size))
}

/// `410.00 MHz` as `410 MHz`.
fn trimmed(text: &str) -> String {
    match text.split_once(' ') {
        Some((digits, unit)) if digits.contains('.') => {
            let digits = digits.trim_end_matches('0').trim_end_matches('.');
            format!("{digits} {unit}")
        }
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_digits_whatever_the_size() {
        assert_eq!(ohm(74.41), "74.410 ohm");
        assert_eq!(hertz(61.5e6), "61.500 MHz");
        assert_eq!(seconds(7.61e-9), "7.6100 ns");
        assert_eq!(number(123_456.0), "123460");
    }

    #[test]
    fn advice_is_rounded_to_the_safe_side() {
        assert_eq!(round_up_hertz(403.1e6), "410 MHz");
        assert_eq!(round_up_hertz(410e6), "410 MHz");
        assert_eq!(round_down_hertz(1.289e6), "1.2 MHz");
    }
}
