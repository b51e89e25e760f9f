//! The only place that knows the linear-algebra library.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Rows of a weighted least-squares problem that share the same unknowns, kept as the columns of a
/// transposed Jacobian.
#[derive(Clone, Debug)]
pub(super) struct Rows {
    transposed: DMatrix<f64>,
    residual: DVector<f64>,
    /// Index of each of their unknowns among all.
    unknowns: Vec<usize>,
}

/// Unknowns in one block of the product: wide enough for the fast kernel, narrow enough to skip
/// most of the upper triangle.
const BLOCK: usize = 48;

impl Rows {
    /// Room for `rows` rows of derivatives by `unknowns`.
    pub(super) fn new(unknowns: Vec<usize>, rows: usize) -> Self {
        Self {
            transposed: DMatrix::zeros(unknowns.len(), rows),
            residual: DVector::zeros(rows),
            unknowns,
        }
    }

    /// Their unknowns; derivatives and residual of one row, to be filled in.
    pub(super) fn row_mut(&mut self, row: usize) -> (&[usize], &mut [f64], &mut f64) {
        let n = self.unknowns.len();
        let all = self.transposed.as_mut_slice();
        (
            &self.unknowns,
            &mut all[row * n..(row + 1) * n],
            &mut self.residual[row],
        )
    }

    /// Adds JᵀJ (lower triangle) and Jᵀr.
    pub(super) fn add_to(&self, normal: &mut DMatrix<f64>, rhs: &mut DVector<f64>) {
        let n = self.unknowns.len();
        let right = &self.transposed * &self.residual;
        for (local, &global) in self.unknowns.iter().enumerate() {
            rhs[global] += right[local];
        }
        for first in (0..n).step_by(BLOCK) {
            let width = BLOCK.min(n - first);
            // an explicit transpose is several times faster than `tr_mul`
            let block = self.transposed.rows(first, width).transpose();
            let product = self.transposed.rows(first, n - first) * block;
            for j in 0..width {
                let column = self.unknowns[first + j];
                for i in j..n - first {
                    let row = self.unknowns[first + i];
                    normal[(row.max(column), row.min(column))] += product[(i, j)];
                }
            }
        }
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
    fn blocks_add_up_to_the_plain_product() {
        let (n, rows) = (101, 37);
        let unknowns: Vec<usize> = (0..n).map(|i| (i * 7) % 113).collect();
        let mut set = Rows::new(unknowns.clone(), rows);
        for row in 0..rows {
            let (_, derivatives, residual) = set.row_mut(row);
            for (i, d) in derivatives.iter_mut().enumerate() {
                *d = ((i * 31 + row * 17) % 23) as f64 - 11.0;
            }
            *residual = (row % 5) as f64 - 2.0;
        }
        let mut normal = DMatrix::zeros(113, 113);
        let mut rhs = DVector::zeros(113);
        set.add_to(&mut normal, &mut rhs);
        let plain = &set.transposed * set.transposed.transpose();
        let plain_rhs = &set.transposed * &set.residual;
        for i in 0..n {
            assert_eq!(rhs[unknowns[i]], plain_rhs[i]);
            for j in 0..n {
                let (row, column) = (unknowns[i].max(unknowns[j]), unknowns[i].min(unknowns[j]));
                assert_eq!(normal[(row, column)], plain[(i, j)]);
            }
        }
    }
}
