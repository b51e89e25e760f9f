//! Equations of the readings: residuals, derivatives, and their products for each noise level.
//!
//! They know nothing of hyperparameters, so that a change of these needs no new look at the readings.

use std::sync::Arc;

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::super::model::{Forward, Grid, Kind, Layout, Readings, smooth_basis};
use super::linear::Rows;

/// Room for the equations of a reading set, kept so that no step allocates it anew.
pub(crate) struct Workspace {
    /// Smooth functions' terms at every frequency.
    pub(crate) basis: Arc<[Complex64]>,
    /// Rows of each of its noise levels.
    pub(crate) rows: Vec<Rows>,
    pub(crate) forward: Forward,
}

/// Noise relative to its size at total reflection: an additive and a proportional part.
pub(crate) fn noise_shape(reading: Complex64) -> f64 {
    const ADDITIVE: f64 = 0.25;
    ((ADDITIVE + reading.norm_sqr()) / (1.0 + ADDITIVE)).sqrt()
}

/// Equations of the readings of one noise level, for noise of 1 at total reflection.
#[derive(Clone, Debug)]
pub(crate) struct Block {
    /// JᵀJ, lower triangle.
    pub(crate) normal: DMatrix<f64>,
    pub(crate) rhs: DVector<f64>,
    pub(crate) residuals: Residuals,
}

/// What `make` gives for every reading set's frequencies; sets of one grid share it.
pub(crate) fn for_each_grid<T>(
    readings: &[Readings],
    make: impl Fn(&[f64]) -> Arc<[T]>,
) -> Vec<Arc<[T]>> {
    // sweeps of one cable share their grid nearly always: one line and one basis serve all
    let mut made: Vec<Arc<[T]>> = Vec::new();
    for (set, this) in readings.iter().enumerate() {
        let same = readings[..set]
            .iter()
            .position(|r| r.freq_hz == this.freq_hz);
        made.push(same.map_or_else(|| make(&this.freq_hz), |first| Arc::clone(&made[first])));
    }
    made
}

/// A workspace for every reading set.
pub(crate) fn workspaces(readings: &[Readings], layout: &Layout) -> Vec<Workspace> {
    let bases = for_each_grid(readings, |grid| {
        let terms = layout.terms;
        grid.iter().flat_map(|&f| smooth_basis(f, terms)).collect()
    });
    let workspace = |(set, (r, basis)): (usize, (&Readings, Arc<[Complex64]>))| {
        let unknowns = layout.unknowns_of(set);
        let of_set = Rows::new(unknowns, layout.twins_of(set), 2 * r.freq_hz.len());
        Workspace {
            basis,
            rows: vec![of_set; level_count(r.kind)],
            forward: Forward::default(),
        }
    };
    readings
        .iter()
        .zip(bases)
        .enumerate()
        .map(workspace)
        .collect()
}

/// The equations of each noise level of a reading set. `scale` is the unit of each unknown.
pub(crate) fn blocks(
    forward: &mut Forward,
    rows: &mut [Rows],
    grid: &Grid,
    readings: &Readings,
    scale: &[f64],
) -> Vec<Block> {
    let mut residuals = vec![Residuals::default(); rows.len()];
    forward.differentiate(grid, |i, p| {
        let m = readings.reflection[i];
        let (difference, shape) = (m - p.reflection, noise_shape(m));
        residuals[0].add(difference, shape);
        let by = &p.by_unknown;
        write(&mut rows[0], 2 * i, difference, by, scale, 1.0 / shape);
        if readings.kind == Kind::Through {
            let difference = readings.transmission[i] - p.transmission;
            residuals[1].add(difference, 1.0);
            let by = &p.transmission_by_unknown;
            write(&mut rows[1], 2 * i, difference, by, scale, 1.0);
        }
    });
    let block = |(rows, residuals): (&Rows, Residuals)| {
        let (normal, rhs) = rows.normal(scale.len());
        Block {
            normal,
            rhs,
            residuals,
        }
    };
    rows.iter().zip(residuals).map(block).collect()
}

/// Variance of a mean of `residuals` over that of independent ones of the same size:
/// 1 + 2 Σ ρ(k), with the correlations ρ from lag 1 to the last before one that chance can explain
/// (two standard deviations; Priestley, *Spectral Analysis and Time Series*, section 5.3). At least 1.
pub(crate) fn readings_alike(residuals: &[Complex64]) -> f64 {
    let power = |lag: usize| -> f64 {
        let pairs = residuals.iter().zip(residuals.iter().skip(lag));
        pairs.map(|(a, b)| a.re * b.re + a.im * b.im).sum()
    };
    // the real part of the complex autocorrelation: both parts of a reading together
    let whole = power(0);
    let chance = 2.0 / (2.0 * residuals.len() as f64).sqrt();
    // the sum stops at the first lag that chance explains: beyond it noise alone would add up
    let correlations = (1..residuals.len()).map(|lag| power(lag) / whole);
    1.0 + 2.0 * correlations.take_while(|&c| c > chance).sum::<f64>()
}

/// Noise levels of a reading set: a through sweep's transmission has its own.
fn level_count(kind: Kind) -> usize {
    if kind == Kind::Through { 2 } else { 1 }
}

/// Sums of squared complex residuals.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Residuals {
    pub(crate) plain: f64,
    /// Each divided by its noise's shape.
    pub(crate) weighted: f64,
    pub(crate) count: usize,
}

impl Residuals {
    fn add(&mut self, residual: Complex64, shape: f64) {
        self.plain += residual.norm_sqr();
        self.weighted += residual.norm_sqr() / (shape * shape);
        self.count += 1;
    }
}

/// Writes the two rows of one complex reading.
fn write(
    rows: &mut Rows,
    row: usize,
    difference: Complex64,
    by: &[Complex64],
    scale: &[f64],
    weight: f64,
) {
    for (part, value) in [difference.re, difference.im].into_iter().enumerate() {
        let (unknowns, derivatives, residual) = rows.row_mut(row + part);
        *residual = value * weight;
        let mut rest = derivatives;
        for range in unknowns {
            let (here, after) = rest.split_at_mut(range.len());
            rest = after;
            for ((d, b), s) in here
                .iter_mut()
                .zip(&by[range.clone()])
                .zip(&scale[range.clone()])
            {
                *d = if part == 0 { b.re } else { b.im } * s * weight;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Residuals that each keep `part` of the one before, from a generator with a fixed seed.
    fn residuals(part: f64, count: usize) -> Vec<Complex64> {
        let mut state = 1_u64;
        let mut uniform = || {
            state = state
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        };
        let mut last = Complex64::default();
        let next = |_| {
            last = part * last + Complex64::new(uniform(), uniform());
            last
        };
        (0..count).map(next).collect()
    }

    /// A first-order process has the variance ratio (1 + p)/(1 - p) (Priestley, section 5.3).
    #[test]
    fn residuals_of_one_kind_count_for_fewer() {
        for (part, tolerance) in [(0.0, 0.02), (0.5, 0.2), (0.9, 3.0)] {
            let got = readings_alike(&residuals(part, 20_000));
            let wanted = (1.0 + part) / (1.0 - part);
            assert!(
                (got - wanted).abs() < tolerance,
                "{part}: got {got}, wanted {wanted}"
            );
        }
    }

    #[test]
    fn no_residuals_are_not_alike() {
        for none in [vec![], vec![Complex64::default(); 5]] {
            assert!((readings_alike(&none) - 1.0).abs() < 1e-12);
        }
    }
}
