//! Products and factors: what the fit asks of the linear-algebra library.

use std::ops::Range;

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// Rows of a weighted least-squares problem that share the same unknowns, kept as the columns of a
/// transposed Jacobian.
#[derive(Clone, Debug)]
pub(crate) struct Rows {
    transposed: DMatrix<f64>,
    residual: DVector<f64>,
    /// Which of all unknowns the columns are of, rising.
    unknowns: Vec<Range<usize>>,
    /// Place among all unknowns and column of each that the rows depend on, rising.
    places: Vec<(usize, usize)>,
}

/// Unknowns in one block of the product: wide enough for the fast kernel, narrow enough to skip
/// most of the upper triangle.
const BLOCK: usize = 48;

impl Rows {
    /// Room for `rows` rows of derivatives by `unknowns` (rising). The derivatives by `twins.0` are
    /// those by `twins.1`, which are among `unknowns`, and need no columns of their own.
    pub(crate) fn new(
        unknowns: Vec<Range<usize>>,
        twins: (Range<usize>, Range<usize>),
        rows: usize,
    ) -> Self {
        let mut places: Vec<(usize, usize)> = unknowns.iter().cloned().flatten().zip(0..).collect();
        let count = places.len();
        let column = |unknown| places.partition_point(|p| p.0 < unknown);
        let like: Vec<usize> = twins.1.map(column).collect();
        places.extend(twins.0.zip(like));
        places.sort_unstable();
        Self {
            transposed: DMatrix::zeros(count, rows),
            residual: DVector::zeros(rows),
            unknowns,
            places,
        }
    }

    /// Their unknowns; derivatives and residual of one row, to be filled in.
    pub(crate) fn row_mut(&mut self, row: usize) -> (&[Range<usize>], &mut [f64], &mut f64) {
        let n = self.transposed.nrows();
        let all = self.transposed.as_mut_slice();
        (
            &self.unknowns,
            &mut all[row * n..(row + 1) * n],
            &mut self.residual[row],
        )
    }

    /// JᵀJ (lower triangle) and Jᵀr among `all` unknowns.
    pub(crate) fn normal(&self, all: usize) -> (DMatrix<f64>, DVector<f64>) {
        let right = &self.transposed * &self.residual;
        let product = self.product();
        let mut normal = DMatrix::zeros(all, all);
        let mut rhs = DVector::zeros(all);
        for (before, &(j, at_j)) in self.places.iter().enumerate() {
            rhs[j] = right[at_j];
            let mut column = normal.column_mut(j);
            for &(i, at_i) in &self.places[before..] {
                column[i] = product[(at_i.max(at_j), at_i.min(at_j))];
            }
        }
        (normal, rhs)
    }

    /// JᵀJ (lower triangle) among the columns.
    fn product(&self) -> DMatrix<f64> {
        let n = self.transposed.nrows();
        // nalgebra has no symmetric rank-k update: blocks of columns skip most of the upper half
        let mut product = DMatrix::zeros(n, n);
        for first in (0..n).step_by(BLOCK) {
            let width = BLOCK.min(n - first);
            // an explicit transpose is several times faster than `tr_mul`
            let block = self.transposed.rows(first, width).transpose();
            let below = self.transposed.rows(first, n - first);
            below.mul_to(
                &block,
                &mut product.view_mut((first, first), (n - first, width)),
            );
        }
        product
    }
}

/// Factor of a symmetric positive definite matrix of which only the lower triangle is read.
#[derive(Clone, Debug)]
pub(crate) struct Factor(Cholesky<f64, Dyn>);

impl Factor {
    /// `None` if the matrix is not positive definite.
    pub(crate) fn new(matrix: DMatrix<f64>) -> Option<Self> {
        matrix.cholesky().map(Self)
    }

    /// Solves for one right-hand side.
    pub(crate) fn solve(&self, rhs: &DVector<f64>) -> DVector<f64> {
        self.0.solve(rhs)
    }

    /// gᵀA⁻¹g: with A = LLᵀ the squared length of L⁻¹g.
    pub(crate) fn inverse_form(&self, mut g: DVector<f64>) -> f64 {
        self.forward_substitution(g.as_mut_slice(), 0)
    }

    /// ln of the determinant.
    pub(crate) fn ln_determinant(&self) -> f64 {
        let l = self.0.l_dirty();
        (0..l.nrows()).map(|i| 2.0 * l[(i, i)].ln()).sum()
    }

    /// Diagonal of the inverse: the squared length of each column of L⁻¹.
    pub(crate) fn inverse_diagonal(&self) -> DVector<f64> {
        let n = self.0.l_dirty().nrows();
        let mut column = vec![0.0; n];
        DVector::from_fn(n, |j, _| {
            // a unit vector's solution is zero above its one, so each column starts lower
            column[j..].fill(0.0);
            column[j] = 1.0;
            self.forward_substitution(&mut column, j)
        })
    }

    /// Solves L·x = b in place, b being zero above `first`; the squared length of x.
    fn forward_substitution(&self, b: &mut [f64], first: usize) -> f64 {
        let l = self.0.l_dirty();
        let n = l.nrows();
        let mut sum = 0.0;
        for k in first..n {
            let below = &l.as_slice()[k * n..(k + 1) * n];
            b[k] /= below[k];
            let value = b[k];
            sum += value * value;
            for (c, factor) in b[k + 1..].iter_mut().zip(&below[k + 1..]) {
                *c -= value * factor;
            }
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the library's inverse.
    #[test]
    fn parts_of_the_inverse() {
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
        let wanted = -inverse.determinant().ln();
        let got = factor.ln_determinant();
        assert!((got - wanted).abs() < 1e-13, "got {got}, wanted {wanted}");
        let g = DVector::from_fn(n, |i, _| i as f64 - 2.5);
        let wanted = g.dot(&(&inverse * &g));
        let got = factor.inverse_form(g);
        assert!((got - wanted).abs() < 1e-13, "got {got}, wanted {wanted}");
    }

    /// Against the plain product of the library.
    #[test]
    fn blocks_make_the_plain_product() {
        let rows = 37;
        let unknowns = vec![2..40, 50..112, 112..113];
        let index: Vec<usize> = unknowns.iter().cloned().flatten().collect();
        let mut set = Rows::new(unknowns, (42..44, 36..38), rows);
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
        // twins with each other, and with unknowns before and after them
        for (row, column, like) in [
            (42, 42, (36, 36)),
            (43, 42, (37, 36)),
            (43, 36, (37, 36)),
            (42, 37, (37, 36)),
            (42, 5, (36, 5)),
            (60, 43, (60, 37)),
        ] {
            assert_eq!(normal[(row, column)], normal[like]);
        }
        assert_eq!(rhs[43], rhs[37]);
    }
}
