//! A value with its standard uncertainty.
//!
//! Inside the crate uncertainty is always *standard* (k = 1). The 95 % half-width that people read
//! is [`Uncertain::u95`]; it exists only on the way out, so the two can't be mixed up.
//! Vocabulary: JCGM 100:2008 (GUM).

use std::fmt;

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

    /// Whether the 95 % intervals of two independent values overlap as one value would:
    /// |a − b| ≤ 1.96·√(u_a² + u_b²).
    pub fn agrees_with(self, other: Self) -> bool {
        (self.value - other.value).abs() <= COVERAGE_FACTOR_95 * self.u.hypot(other.u)
    }
}

impl fmt::Display for Uncertain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ± {}", self.value, self.u95())
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

    #[test]
    fn agreement_uses_the_combined_interval() {
        let a = Uncertain::new(50.0, 0.5);
        assert!(a.agrees_with(Uncertain::new(51.3, 0.5)));
        assert!(!a.agrees_with(Uncertain::new(51.5, 0.5)));
    }
}
