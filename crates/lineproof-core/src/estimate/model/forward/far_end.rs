//! What ends the cable: its reflection, with derivatives.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::super::layout::{FAR_MATCH, far_match_part};
use super::super::parameters::AT;
use super::super::reading::Kind;
use super::super::smooth::smooth_value;
use super::point::Point;

pub(crate) fn far_end(point: &Point) -> End {
    let theta = point.theta;
    let (standards, own) = (AT.standards, AT.far_end);
    let jw = Complex64::new(0.0, TAU * point.freq_hz);
    match point.kind() {
        Kind::Open => {
            let y = jw * (theta[standards.open] + theta[own.open]);
            let d = -2.0 * jw / ((1.0 + y) * (1.0 + y));
            End::new((1.0 - y) / (1.0 + y), &[(standards.open, d), (own.open, d)])
        }
        Kind::Short => {
            let z = jw * (theta[standards.short] + theta[own.short]);
            let d = 2.0 * jw / ((z + 1.0) * (z + 1.0));
            End::new(
                (z - 1.0) / (z + 1.0),
                &[(standards.short, d), (own.short, d)],
            )
        }
        Kind::Load | Kind::OtherLoad => {
            let r = theta[own.load_ln_r].exp();
            let z = r + jw * (theta[standards.load_l] + theta[own.load_l]);
            let y = 1.0 / z + jw * (theta[standards.load_c] + theta[own.load_c]);
            // d/dy of (1 − y)/(1 + y), and the chain rule from there
            let by_y = -2.0 / ((1.0 + y) * (1.0 + y));
            let (by_z, by_c) = (-by_y / (z * z), by_y * jw);
            let by = [
                (standards.load_l, by_z * jw),
                (own.load_l, by_z * jw),
                (standards.load_c, by_c),
                (own.load_c, by_c),
                (own.load_ln_r, by_z * r),
            ];
            let match_of_its_own = match point.kind() {
                Kind::OtherLoad => far_match(point),
                _ => Complex64::default(),
            };
            End::new((1.0 - y) / (1.0 + y) + match_of_its_own, &by)
        }
        Kind::Through => End::new(far_match(point), &[]),
        Kind::Check(_) | Kind::Part(_) => End::default(),
    }
}

/// Reflection of port 2, or what another load has besides resistance and parasitics of a kit's.
fn far_match(point: &Point) -> Complex64 {
    let at = point.layout.connection(point.set, FAR_MATCH);
    far_match_part(point.kind(), point.freq_hz) * smooth_value(&point.theta[at], point.basis)
}

/// Reflection of the far end and its derivatives by single unknowns.
#[derive(Clone, Debug, Default)]
pub(crate) struct End {
    pub(crate) reflection: Complex64,
    by: [(usize, Complex64); 5],
    count: usize,
}

impl End {
    fn new(reflection: Complex64, by: &[(usize, Complex64)]) -> Self {
        let mut end = Self {
            reflection,
            count: by.len(),
            ..Self::default()
        };
        end.by[..by.len()].copy_from_slice(by);
        end
    }

    /// Derivatives by unknowns.
    pub(crate) fn by(&self) -> &[(usize, Complex64)] {
        &self.by[..self.count]
    }
}
