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

/// Reads the plain decimal or scientific number that `text` starts with: its value and the rest of
/// `text`. Absent if there is none; what follows the number is not looked at.
#[inline]
pub(super) fn plain_number(text: &[u8]) -> Option<(f64, &[u8])> {
    let (negative, whole) = signed(text);
    let (mut mantissa, mut rest) = digits(0, whole);
    let mut count = whole.len() - rest.len();
    let mut power = 0i32;
    if let [b'.', fraction @ ..] = rest {
        (mantissa, rest) = fraction_digits(mantissa, fraction);
        let length = fraction.len() - rest.len();
        count += length;
        power = -i32::try_from(length).ok()?;
    }
    if count == 0 {
        return None;
    }
    if let [b'e' | b'E', after @ ..] = rest {
        let (exponent, after) = exponent(after)?;
        power = power.saturating_add(exponent);
        rest = after;
    }
    if count > DIGITS_IN_U64 || mantissa > LARGEST_EXACT || power.abs() > 22 {
        let number = str::from_utf8(&text[..text.len() - rest.len()]).ok()?;
        return Some((number.parse().ok()?, rest));
    }
    let mantissa = mantissa.cast_signed() as f64;
    let scale = POWERS_OF_TEN[power.unsigned_abs() as usize];
    let magnitude = if power < 0 {
        mantissa / scale
    } else {
        mantissa * scale
    };
    Some((if negative { -magnitude } else { magnitude }, rest))
}

/// Whether a minus comes first, and what comes after the sign.
#[inline]
fn signed(text: &[u8]) -> (bool, &[u8]) {
    match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        _ => (false, text),
    }
}

/// Appends the digits that `text` starts with to `number`, which wraps if there are too many.
#[inline]
fn digits(mut number: u64, mut text: &[u8]) -> (u64, &[u8]) {
    while let [digit @ b'0'..=b'9', rest @ ..] = text {
        number = number
            .wrapping_mul(10)
            .wrapping_add(u64::from(digit - b'0'));
        text = rest;
    }
    (number, text)
}

/// As [`digits`], for the many digits after a decimal point: the first eight at once.
#[inline]
fn fraction_digits(number: u64, text: &[u8]) -> (u64, &[u8]) {
    if let Some((first, rest)) = text.split_first_chunk::<8>()
        && let Some(eight) = eight_digits(*first)
    {
        return digits(number.wrapping_mul(100_000_000).wrapping_add(eight), rest);
    }
    digits(number, text)
}

/// The number that eight digits make: neighbours are joined to pairs, pairs to fours, fours to
/// all eight within one 64-bit word (D. Lemire, "Number parsing at a gigabyte per second",
/// Software: Practice and Experience 51, 2021).
#[inline]
fn eight_digits(bytes: [u8; 8]) -> Option<u64> {
    const HIGH: u64 = 0xF0F0_F0F0_F0F0_F0F0;
    let word = u64::from_le_bytes(bytes);
    let beyond_nine = word.wrapping_add(0x0606_0606_0606_0606) & HIGH;
    if (word & HIGH) | (beyond_nine >> 4) != 0x3333_3333_3333_3333 {
        return None;
    }
    let ones = word & 0x0F0F_0F0F_0F0F_0F0F;
    let pairs = (ones.wrapping_mul(10 * 256 + 1) >> 8) & 0x00FF_00FF_00FF_00FF;
    let fours = (pairs.wrapping_mul(100 * 65_536 + 1) >> 16) & 0x0000_FFFF_0000_FFFF;
    Some(fours.wrapping_mul(10_000 * (1 << 32) + 1) >> 32)
}

/// Exponent after its letter, and what comes after it.
#[inline]
fn exponent(text: &[u8]) -> Option<(i32, &[u8])> {
    let (negative, unsigned) = signed(text);
    let mut exponent = 0i32;
    let mut rest = unsigned;
    while let [digit @ b'0'..=b'9', after @ ..] = rest {
        // Clamped, so that any number of digits stays far outside what a double can be.
        exponent = (exponent * 10 + i32::from(digit - b'0')).min(100_000);
        rest = after;
    }
    let is_number = rest.len() < unsigned.len();
    is_number.then_some((if negative { -exponent } else { exponent }, rest))
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
        if let Some((value, rest)) = plain_number(word.as_bytes()) {
            return match rest {
                [] if value.is_finite() => Self::Number(value),
                [] => Self::NotFinite(value),
                _ => Self::of_number_with_rest(word, &word[word.len() - rest.len()..]),
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
            return match plain_number(replaced.as_bytes()) {
                Some((value, [])) => Self::Fortran(value),
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
            prop_assert_eq!(plain_number(text.as_bytes()), Some((wanted, &b""[..])));
        }

        #[test]
        fn any_word_is_something(word in "[0-9a-zA-Z#.+,()-]{0,12}") {
            let _ = Word::of(&word);
        }
    }
}
