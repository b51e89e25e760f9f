//! What ends the cable: its reflection, with derivatives.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::super::antenna::{ANTENNA_UNKNOWNS, Branch};
use super::super::layout::{ANTENNA, FAR_MATCH, far_match_part};
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
        Kind::Antenna => antenna(point, jw),
        Kind::Through => End::new(far_match(point), &[]),
        Kind::Check(_) | Kind::Part(_) => End::default(),
    }
}

fn antenna(point: &Point, jw: Complex64) -> End {
    let first = point.layout.connection(point.set, ANTENNA).start;
    let mut y = jw * point.theta[AT.far_end.open];
    let mut by = [(AT.far_end.open, jw); ANTENNA_UNKNOWNS + 1];
    for (i, own) in by[1..].chunks_exact_mut(3).enumerate() {
        let at = first + 3 * i;
        let branch = Branch::of(&point.theta[at..at + 3]);
        let (of_branch, derivatives) = branch.admittance(point.freq_hz);
        y += of_branch;
        for (k, d) in derivatives.into_iter().enumerate() {
            own[k] = (at + k, d);
        }
    }
    let by_y = -2.0 / ((1.0 + y) * (1.0 + y));
    for (_, d) in &mut by {
        *d *= by_y;
    }
    End::new((1.0 - y) / (1.0 + y) + far_match(point), &by)
}

/// Reflection of port 2, or what another load has besides resistance and parasitics of a kit's, or an antenna besides
/// its branches.
fn far_match(point: &Point) -> Complex64 {
    let at = point.layout.connection(point.set, FAR_MATCH);
    far_match_part(point.kind(), point.freq_hz) * smooth_value(&point.theta[at], point.basis)
}

/// Reflection of the far end and its derivatives by single unknowns.
#[derive(Clone, Debug, Default)]
pub(crate) struct End {
    pub(crate) reflection: Complex64,
    by: [(usize, Complex64); ANTENNA_UNKNOWNS + 1],
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
