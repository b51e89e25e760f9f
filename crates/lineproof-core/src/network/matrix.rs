//! Two-by-two complex matrices.

use std::ops::{Add, Mul, Sub};

use num_complex::Complex64;

/// A two-by-two complex matrix in rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Matrix2(pub [[Complex64; 2]; 2]);

/// A determinant this far below its two products is only their rounding.
const DETERMINANT_ROUNDING: f64 = 8.0 * f64::EPSILON;

impl Matrix2 {
    /// The unit matrix.
    pub const IDENTITY: Self = Self([
        [Complex64::ONE, Complex64::ZERO],
        [Complex64::ZERO, Complex64::ONE],
    ]);

    /// Real numbers on the diagonal, zero elsewhere.
    pub fn diagonal(first: f64, second: f64) -> Self {
        Self([
            [Complex64::new(first, 0.0), Complex64::ZERO],
            [Complex64::ZERO, Complex64::new(second, 0.0)],
        ])
    }

    /// Determinant.
    pub fn determinant(self) -> Complex64 {
        let [[a, b], [c, d]] = self.0;
        a * d - b * c
    }

    /// Inverse; `None` if the matrix is singular as far as its digits tell.
    pub fn inverse(self) -> Option<Self> {
        let [[a, b], [c, d]] = self.0;
        let determinant = self.determinant();
        let products = (a * d).norm() + (b * c).norm();
        if determinant.norm() <= DETERMINANT_ROUNDING * products {
            return None;
        }
        let inverse = Self([
            [d / determinant, -b / determinant],
            [-c / determinant, a / determinant],
        ]);
        inverse.is_finite().then_some(inverse)
    }

    /// Rows become columns.
    #[must_use]
    pub fn transpose(self) -> Self {
        let [[a, b], [c, d]] = self.0;
        Self([[a, c], [b, d]])
    }

    /// Whether every element is finite.
    pub fn is_finite(self) -> bool {
        self.0.iter().flatten().all(|z| z.is_finite())
    }

    /// Largest singular value: the most by which the matrix stretches a vector.
    pub fn largest_singular_value(self) -> f64 {
        // The two squares are the roots of λ² − ‖M‖²λ + |det M|² = 0.
        let squares: f64 = self.0.iter().flatten().map(Complex64::norm_sqr).sum();
        let determinant = self.determinant().norm();
        let discriminant = (squares - 2.0 * determinant) * (squares + 2.0 * determinant);
        f64::midpoint(squares, discriminant.max(0.0).sqrt()).sqrt()
    }
}

impl Mul for Matrix2 {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        let [[a, b], [c, d]] = self.0;
        let [[e, f], [g, h]] = other.0;
        Self([
            [a * e + b * g, a * f + b * h],
            [c * e + d * g, c * f + d * h],
        ])
    }
}

impl Add for Matrix2 {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self(combine(self, other, |a, b| a + b))
    }
}

impl Sub for Matrix2 {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self(combine(self, other, |a, b| a - b))
    }
}

fn combine(
    left: Matrix2,
    right: Matrix2,
    f: impl Fn(Complex64, Complex64) -> Complex64,
) -> [[Complex64; 2]; 2] {
    std::array::from_fn(|i| std::array::from_fn(|j| f(left.0[i][j], right.0[i][j])))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_matrix_that_is_singular_but_for_rounding_has_no_inverse() {
        let third = Complex64::new(1.0 / 3.0, 0.0);
        let singular = Matrix2([[third, third * 3.0], [third * 0.1, third * 0.1 * 3.0]]);
        assert_eq!(singular.inverse(), None);
    }

    #[test]
    fn largest_singular_value_of_a_diagonal_matrix_is_its_largest_element() {
        assert!((Matrix2::diagonal(0.3, -0.8).largest_singular_value() - 0.8).abs() < 1e-15);
    }
}
