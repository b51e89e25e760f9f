//! Several quantities with their covariance, taken through a function.
//!
//! [`propagate`] is the law of propagation of uncertainty with correlation for several outputs,
//! U_y = J U_x Jᵀ (JCGM 102:2011, 6.2; for one output JCGM 100:2008, 5.2).
//! [`propagate_second_order`] adds the next terms for normally distributed inputs; it is exact for
//! quadratic functions such as |Γ|², which the first order gets wrong near zero.

use nalgebra::{SMatrix, SVector};

use crate::uncertain::Uncertain;

/// Values with their covariance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correlated<const N: usize> {
    /// Best estimates.
    pub value: SVector<f64, N>,
    /// Covariance, symmetric; standard uncertainties squared on the diagonal.
    pub covariance: SMatrix<f64, N, N>,
}

impl<const N: usize> Correlated<N> {
    /// From values, standard uncertainties and correlation coefficients r(i, j).
    pub fn new(values: [Uncertain; N], correlation: impl Fn(usize, usize) -> f64) -> Self {
        Self {
            value: SVector::from(values.map(|q| q.value)),
            covariance: SMatrix::from_fn(|i, j| {
                let r = if i == j { 1.0 } else { correlation(i, j) };
                r * values[i].u * values[j].u
            }),
        }
    }

    /// One of the quantities by itself.
    pub fn component(&self, index: usize) -> Uncertain {
        Uncertain::new(
            self.value[index],
            self.covariance[(index, index)].max(0.0).sqrt(),
        )
    }

    /// Correlation coefficient of two of the quantities; `None` if one is exact.
    pub fn correlation(&self, i: usize, j: usize) -> Option<f64> {
        let r = self.covariance[(i, j)] / (self.component(i).u * self.component(j).u);
        r.is_finite().then_some(r)
    }
}

/// `f` of the quantities with first-order propagation. Derivatives are central differences of one
/// standard uncertainty each, as in JCGM 100:2008, 5.1.3 note 2.
pub fn propagate<const N: usize, const M: usize>(
    x: &Correlated<N>,
    f: impl Fn(&[f64; N]) -> [f64; M],
) -> Correlated<M> {
    let at = |value: SVector<f64, N>| SVector::from(f(&value.into()));
    let mut jacobian = SMatrix::<f64, M, N>::zeros();
    for i in 0..N {
        let step = unit(i) * x.component(i).u;
        if step[i] > 0.0 {
            let slope = (at(x.value + step) - at(x.value - step)) / (2.0 * step[i]);
            jacobian.set_column(i, &slope);
        }
    }
    Correlated {
        value: at(x.value),
        covariance: jacobian * x.covariance * jacobian.transpose(),
    }
}

/// `f` of normally distributed quantities with second-order propagation: mean f + ½tr(HU),
/// variance gᵀUg + ½tr(HUHU) with gradient g and second derivatives H.
///
/// Exact for quadratic `f`. The mean differs from `f` at the mean: a reflection of zero with
/// standard uncertainty u in both parts has a mean square of 2u² (JCGM 101:2008, 9.4).
pub fn propagate_second_order<const N: usize>(
    x: &Correlated<N>,
    f: impl Fn(&[f64; N]) -> f64,
) -> Uncertain {
    let at = |value: SVector<f64, N>| f(&value.into());
    let centre = at(x.value);
    let step = SVector::<f64, N>::from_fn(|i, _| x.component(i).u);
    let gradient = SVector::<f64, N>::from_fn(|i, _| {
        let e = unit(i) * step[i];
        quotient(at(x.value + e) - at(x.value - e), 2.0 * step[i])
    });
    let curvature = SMatrix::<f64, N, N>::from_fn(|i, j| {
        let (a, b) = (unit(i) * step[i], unit(j) * step[j]);
        let difference = if i == j {
            at(x.value + a) - 2.0 * centre + at(x.value - a)
        } else {
            0.25 * (at(x.value + a + b) - at(x.value + a - b) - at(x.value - a + b)
                + at(x.value - a - b))
        };
        quotient(difference, step[i] * step[j])
    });
    let spread = curvature * x.covariance;
    let variance =
        (gradient.transpose() * x.covariance * gradient)[0] + 0.5 * (spread * spread).trace();
    Uncertain::new(centre + 0.5 * spread.trace(), variance.max(0.0).sqrt())
}

fn unit<const N: usize>(index: usize) -> SVector<f64, N> {
    SVector::from_fn(|i, _| if i == index { 1.0 } else { 0.0 })
}

/// Zero for an exact quantity, whose derivative does not count.
fn quotient(difference: f64, step: f64) -> f64 {
    if step > 0.0 { difference / step } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fully_correlated_errors_cancel_in_a_difference() {
        let pair = [Uncertain::new(3.0, 0.1), Uncertain::new(2.0, 0.1)];
        let together = Correlated::new(pair, |_, _| 1.0);
        let difference = propagate(&together, |&[a, b]| [a - b]);
        assert!(difference.component(0).u < 1e-9);
        let alone = Correlated::new(pair, |_, _| 0.0);
        let u = propagate(&alone, |&[a, b]| [a - b]).component(0).u;
        assert!((u - 0.1 * 2f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn an_exact_quantity_adds_nothing() {
        let x = Correlated::new([Uncertain::exact(2.0), Uncertain::new(1.0, 0.1)], |_, _| {
            0.0
        });
        let product = propagate_second_order(&x, |&[a, b]| a * b);
        assert!((product.u - 0.2).abs() < 1e-12);
        assert_eq!(propagate(&x, |&[a, b]| [a, b]).correlation(0, 1), None);
    }
}
