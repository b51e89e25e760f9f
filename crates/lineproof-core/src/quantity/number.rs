//! Scanner for a number as typed, with its resolution, and the unit after it.

use super::unit::{self, Kind, Unit};
use super::{QuantityError, Reading};

/// Walks through one text; every error quotes the whole of it.
pub(super) struct Scanner<'a> {
    text: &'a str,
    rest: &'a str,
    kind: &'static Kind,
}

/// A number as typed.
pub(super) struct Number<'a> {
    pub(super) value: f64,
    half_digit: f64,
    typed: &'a str,
}

impl Number<'_> {
    /// Value and resolution in the unit as typed.
    pub(super) fn reading(&self) -> Reading {
        Reading {
            value: self.value,
            half_digit: self.half_digit,
        }
    }
}

impl<'a> Scanner<'a> {
    /// Starts at the first character that is not blank.
    pub(super) fn new(text: &'a str, kind: &'static Kind) -> Result<Self, QuantityError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(QuantityError::Empty {
                quantity: kind.name,
                example: kind.example,
            });
        }
        Ok(Self {
            text,
            rest: text,
            kind,
        })
    }

    /// Whether nothing but blanks is left.
    pub(super) fn is_at_end(&self) -> bool {
        self.rest.trim_start().is_empty()
    }

    /// Steps over `mark` if it comes next.
    pub(super) fn skip(&mut self, mark: char) -> bool {
        match self.rest.trim_start().strip_prefix(mark) {
            Some(rest) => {
                self.rest = rest;
                true
            }
            None => false,
        }
    }

    /// The number that must come next: decimal, scientific, or with a fraction as in `11 1/2`.
    pub(super) fn number(&mut self) -> Result<Number<'a>, QuantityError> {
        let whole = self.decimal()?;
        if !whole.is_plain_integer() {
            return Ok(whole);
        }
        if let Some(fraction) = self.fraction(&whole)? {
            return Ok(fraction);
        }
        let before = self.rest;
        let more_digits = before
            .strip_prefix([' ', '-'])
            .filter(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
        if let Some(rest) = more_digits {
            self.rest = rest;
            let numerator = self.decimal()?;
            if let Some(fraction) = self.fraction(&numerator)? {
                return Ok(Number {
                    value: whole.value + fraction.value,
                    ..fraction
                });
            }
            self.rest = before;
        }
        Ok(whole)
    }

    /// The unit that must come next; if the quantity needs none, its absence is fine.
    pub(super) fn unit(&mut self, number: &Number<'_>) -> Result<&'static Unit, QuantityError> {
        let typed = self.unit_word();
        let units = self.kind.units;
        if let Some(exact) = units.iter().find(|u| u.symbols.contains(&typed)) {
            return Ok(exact);
        }
        if typed.is_empty() {
            return Err(self.missing_unit());
        }
        let same_but_case = |u: &&Unit| u.symbols.iter().any(|s| equal_but_case(s, typed));
        let mut candidates = units.iter().filter(same_but_case);
        match (candidates.next(), candidates.next()) {
            (Some(only), None) => Ok(only),
            (Some(a), Some(b)) => Err(QuantityError::AmbiguousUnit {
                text: self.text.to_owned(),
                readings: [a, b].map(|u| format!("{}{}", number.typed, u.symbols[0])),
            }),
            (None, _) => Err(self.unknown_unit(typed)),
        }
    }

    /// The length below the stroke of an attenuation, m: `100m`, `ft`.
    pub(super) fn run_of_length(&mut self) -> Result<f64, QuantityError> {
        let attenuation = std::mem::replace(&mut self.kind, &unit::LENGTH);
        let rest = self.rest.trim_start();
        let number = if rest.starts_with(|c: char| c.is_ascii_digit()) {
            self.number()?
        } else {
            Number {
                value: 1.0,
                half_digit: 0.0,
                typed: "1",
            }
        };
        if self.is_at_end() {
            self.kind = attenuation;
            return Err(self.missing_length());
        }
        let unit = self.unit(&number)?;
        let length_m = unit.scale.apply(number.reading()).value;
        if !self.kind.allowed.holds(length_m) {
            return Err(self.out_of_range(self.kind.allowed.description()));
        }
        self.kind = attenuation;
        Ok(length_m)
    }

    /// Checks that nothing is left and that the value is in range.
    pub(super) fn finish(self, reading: Reading) -> Result<Reading, QuantityError> {
        if !self.is_at_end() {
            return Err(self.trailing(self.rest.trim()));
        }
        if !self.kind.allowed.holds(reading.value) || !reading.half_digit.is_finite() {
            return Err(self.out_of_range(self.kind.allowed.description()));
        }
        Ok(reading)
    }

    pub(super) fn out_of_range(&self, expected: &'static str) -> QuantityError {
        QuantityError::OutOfRange {
            text: self.text.to_owned(),
            quantity: self.kind.name,
            expected,
        }
    }

    pub(super) fn trailing(&self, rest: &str) -> QuantityError {
        QuantityError::Trailing {
            text: self.text.to_owned(),
            rest: rest.to_owned(),
            quantity: self.kind.name,
        }
    }

    /// An attenuation that says how many decibels but not over which length.
    pub(super) fn missing_length(&self) -> QuantityError {
        let bare = self.text.trim_end_matches('/').trim_end();
        let bare = bare.split('/').next().unwrap_or(bare);
        QuantityError::MissingUnit {
            text: self.text.to_owned(),
            quantity: self.kind.name,
            readings: ["m", "ft"].map(|unit| format!("{bare}/100{unit}")),
        }
    }

    fn missing_unit(&self) -> QuantityError {
        let likely = self.kind.likely.unwrap_or_default();
        QuantityError::MissingUnit {
            text: self.text.to_owned(),
            quantity: self.kind.name,
            readings: likely.map(|unit| format!("{}{unit}", self.text)),
        }
    }

    fn unknown_unit(&self, typed: &str) -> QuantityError {
        let symbols = self.kind.units.iter().map(|u| u.symbols[0]);
        let known: Vec<String> = symbols
            .filter(|s| !s.is_empty())
            .map(|s| format!("`{s}`"))
            .collect();
        if known.is_empty() {
            return self.trailing(typed);
        }
        QuantityError::UnknownUnit {
            text: self.text.to_owned(),
            unit: typed.to_owned(),
            quantity: self.kind.name,
            known: known.join(", "),
        }
    }

    /// Letters and signs up to the next digit, stroke, sign or blank.
    fn unit_word(&mut self) -> &'a str {
        let rest = self.rest.trim_start();
        let ends = |c: char| c.is_ascii_digit() || c.is_whitespace() || "/:@,;.+-".contains(c);
        let end = rest.find(ends).unwrap_or(rest.len());
        let (word, rest) = rest.split_at(end);
        self.rest = rest;
        word
    }

    fn decimal(&mut self) -> Result<Number<'a>, QuantityError> {
        let start = self.rest.trim_start();
        let (sign, unsigned) = match start.strip_prefix(['-', '−']) {
            Some(unsigned) => (-1.0, unsigned),
            None => (1.0, start.strip_prefix('+').unwrap_or(start)),
        };
        let is_mantissa = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
        let mantissa_end = unsigned.find(|c| !is_mantissa(c)).unwrap_or(unsigned.len());
        let (mantissa, after) = unsigned.split_at(mantissa_end);
        if !mantissa.bytes().any(|b| b.is_ascii_digit()) {
            return Err(QuantityError::NoNumber {
                text: self.text.to_owned(),
                quantity: self.kind.name,
                example: self.kind.example,
            });
        }
        let exponent = &after[..exponent_length(after)];
        self.rest = &after[exponent.len()..];
        let typed = &start[..start.len() - self.rest.len()];
        let plain = self.plain(mantissa, typed)?;
        let magnitude: f64 = format!("{plain}{exponent}")
            .parse()
            .map_err(|_| self.malformed(typed))?;
        Ok(Number {
            value: sign * magnitude,
            half_digit: 0.5 * 10f64.powi(power_of_last_digit(&plain, exponent)),
            typed,
        })
    }

    /// The mantissa with a point as its only mark.
    fn plain(&self, mantissa: &str, typed: &str) -> Result<String, QuantityError> {
        match plain_decimal(mantissa) {
            Mantissa::Plain(plain) => Ok(plain),
            Mantissa::Malformed => Err(self.malformed(typed)),
            Mantissa::Ambiguous(readings) => Err(QuantityError::AmbiguousNumber {
                text: self.text.to_owned(),
                readings: readings.map(|r| self.text.replacen(mantissa, &r, 1)),
            }),
        }
    }

    /// The stroke and denominator after a numerator; absent if no stroke follows.
    fn fraction(&mut self, numerator: &Number<'a>) -> Result<Option<Number<'a>>, QuantityError> {
        let Some(rest) = self.rest.strip_prefix('/') else {
            return Ok(None);
        };
        if !rest.starts_with(|c: char| c.is_ascii_digit()) {
            return Ok(None);
        }
        self.rest = rest;
        let denominator = self.decimal()?;
        if !denominator.is_plain_integer() || denominator.value == 0.0 {
            return Err(self.malformed(denominator.typed));
        }
        Ok(Some(Number {
            value: numerator.value / denominator.value,
            half_digit: 0.5 / denominator.value,
            typed: numerator.typed,
        }))
    }

    fn malformed(&self, number: &str) -> QuantityError {
        QuantityError::MalformedNumber {
            text: self.text.to_owned(),
            number: number.to_owned(),
        }
    }
}

