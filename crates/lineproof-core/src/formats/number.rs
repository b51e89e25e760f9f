//! Numbers in files: a fast path for plain ones, and a patient reader for what programs print.
//!
//! The fast path follows Clinger, "How to read floating point numbers accurately" (PLDI 1990): up
//! to 15 significant digits and a power of ten up to 22 are both exact doubles, so that one
//! multiplication or division rounds correctly. Everything else goes to the standard library.

/// Powers of ten that are exact doubles.
const POWERS_OF_TEN: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

/// Largest integer up to which all integers are exact doubles.
const LARGEST_EXACT: u64 = 1 << 53;

/// Digits that surely fit into 64 bits.
const DIGITS_IN_U64: usize = 19;

/// Reads the plain decimal or scientific number at `start`: its value and the index behind it.
/// Absent if there is none; what follows the number is not looked at.
#[inline]
pub(super) fn plain_number(bytes: &[u8], start: usize) -> Option<(f64, usize)> {
    let mut at = start;
    let negative = bytes.get(at) == Some(&b'-');
    if matches!(bytes.get(at), Some(b'-' | b'+')) {
        at += 1;
    }
    let mut mantissa = 0u64;
    let whole_start = at;
    at = digits(bytes, at, &mut mantissa);
    let mut count = at - whole_start;
    let mut power = 0i32;
    if bytes.get(at) == Some(&b'.') {
        let fraction_start = at + 1;
        at = digits(bytes, fraction_start, &mut mantissa);
        count += at - fraction_start;
        power = -i32::try_from(at - fraction_start).ok()?;
    }
    if count == 0 {
        return None;
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let (exponent, end) = exponent(bytes, at + 1)?;
        power = power.saturating_add(exponent);
        at = end;
    }
    let exact = count <= DIGITS_IN_U64 && mantissa <= LARGEST_EXACT && power.abs() <= 22;
    let value = if exact {
        let scale = POWERS_OF_TEN[power.unsigned_abs() as usize];
        let magnitude = mantissa as f64;
        let magnitude = if power < 0 {
            magnitude / scale
        } else {
            magnitude * scale
        };
        if negative { -magnitude } else { magnitude }
    } else {
        str::from_utf8(&bytes[start..at]).ok()?.parse().ok()?
    };
    Some((value, at))
}

/// Adds the digits from `at` on to `mantissa` (which wraps if there are too many) and gives the
/// index behind them.
#[inline]
fn digits(bytes: &[u8], mut at: usize, mantissa: &mut u64) -> usize {
    while let Some(digit) = bytes
        .get(at)
        .map(|b| b.wrapping_sub(b'0'))
        .filter(|&d| d < 10)
    {
        *mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
        at += 1;
    }
    at
}

/// Exponent after its letter, and the index behind it.
#[inline]
fn exponent(bytes: &[u8], mut at: usize) -> Option<(i32, usize)> {
    let negative = bytes.get(at) == Some(&b'-');
    if matches!(bytes.get(at), Some(b'-' | b'+')) {
        at += 1;
    }
    let start = at;
    let mut exponent = 0i32;
    while let Some(digit) = bytes
        .get(at)
        .map(|b| b.wrapping_sub(b'0'))
        .filter(|&d| d < 10)
    {
        exponent = exponent.saturating_mul(10).saturating_add(i32::from(digit));
        at += 1;
    }
    let signed = if negative { -exponent } else { exponent };
    (at > start).then_some((signed, at))
}

/// What a word among the data is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Word {
    /// A number as the standard has it.
    Number(f64),
    /// A number with the exponent letter D.
    Fortran(f64),
    /// NaN, an infinity, or what C libraries print for them.
    NotFinite(f64),
    /// A number whose exponent letter is missing, such as `1.0-103`.
    LostExponent,
    /// Something that starts like a number but is none.
    Malformed,
    /// Words.
    Text,
}

impl Word {
    /// Finds out what `word`, a run of characters without blanks, is.
    pub(super) fn of(word: &str) -> Self {
        let bytes = word.as_bytes();
        if let Some((value, end)) = plain_number(bytes, 0) {
            return match bytes.len() == end {
                true if value.is_finite() => Self::Number(value),
                true => Self::NotFinite(value),
                false => Self::of_number_with_rest(word, &word[end..]),
            };
        }
        match not_finite(word) {
            Some(value) => Self::NotFinite(value),
            None if word.contains(|c: char| c.is_ascii_digit()) && starts_like_number(word) => {
                Self::Malformed
            }
            None => Self::Text,
        }
    }

