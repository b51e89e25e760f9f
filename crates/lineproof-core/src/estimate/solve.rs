//! The only place that knows the linear-algebra library.

use std::ops::Range;

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Rows of a weighted least-squares problem that share the same unknowns, kept as the columns of a
/// transposed Jacobian.
#[derive(Clone, Debug)]
pub(super) struct Rows {
    transposed: DMatrix<f64>,
    residual: DVector<f64>,
    /// Which of all unknowns they depend on, rising.
    unknowns: Vec<Range<usize>>,
}

/// Unknowns in one block of the product: wide enough for the fast kernel, narrow enough to skip
/// most of the upper triangle.
const BLOCK: usize = 48;

impl Rows {
    /// Room for `rows` rows of derivatives by `unknowns` (rising).
    pub(super) fn new(unknowns: Vec<Range<usize>>, rows: usize) -> Self {
        let count = unknowns.iter().map(ExactSizeIterator::len).sum();
        Self {
            transposed: DMatrix::zeros(count, rows),
            residual: DVector::zeros(rows),
            unknowns,
        }
    }

    /// Their unknowns; derivatives and residual of one row, to be filled in.
    pub(super) fn row_mut(&mut self, row: usize) -> (&[Range<usize>], &mut [f64], &mut f64) {
        let n = self.transposed.nrows();
        let all = self.transposed.as_mut_slice();
        (
            &self.unknowns,
            &mut all[row * n..(row + 1) * n],
            &mut self.residual[row],
        )
    }

    /// JᵀJ (lower triangle) and Jᵀr among `all` unknowns.
    pub(super) fn normal(&self, all: usize) -> (DMatrix<f64>, DVector<f64>) {
        let n = self.transposed.nrows();
        let index: Vec<usize> = self.unknowns.iter().cloned().flatten().collect();
        let mut normal = DMatrix::zeros(all, all);
        let mut rhs = DVector::zeros(all);
        let right = &self.transposed * &self.residual;
        for (value, &global) in right.iter().zip(&index) {
            rhs[global] = *value;
        }
        for first in (0..n).step_by(BLOCK) {
            let width = BLOCK.min(n - first);
            // an explicit transpose is several times faster than `tr_mul`
            let block = self.transposed.rows(first, width).transpose();
            let product = self.transposed.rows(first, n - first) * block;
            for j in 0..width {
                let mut column = normal.column_mut(index[first + j]);
                let below = product.column(j);
                for (value, &row) in below.iter().zip(&index[first..]).skip(j) {
                    column[row] = *value;
                }
            }
        }
        (normal, rhs)
    }
}

/// Factor of a symmetric positive definite matrix of which only the lower triangle is read.
pub(super) struct Factor(Cholesky<f64, Dyn>);

impl Factor {
    /// `None` if the matrix is not positive definite.
    pub(super) fn new(matrix: DMatrix<f64>) -> Option<Self> {
        matrix.cholesky().map(Self)
    }

    /// Solves for one right-hand side.
    pub(super) fn solve(&self, rhs: &DVector<f64>) -> DVector<f64> {
        self.0.solve(rhs)
    }

    /// Diagonal of the inverse: with A = LLᵀ it is the squared length of each column of L⁻¹.
    pub(super) fn inverse_diagonal(&self) -> DVector<f64> {
        let l = self.0.l_dirty();
        let n = l.nrows();
        let mut column = vec![0.0; n];
        DVector::from_fn(n, |j, _| {
            // L·c = e_j by columns; c is nought above j
            column[j..].fill(0.0);
            column[j] = 1.0;
            let mut sum = 0.0;
            for k in j..n {
                let below = &l.as_slice()[k * n..(k + 1) * n];
                let value = column[k] / below[k];
                sum += value * value;
                for (c, factor) in column[k + 1..].iter_mut().zip(&below[k + 1..]) {
                    *c -= value * factor;
                }
            }
            sum
        })
    }

    /// The whole inverse.
    pub(super) fn inverse(&self) -> DMatrix<f64> {
        self.0.inverse()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the library's inverse.
    #[test]
    fn diagonal_of_the_inverse() {
        let n = 9;
        let a = DMatrix::from_fn(n, n, |i, j| if i == j { 5.0 + i as f64 } else { 0.3 });
        let factor = Factor::new(a.clone()).unwrap();
        let inverse = a.try_inverse().unwrap();
        for (got, wanted) in factor
            .inverse_diagonal()
            .iter()
            .zip(inverse.diagonal().iter())
        {
            assert!((got - wanted).abs() < 1e-14, "got {got}, wanted {wanted}");
        }
    }

    /// Against the plain product of the library.
    #[test]
    fn blocks_make_the_plain_product() {
        let rows = 37;
        let unknowns = vec![2..40, 50..112, 112..113];
        let index: Vec<usize> = unknowns.iter().cloned().flatten().collect();
        let mut set = Rows::new(unknowns, rows);
        for row in 0..rows {
            let (_, derivatives, residual) = set.row_mut(row);
            for (i, d) in derivatives.iter_mut().enumerate() {
                *d = ((i * 31 + row * 17) % 23) as f64 - 11.0;
            }
            *residual = (row % 5) as f64 - 2.0;
        }
        let (normal, rhs) = set.normal(113);
        let plain = &set.transposed * set.transposed.transpose();
        let plain_rhs = &set.transposed * &set.residual;
        for (i, &row) in index.iter().enumerate() {
            assert_eq!(rhs[row], plain_rhs[i]);
            for (j, &column) in index.iter().enumerate().take(i + 1) {
                assert_eq!(normal[(row, column)], plain[(i, j)]);
            }
        }
    }
}
