//! Decimal rounding for text that people read.

/// Decimals that show `digits` significant digits of `value`.
pub(crate) fn decimals_for(value: f64, digits: usize) -> usize {
    (digits as f64 - 1.0 - exponent(value, digits)).clamp(0.0, 17.0) as usize
}

/// `value` to so many significant digits. By way of decimal text, so that what is halfway in decimal digits
/// rounds as it would on paper.
pub(crate) fn round_to(value: f64, digits: usize) -> f64 {
    format!("{value:.*e}", digits - 1).parse().unwrap_or(value)
}

/// Power of ten of the first digit once `value` is rounded: 0.0996 to two digits is 0.10, so −1.
pub(crate) fn exponent(value: f64, digits: usize) -> f64 {
    round_to(value.abs(), digits).log10().floor()
}
