//! The Kaiser window: what it does to an echo.
//!
//! w(x) = I₀(β√(1 − x²))/I₀(β) with x from 0 at the middle to 1 at the edge. Its transform is
//! sinh(√(β² − a²))/√(β² − a²) with a = 2πFt, F the frequency of the edge. Source: F. J. Harris, *On
//! the use of windows for harmonic analysis with the discrete Fourier transform*, Proc. IEEE 66,
//! 1978, pp. 51–83 (from memory). Widths are in units of 1/span, for a low-pass transform whose span
//! is F; of a band-pass transform over the same span they are twice that.

use std::f64::consts::PI;

/// A Kaiser window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kaiser {
    /// Shape: 0 is a rectangle, larger is smoother and wider.
    pub beta: f64,
}

/// Steps of the integral that gives the step response.
const STEPS: usize = 400;
/// Steps at which a maximum is looked for before it is closed in.
const SEARCH: usize = 400;

impl Kaiser {
    /// No window: the finest cells, side lobes of −13 dB.
    pub const RECTANGULAR: Self = Self { beta: 0.0 };
    /// The usual compromise: side lobes of −44 dB.
    pub const USUAL: Self = Self { beta: 6.0 };
    /// For small echoes beside large ones: side lobes below −90 dB.
    pub const SMOOTH: Self = Self { beta: 13.0 };

    /// Weight at `x` of the way from the middle to the edge; 0 beyond it.
    pub fn at(self, x: f64) -> f64 {
        if x.abs() > 1.0 {
            return 0.0;
        }
        bessel_i0(self.beta * (1.0 - x * x).sqrt()) / bessel_i0(self.beta)
    }

    /// Width of an impulse at half its height, in 1/span.
    pub fn width(self) -> f64 {
        // the main lobe falls without a turn to its null, so halving finds the one place
        let half = |t: f64| 0.5 - self.impulse(t);
        2.0 * root(half, 0.0, self.first_null())
    }

    /// Largest side lobe of an impulse, dB.
    pub fn side_lobe_db(self) -> f64 {
        let null = self.first_null();
        // side lobes fall off with time: the first behind the null is the largest
        let (_, lobe) = largest(|t| self.impulse(t).abs(), null, null + 1.0);
        20.0 * lobe.log10()
    }

    /// Time in which a step rises from 10 % to 90 %, in 1/span.
    pub fn rise(self) -> f64 {
        let ninety = |t: f64| self.step(t) - 0.9;
        2.0 * root(ninety, 0.0, self.first_null())
    }

    /// What a step overshoots by, dB of the step.
    pub fn step_ring_db(self) -> f64 {
        let null = self.first_null();
        let (_, top) = largest(|t| self.step(t), 0.9 * null, null + 0.5);
        20.0 * (top - 1.0).log10()
    }

    /// Time from the middle of an impulse to its first null, in 1/span.
    pub fn first_null(self) -> f64 {
        // first zero of sin(√(a² − β²)): a² − β² = π²
        PI.hypot(self.beta) / (2.0 * PI)
    }

    /// Impulse at `t` in 1/span, 1 in the middle.
    fn impulse(self, t: f64) -> f64 {
        let a = 2.0 * PI * t;
        sinh_over(self.beta * self.beta - a * a) / sinh_over(self.beta * self.beta)
    }

    /// Step at `t` in 1/span, from 0 to 1: ½ + (1/π)∫ w(x) sin(2πxt)/x dx, by Simpson's rule.
    fn step(self, t: f64) -> f64 {
        let a = 2.0 * PI * t;
        // x = sin φ takes the edge's infinite slope away
        let at = |i: usize| {
            let phi = 0.5 * PI * i as f64 / STEPS as f64;
            let x = phi.sin();
            let sinc = if x == 0.0 { a } else { (a * x).sin() / x };
            self.at(x) * sinc * phi.cos()
        };
        let inner: f64 = (1..STEPS)
            .map(|i| if i % 2 == 1 { 4.0 } else { 2.0 } * at(i))
            .sum();
        0.5 + (at(0) + inner + at(STEPS)) / (3.0 * STEPS as f64) * 0.5
    }
}

/// sinh(√s)/√s, which is sin(√−s)/√−s for negative s.
fn sinh_over(s: f64) -> f64 {
    // one analytic function on both sides of zero: sinh(x)/x goes over into sin(x)/x
    let root = s.abs().sqrt();
    if root < 1e-8 {
        1.0
    } else if s > 0.0 {
        root.sinh() / root
    } else {
        root.sin() / root
    }
}

/// Modified Bessel function of the first kind, order 0: Σ (x²/4)ᵏ/k!² (DLMF 10.25.2).
fn bessel_i0(x: f64) -> f64 {
    let quarter = 0.25 * x * x;
    let (mut term, mut sum, mut k) = (1.0, 1.0, 1.0);
    // every term is positive, so the series loses no digits and ends at the last bit
    while term > 1e-17 * sum {
        term *= quarter / (k * k);
        sum += term;
        k += 1.0;
    }
    sum
}

/// Root of a rising function between `low` and `high`, by halving.
fn root(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if f(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Place and size of the maximum between `low` and `high`: a search, then thirds.
fn largest(f: impl Fn(f64) -> f64, low: f64, high: f64) -> (f64, f64) {
    // a lobe may have neighbours: the grid picks the right one before thirds close in on it
    let step = (high - low) / SEARCH as f64;
    let places = (0..=SEARCH).map(|i| low + step * i as f64);
    let best = places.fold(low, |best, t| if f(t) > f(best) { t } else { best });
    let (mut low, mut high) = ((best - step).max(low), (best + step).min(high));
    for _ in 0..60 {
        let third = (high - low) / 3.0;
        if f(low + third) < f(high - third) {
            low += third;
        } else {
            high -= third;
        }
    }
    let t = 0.5 * (low + high);
    (t, f(t))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_falls_from_one_to_its_edge() {
        // I0(6) = 67.23440697647798 (A&S table 9.8 has e^-6 I0(6) = 0.16666; digits by mpmath)
        assert!((bessel_i0(6.0) - 67.23440697647798).abs() < 1e-11);
        assert_eq!(Kaiser::USUAL.at(0.0), 1.0);
        assert!((Kaiser::USUAL.at(1.0) - 1.0 / 67.23440697647798).abs() < 1e-15);
        assert_eq!(Kaiser::USUAL.at(1.01), 0.0);
        assert_eq!(Kaiser::RECTANGULAR.at(0.7), 1.0);
    }
}
