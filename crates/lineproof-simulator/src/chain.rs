//! Chain (ABCD) matrices and what ends them.
//!
//! Convention: [V₁; I₁] = [a b; c d]·[V₂; I₂] with I₂ leaving port 2. A far end is kept as a
//! voltage and a current rather than an impedance, so that an open is no special case.

use std::ops::Mul;

use num_complex::Complex64;

use crate::REFERENCE_OHM;

/// Chain matrix of a two-port at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chain {
    /// V₁/V₂ with port 2 open.
    pub a: Complex64,
    /// V₁/I₂ with port 2 shorted, ohm.
    pub b: Complex64,
    /// I₁/V₂ with port 2 open, S.
    pub c: Complex64,
    /// I₁/I₂ with port 2 shorted.
    pub d: Complex64,
}

/// Voltage and current at a port, up to a common factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Terminal {
    /// Voltage, V.
    pub voltage: Complex64,
    /// Current away from the source, A.
    pub current: Complex64,
}

impl Chain {
    /// Nothing in between.
    pub const THROUGH: Self = Self {
        a: Complex64::ONE,
        b: Complex64::ZERO,
        c: Complex64::ZERO,
        d: Complex64::ONE,
    };

    /// A uniform line of total series impedance `series_ohm` and total shunt admittance `shunt_s`.
    ///
    /// In this form 0 Hz is no special case: sinh θ/θ tends to 1.
    pub fn line(series_ohm: Complex64, shunt_s: Complex64) -> Self {
        let theta = (series_ohm * shunt_s).sqrt();
        let shape = if theta.norm() < 1e-8 {
            Complex64::ONE
        } else {
            theta.sinh() / theta
        };
        let a = theta.cosh();
        Self {
            a,
            b: series_ohm * shape,
            c: shunt_s * shape,
            d: a,
        }
    }

    /// The same line with its impedance times `factor` and its propagation unchanged.
    #[must_use]
    pub fn with_impedance_times(self, factor: f64) -> Self {
        Self {
            b: self.b * factor,
            c: self.c / factor,
            ..self
        }
    }

    /// An impedance in series.
    pub fn series(ohm: Complex64) -> Self {
        Self {
            b: ohm,
            ..Self::THROUGH
        }
    }

    /// An admittance across the line.
    pub fn shunt(siemens: Complex64) -> Self {
        Self {
            c: siemens,
            ..Self::THROUGH
        }
    }

    /// What the near end shows when the far end is `far`.
    pub fn seen_through(&self, far: Terminal) -> Terminal {
        Terminal {
            voltage: self.a * far.voltage + self.b * far.current,
            current: self.c * far.voltage + self.d * far.current,
        }
    }

    /// S₁₁, S₂₁, S₁₂, S₂₂ against 50 ohm (Pozar, *Microwave Engineering*, table of conversions
    /// between two-port parameters, from memory).
    pub fn s_parameters(&self) -> [Complex64; 4] {
        let (a, b, c, d) = (
            self.a,
            self.b / REFERENCE_OHM,
            self.c * REFERENCE_OHM,
            self.d,
        );
        let sum = a + b + c + d;
        let determinant = self.a * self.d - self.b * self.c;
        [
            (a + b - c - d) / sum,
            2.0 / sum,
            2.0 * determinant / sum,
            (d + b - a - c) / sum,
        ]
    }
}

impl Mul for Chain {
    type Output = Self;

    fn mul(self, far: Self) -> Self {
        Self {
            a: self.a * far.a + self.b * far.c,
            b: self.a * far.b + self.b * far.d,
            c: self.c * far.a + self.d * far.c,
            d: self.c * far.b + self.d * far.d,
        }
    }
}

impl Terminal {
    /// A perfect open.
    pub const OPEN: Self = Self {
        voltage: Complex64::ONE,
        current: Complex64::ZERO,
    };

    /// A perfect short.
    pub const SHORT: Self = Self {
        voltage: Complex64::ZERO,
        current: Complex64::ONE,
    };

    /// Reflection against 50 ohm.
    pub fn reflection(&self) -> Complex64 {
        let back = self.voltage - REFERENCE_OHM * self.current;
        back / (self.voltage + REFERENCE_OHM * self.current)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_halves_make_a_whole() {
        let (z, y) = (Complex64::new(3.0, 40.0), Complex64::new(1e-4, 1.6e-2));
        let half = Chain::line(z / 2.0, y / 2.0);
        let (whole, made) = (Chain::line(z, y), half * half);
        for (got, wanted) in [(made.a, whole.a), (made.b, whole.b), (made.c, whole.c)] {
            assert!((got - wanted).norm() < 1e-12 * wanted.norm().max(1.0));
        }
    }

    #[test]
    fn s_parameters_of_a_series_resistor() {
        // 100 ohm in series between 50 ohm ports: S11 = Z/(Z + 2 Z0) = 0.5, S21 = 0.5.
        let s = Chain::series(100.0.into()).s_parameters();
        for got in s {
            assert!((got - 0.5).norm() < 1e-15, "got {got}");
        }
    }
}
