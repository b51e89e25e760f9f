//! A value with its standard uncertainty.
//!
//! Inside the crate uncertainty is always *standard* (k = 1). The 95 % half-width that people read
//! is [`Uncertain::u95`]; it exists only on the way out, so the two can't be mixed up.
//! Vocabulary: JCGM 100:2008 (GUM).

use std::fmt;

use crate::rounding::exponent;

/// Coverage factor of a 95 % interval for a normal distribution (JCGM 100:2008, table G.1).
pub const COVERAGE_FACTOR_95: f64 = 1.96;

/// A value and its standard uncertainty (k = 1), both in the unit that the field's name gives.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize, serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Uncertain {
    /// Best estimate.
    pub value: f64,
    /// Standard uncertainty (k = 1), never negative.
    pub u: f64,
}

impl Uncertain {
    /// A value with standard uncertainty `u`; the sign of `u` is dropped.
    pub fn new(value: f64, u: f64) -> Self {
        Self { value, u: u.abs() }
    }

    /// A value taken as exact.
    pub fn exact(value: f64) -> Self {
        Self { value, u: 0.0 }
    }

    /// A value read with a resolution: the true value lies anywhere within `half_width` of it
    /// (rectangular distribution, u = a/√3, JCGM 100:2008, 4.3.7).
    pub fn within(value: f64, half_width: f64) -> Self {
        Self::new(value, half_width / 3f64.sqrt())
    }

    /// Half-width of the 95 % interval.
    pub fn u95(self) -> f64 {
        COVERAGE_FACTOR_95 * self.u
    }

    /// Relative standard uncertainty.
    pub fn relative(self) -> f64 {
        self.u / self.value.abs()
    }

    /// Same value and uncertainty times a constant.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self::new(self.value * factor, self.u * factor)
    }

    /// Adds a further independent contribution to the uncertainty.
    #[must_use]
    pub fn widened(self, u: f64) -> Self {
        Self::new(self.value, self.u.hypot(u))
    }

    /// Propagates through `f` of one variable by a central difference of one standard uncertainty
    /// (JCGM 100:2008, 5.1.3, note 2).
    #[must_use]
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        let half = 0.5 * (f(self.value + self.u) - f(self.value - self.u));
        Self::new(f(self.value), half)
    }

    /// As text with its unit, rounded as the [`Display`](#impl-Display-for-Uncertain) without one, with the SI
    /// prefix that leaves a number from 1 to below 1000. Units that take no prefix (`dB`) get none.
    ///
    /// ```
    /// # use lineproof_core::Uncertain;
    /// let delay_s = Uncertain::new(1.233521e-8, 1.02e-12);
    /// assert_eq!(delay_s.with_unit("s").to_string(), "12.3352 ± 0.0020 ns");
    /// ```
    pub fn with_unit(self, unit: &str) -> WithUnit<'_> {
        WithUnit {
            quantity: self,
            unit,
        }
    }

    /// The value as it is, with its half-width unless that is zero.
    fn unrounded(self) -> String {
        if self.u == 0.0 {
            return self.value.to_string();
        }
        format!("{} ± {}", self.value, self.u95())
    }

    /// Whether the 95 % intervals of two independent values overlap as one value would:
    /// |a − b| ≤ 1.96·√(u_a² + u_b²).
    pub fn agrees_with(self, other: Self) -> bool {
        (self.value - other.value).abs() <= COVERAGE_FACTOR_95 * self.u.hypot(other.u)
    }
}

/// Significant digits of an uncertainty: "it usually suffices to quote it to at most two" (JCGM 100:2008,
/// 7.2.6). A precision in the format, `{:.1}`, asks for another number.
const UNCERTAINTY_DIGITS: usize = 2;

/// Without a unit, no more zeros than this stand between the point and the last digit; beyond it a power of
/// ten is written.
const MOST_DECIMALS: usize = 6;