impl Number<'_> {
    fn is_plain_integer(&self) -> bool {
        self.typed.bytes().all(|b| b.is_ascii_digit())
    }
}

/// What digits with points and commas can mean.
enum Mantissa {
    /// Digits with at most one point.
    Plain(String),
    Ambiguous([String; 2]),
    Malformed,
}

/// Bytes of an exponent such as `e-3` at the start of `text`, 0 if there is none.
fn exponent_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    if !matches!(bytes.first(), Some(b'e' | b'E')) {
        return 0;
    }
    let sign = usize::from(matches!(bytes.get(1), Some(b'+' | b'-')));
    let digits = bytes[1 + sign..]
        .iter()
        .take_while(|b| b.is_ascii_digit())
        .count();
    match digits {
        0 => 0,
        n => 1 + sign + n,
    }
}

/// Power of ten of the last digit typed.
fn power_of_last_digit(plain: &str, exponent: &str) -> i32 {
    let decimals = plain.split_once('.').map_or(0, |(_, after)| after.len());
    let power = exponent.get(1..).and_then(|e| e.parse::<i32>().ok());
    let decimals = i32::try_from(decimals).unwrap_or(i32::MAX);
    power.unwrap_or(0).saturating_sub(decimals)
}

/// Decides which of points and commas marks decimals and which groups thousands.
fn plain_decimal(mantissa: &str) -> Mantissa {
    let commas = mantissa.matches(',').count();
    let points = mantissa.matches('.').count();
    match (points, commas) {
        (0 | 1, 0) => Mantissa::Plain(mantissa.to_owned()),
        (0, 1) => single_comma(mantissa),
        (0, _) => grouped(mantissa, ',', None),
        (_, 0) => grouped(mantissa, '.', None),
        (1, _) if mantissa.rfind('.') > mantissa.rfind(',') => grouped(mantissa, ',', Some('.')),
        (_, 1) if mantissa.rfind(',') > mantissa.rfind('.') => grouped(mantissa, '.', Some(',')),
        _ => Mantissa::Malformed,
    }
}