    fn of_number_with_rest(word: &str, rest: &str) -> Self {
        if rest.starts_with(['d', 'D']) {
            let replaced = word.replace(['d', 'D'], "e");
            return match plain_number(replaced.as_bytes(), 0) {
                Some((value, end)) if end == replaced.len() => Self::Fortran(value),
                _ => Self::Malformed,
            };
        }
        if let Some(value) = not_finite(word) {
            return Self::NotFinite(value);
        }
        let exponent = rest.strip_prefix(['+', '-']).unwrap_or("");
        let is_lost = !exponent.is_empty() && exponent.bytes().all(|b| b.is_ascii_digit());
        if is_lost {
            Self::LostExponent
        } else {
            Self::Malformed
        }
    }
}

/// NaN and infinities in the spellings of C libraries, old and new.
fn not_finite(word: &str) -> Option<f64> {
    let (sign, unsigned) = match word.strip_prefix('-') {
        Some(unsigned) => (-1.0, unsigned),
        None => (1.0, word.strip_prefix('+').unwrap_or(word)),
    };
    let lower = unsigned.to_ascii_lowercase();
    match lower.as_str() {
        "inf" | "infinity" => Some(sign * f64::INFINITY),
        "nan" | "qnan" | "snan" | "ind" => Some(f64::NAN),
        _ if lower.starts_with("nan(") => Some(f64::NAN),
        _ => match lower.strip_prefix("1.#") {
            Some(rest) if rest.starts_with("inf") => Some(sign * f64::INFINITY),
            Some(rest) if rest.starts_with("ind") || rest.contains("nan") => Some(f64::NAN),
            _ => None,
        },
    }
}

fn starts_like_number(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c))
}

/// What commas and semicolons among the data are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum CommaStyle {
    /// Numbers with points, or no commas at all: a comma or semicolon separates.
    Separates,
    /// A comma stands for the decimal point; blanks, tabs or semicolons separate.
    Decimal,
}

impl CommaStyle {
    /// Whether `byte` separates numbers.
    pub(super) fn separates(self, byte: u8) -> bool {
        matches!(byte, b' ' | b'\t' | b';' | 0x0C) || (byte == b',' && self == Self::Separates)
    }

    /// What a word is in this style.
    pub(super) fn word(self, word: &str) -> Word {
        match self {
            Self::Decimal if word.contains(',') => Word::of(&word.replacen(',', ".", 1)),
            _ => Word::of(word),
        }
    }
}

/// Whether a comma in `word` can be a decimal mark but not group thousands.
pub(super) fn must_be_decimal_comma(word: &str) -> bool {
    let unsigned = word.trim_start_matches(['+', '-']);
    match unsigned.split_once(',') {
        Some((whole, after)) => {
            let is_group = (1..=3).contains(&whole.len()) && !whole.starts_with('0');
            !(is_group && after.len() == 3 && after.bytes().all(|b| b.is_ascii_digit()))
        }
        None => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn words_are_told_apart() {
        let rows = [
            ("1.5", Word::Number(1.5)),
            (".95", Word::Number(0.95)),
            ("2.", Word::Number(2.0)),
            ("+3e-2", Word::Number(0.03)),
            ("1.0D-03", Word::Fortran(1e-3)),
            ("1.0-103", Word::LostExponent),
            ("-inf", Word::NotFinite(f64::NEG_INFINITY)),
            ("1.#INF", Word::NotFinite(f64::INFINITY)),
            ("1e999", Word::NotFinite(f64::INFINITY)),
            ("-31.x2", Word::Malformed),
            ("1e", Word::Malformed),
            ("0x10", Word::Malformed),
            ("ohm", Word::Text),
            ("-", Word::Text),
        ];
        for (word, wanted) in rows {
            assert_eq!(Word::of(word), wanted, "{word}");
        }
        for word in ["NaN", "-1.#IND", "1.#QNAN", "nan(0x1)"] {
            assert!(
                matches!(Word::of(word), Word::NotFinite(v) if v.is_nan()),
                "{word}"
            );
        }
    }

    proptest! {
        /// The fast path rounds as the standard library does.
        #[test]
        fn plain_numbers_equal_the_standard_librarys(text in "[+-]?[0-9]{1,22}(\\.[0-9]{0,22})?([eE][+-]?[0-9]{1,3})?") {
            let wanted: f64 = text.parse().unwrap();
            prop_assert_eq!(plain_number(text.as_bytes(), 0), Some((wanted, text.len())));
        }

        #[test]
        fn any_word_is_something(word in "[0-9a-zA-Z#.+,()-]{0,12}") {
            let _ = Word::of(&word);
        }
    }
}