/// The value and the half-width of its 95 % interval, rounded to two digits of the half-width (JCGM
/// 100:2008, 7.2.6): `74.31 ± 0.21`, and `(12.3352 ± 0.0020)e-9` where zeros would fill the line. An exact
/// value stands alone. [`Uncertain::with_unit`] picks a prefix instead of the power of ten.
///
/// ```
/// # use lineproof_core::Uncertain;
/// assert_eq!(Uncertain::new(74.3142, 0.107).to_string(), "74.31 ± 0.21");
/// assert_eq!(format!("{:.1}", Uncertain::new(74.3142, 0.107)), "74.3 ± 0.2");
/// ```
impl fmt::Display for Uncertain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits = f.precision().unwrap_or(UNCERTAINTY_DIGITS).max(1);
        let Some(rounded) = Rounded::of(*self, digits) else {
            return f.write_str(&self.unrounded());
        };
        if rounded.decimals(0) <= MOST_DECIMALS && rounded.size() < 1e6 {
            return f.write_str(&rounded.over(0));
        }
        let power = rounded.thousands();
        if power == 0 {
            return f.write_str(&rounded.over(0));
        }
        write!(f, "({})e{power}", rounded.over(power))
    }
}

/// A value with its unit, made by [`Uncertain::with_unit`].
#[derive(Clone, Copy, Debug)]
pub struct WithUnit<'a> {
    quantity: Uncertain,
    unit: &'a str,
}

/// SI prefixes by their powers of ten (BIPM, SI Brochure 9th ed., table 7).
const PREFIXES: [(i32, &str); 10] = [
    (-15, "f"),
    (-12, "p"),
    (-9, "n"),
    (-6, "µ"),
    (-3, "m"),
    (0, ""),
    (3, "k"),
    (6, "M"),
    (9, "G"),
    (12, "T"),
];

/// Units that take a prefix; a decibel or a ratio does not.
const PREFIXED: [&str; 11] = ["s", "m", "Hz", "ohm", "Ω", "S", "F", "H", "W", "V", "A"];

impl fmt::Display for WithUnit<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { quantity, unit } = *self;
        let digits = f.precision().unwrap_or(UNCERTAINTY_DIGITS).max(1);
        let rounded = Rounded::of(quantity, digits).filter(|_| PREFIXED.contains(&unit));
        let Some(rounded) = rounded else {
            return match f.precision() {
                Some(precision) => write!(f, "{quantity:.precision$} {unit}"),
                None => write!(f, "{quantity} {unit}"),
            };
        };
        let power = rounded.thousands();
        let (power, prefix) = PREFIXES
            .into_iter()
            .find(|(p, _)| *p == power.clamp(-15, 12))
            .expect("every third power in this range has a prefix");
        write!(f, "{} {prefix}{unit}", rounded.over(power))
    }
}

/// A value and its half-width, both rounded at the same decimal place.
#[derive(Clone, Copy, Debug)]
struct Rounded {
    value: f64,
    half_width: f64,
    /// Power of ten of the last digit that is shown.
    last: i32,
}

impl Rounded {
    /// Rounds to `digits` of the half-width; `None` if that is zero or anything is not finite.
    fn of(quantity: Uncertain, digits: usize) -> Option<Self> {
        let half_width = quantity.u95();
        if !(half_width > 0.0 && half_width.is_finite() && quantity.value.is_finite()) {
            return None;
        }
        let shown = i32::try_from(digits).unwrap_or(i32::MAX);
        let last = exponent(half_width, digits) as i32 + 1 - shown;
        let at_last = |x: f64| {
            // as decimal text, so that 10^last, which binary does not hold, adds no error of its own
            let decimals = usize::try_from(-last).unwrap_or(0);
            let tens = 10f64.powi(last.max(0));
            let text = format!("{:.decimals$}", (x / tens));
            // adding zero takes the sign from a negative zero
            text.parse::<f64>()
                .map_or(x, |rounded| rounded * tens + 0.0)
        };
        Some(Self {
            value: at_last(quantity.value),
            half_width: at_last(half_width),
            last,
        })
    }

    /// The larger of value and half-width.
    fn size(self) -> f64 {
        self.value.abs().max(self.half_width)
    }

    /// Decimals when written over ten to `power`.
    fn decimals(self, power: i32) -> usize {
        usize::try_from(power - self.last).unwrap_or(0)
    }

    /// The power of a thousand that leaves a number from 1 to below 1000, as a power of ten.
    fn thousands(self) -> i32 {
        // 1e-12 lets pass what log10 loses on exact powers of ten
        let first = (self.size().log10() + 1e-12).floor() as i32;
        first.div_euclid(3) * 3
    }

    /// Both numbers over ten to `power`.
    fn over(self, power: i32) -> String {
        let decimals = self.decimals(power);
        let scale = 10f64.powi(power.abs());
        let over = |x: f64| if power < 0 { x * scale } else { x / scale };
        format!(
            "{:.decimals$} ± {:.decimals$}",
            over(self.value),
            over(self.half_width)
        )
    }
}