/// One comma is a decimal mark unless it could group thousands: one to three digits that do not
/// start with zero before it and exactly three after it.
fn single_comma(mantissa: &str) -> Mantissa {
    let decimal = mantissa.replace(',', ".");
    match mantissa.split_once(',') {
        Some((before, after)) if is_first_group(before) && after.len() == 3 => {
            Mantissa::Ambiguous([decimal, mantissa.replace(',', "")])
        }
        _ => Mantissa::Plain(decimal),
    }
}

fn grouped(mantissa: &str, group: char, decimal: Option<char>) -> Mantissa {
    let (whole, decimals) = match decimal.and_then(|mark| mantissa.split_once(mark)) {
        Some((whole, decimals)) => (whole, Some(decimals)),
        None => (mantissa, None),
    };
    let mut groups = whole.split(group);
    let well_formed = groups.next().is_some_and(is_first_group) && groups.all(|g| g.len() == 3);
    if !well_formed {
        return Mantissa::Malformed;
    }
    let digits = whole.replace(group, "");
    Mantissa::Plain(match decimals {
        Some(decimals) => format!("{digits}.{decimals}"),
        None => digits,
    })
}

fn is_first_group(digits: &str) -> bool {
    (1..=3).contains(&digits.len()) && !digits.starts_with('0')
}

fn equal_but_case(a: &str, b: &str) -> bool {
    a.chars()
        .flat_map(char::to_lowercase)
        .eq(b.chars().flat_map(char::to_lowercase))
}
