//! Numbers with as many digits as their interval deserves: two significant digits of the 95 %
//! half-width, the value to the same place.

/// A value and its 95 % half-width, both with the digits that the half-width deserves.
pub fn pair(value: f64, u95: f64) -> (String, String) {
    let decimals = decimals(u95, value);
    (format!("{value:.decimals$}"), format!("{u95:.decimals$}"))
}

/// The value alone, rounded to its interval.
pub fn rounded(value: f64, u95: f64) -> String {
    pair(value, u95).0
}

/// The value with digits down to the first digit of its interval, for a sentence.
pub fn short(value: f64, u95: f64) -> String {
    let decimals = decimals(u95, value).saturating_sub(1);
    format!("{value:.decimals$}")
}

/// `value` to `digits` significant digits.
pub fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return value.to_string();
    }
    let place = digits - 1 - value.abs().log10().floor() as i32;
    format!("{:.*}", place.max(0) as usize, value)
}

/// A probability that is never certainty.
pub fn percent(probability: f64) -> String {
    if probability > 0.99 {
        "over 99 %".to_owned()
    } else {
        format!("{:.0} %", 100.0 * probability)
    }
}

fn decimals(u95: f64, value: f64) -> usize {
    let size = if u95 > 0.0 && u95.is_finite() {
        u95
    } else {
        value.abs().max(f64::MIN_POSITIVE) * 1e-3
    };
    // Half-widths that round up to the next power of ten take one digit less.
    let place = 1 - (size * 1.005).log10().floor() as i32;
    place.clamp(0, 9) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_interval_decides_the_digits() {
        let cases = [
            (74.3142, 0.2134, ("74.31", "0.21")),
            (74.3142, 2.134, ("74.3", "2.1")),
            (74.3142, 21.34, ("74", "21")),
            (0.16312, 0.00412, ("0.1631", "0.0041")),
            (0.659, 0.0999, ("0.66", "0.10")),
        ];
        for (value, u95, (wanted, wanted_u95)) in cases {
            let got = pair(value, u95);
            assert_eq!(
                got,
                (wanted.to_owned(), wanted_u95.to_owned()),
                "{value} {u95}"
            );
        }
        assert_eq!(short(74.3142, 0.2134), "74.3");
        assert_eq!(significant(10.912, 3), "10.9");
    }
}