/// Standard uncertainty of `f(x)` for independent inputs, by central differences of one standard
/// uncertainty each (JCGM 100:2008, 5.1.2 and 5.1.3 note 2).
pub fn propagate<const N: usize>(x: [Uncertain; N], f: impl Fn([f64; N]) -> f64) -> Uncertain {
    let centre = x.map(|q| q.value);
    let variance: f64 = (0..N)
        .map(|i| {
            let (mut up, mut down) = (centre, centre);
            up[i] += x[i].u;
            down[i] -= x[i].u;
            (0.5 * (f(up) - f(down))).powi(2)
        })
        .sum();
    Uncertain::new(f(centre), variance.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn propagation_of_a_product_is_the_quadrature_sum_of_relative_parts() {
        let p = propagate(
            [Uncertain::new(3.0, 0.03), Uncertain::new(4.0, 0.08)],
            |[a, b]| a * b,
        );
        let expected = 12.0 * (0.01f64.powi(2) + 0.02f64.powi(2)).sqrt();
        assert!(
            (p.u - expected).abs() < 1e-9,
            "got {}, wanted {expected}",
            p.u
        );
    }

    /// From a half-width (95 %), which is what is printed.
    fn of_u95(value: f64, u95: f64) -> Uncertain {
        Uncertain::new(value, u95 / COVERAGE_FACTOR_95)
    }

    /// JCGM 100:2008, 7.2.6: y = 10.057 62 ohm with 27 mohm is stated as 10.058 ohm; 7.2.4: a mass of
    /// (100.021 47 ± 0.000 79) g. Both from memory.
    #[test]
    fn text_has_as_many_digits_as_are_known() {
        let cases = [
            (of_u95(10.05762, 0.027), "ohm", "10.058 ± 0.027 ohm"),
            (of_u95(100.02147, 0.00079), "g", "100.02147 ± 0.00079 g"),
            (of_u95(1.23352e-8, 2.0e-12), "s", "12.3352 ± 0.0020 ns"),
            (of_u95(0.163, 0.0042), "dB", "0.1630 ± 0.0042 dB"),
            // rounding carries into the next place and the next prefix
            (of_u95(0.5, 0.0996), "dB", "0.50 ± 0.10 dB"),
            (of_u95(999.97e-9, 0.21e-9), "s", "999.97 ± 0.21 ns"),
            (of_u95(999.96e-9, 2.1e-9), "s", "1.0000 ± 0.0021 µs"),
            (of_u95(12345.0, 1234.0), "ohm", "12.3 ± 1.2 kohm"),
            // a value lost in its uncertainty takes the prefix of that
            (of_u95(-2e-15, 3.1e-12), "F", "0.0 ± 3.1 pF"),
            (Uncertain::exact(1.5), "m", "1.5 m"),
        ];
        for (quantity, unit, wanted) in cases {
            assert_eq!(quantity.with_unit(unit).to_string(), wanted);
        }
    }

    #[test]
    fn text_without_a_unit_writes_powers_where_zeros_would_fill_the_line() {
        let cases = [
            (of_u95(74.3142, 0.21), "74.31 ± 0.21"),
            (of_u95(0.66012, 0.0022), "0.6601 ± 0.0022"),
            (of_u95(1.23352e-8, 2.0e-12), "(12.3352 ± 0.0020)e-9"),
            (of_u95(12345.0, 1234.0), "12300 ± 1200"),
            (of_u95(1.45e8, 1.2e5), "(145.00 ± 0.12)e6"),
            (Uncertain::exact(50.0), "50"),
        ];
        for (quantity, wanted) in cases {
            assert_eq!(quantity.to_string(), wanted);
        }
        let unknown = Uncertain::new(50.0, f64::INFINITY);
        assert_eq!(unknown.to_string(), "50 ± inf");
    }

    #[test]
    fn a_precision_is_digits_of_the_uncertainty() {
        let delay_s = of_u95(1.23352e-8, 2.04e-12);
        assert_eq!(
            format!("{:.1}", delay_s.with_unit("s")),
            "12.335 ± 0.002 ns"
        );
        assert_eq!(format!("{:.3}", of_u95(74.3142, 0.2134)), "74.314 ± 0.213");
    }

    #[test]
    fn agreement_uses_the_combined_interval() {
        let a = Uncertain::new(50.0, 0.5);
        assert!(a.agrees_with(Uncertain::new(51.3, 0.5)));
        assert!(!a.agrees_with(Uncertain::new(51.5, 0.5)));
    }
}
