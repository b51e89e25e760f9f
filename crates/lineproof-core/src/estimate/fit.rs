//! Damped Gauss–Newton on data and Gaussian priors, with the sizes of the priors by
//! expectation-maximisation between rounds.
//!
//! Minimises Σ|(reading − model)/σ|² + Σx², with x the unknowns in units of their priors. At the
//! minimum (JᵀJ + 1)⁻¹ is the covariance of x (Laplace's approximation).

use std::sync::Arc;

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::forward::{Forward, Grid, Prediction, Readings, smooth_basis};
use super::line_law::{LineLaw, LinePoint};
use super::solve::{Factor, Rows};
use super::unknowns::{Kind, Known, Layout, Level, Levels, Prior};
use crate::bench::KnownResidual;
use crate::parallel::prelude::*;

/// A fit at its minimum.
#[derive(Clone, Debug)]
pub(super) struct Fit {
    pub(super) layout: Layout,
    pub(super) theta: Vec<f64>,
    /// Factor of the inverse of θ's covariance, in units of the prior's scale.
    pub(super) information: Factor,
    pub(super) prior: Prior,
    /// rms of the complex residual of each noise level.
    pub(super) residual_rms: Vec<f64>,
    /// How many readings of each noise level say as much as one would if all were independent.
    pub(super) alike: Vec<f64>,
    pub(super) converged: bool,
}

/// A fit in progress.
pub(super) struct Problem<'a> {
    readings: &'a [Readings],
    layout: Layout,
    prior: Prior,
    pub(super) levels: Levels,
    place: Place,
    /// Cost at `place`, as far as it was minimised.
    pub(super) cost: f64,
    converged: bool,
    /// Most that the wander may be learnt to be.
    pub(super) most_wander: f64,
    /// What is known of the size of the shared errors besides.
    residual: KnownResidual,
    /// One for every reading set.
    looks: Vec<Look>,
}

/// What a look at a reading set takes, kept so that no step allocates it anew.
struct Look {
    /// Smooth functions' terms at every frequency.
    basis: Arc<[Complex64]>,
    /// Rows of each of its noise levels.
    rows: Vec<Rows>,
    forward: Forward,
}

/// A step that lowers the cost by less than this is the last one: a tenth of what one standard
/// deviation of one unknown costs.
const COST_TOLERANCE: f64 = 0.1;
/// A step that promises less than this and then gains less than [`COST_TOLERANCE`] is the last one
/// too.
const CURVED_TOLERANCE: f64 = 0.5;
/// Length of a step, in units of the prior, below which no step helps any more.
const LEAST_RADIUS: f64 = 1e-6;
/// By how much a step may be longer than its radius, and how often its damping is corrected.
const NEAR_ENOUGH: f64 = 1.2;
const MOST_DAMPINGS: usize = 8;
/// Part of the promised gain above which the next step may be longer, and below which it must be
/// shorter.
const GOOD_GAIN: f64 = 0.75;
const POOR_GAIN: f64 = 0.25;
/// How many times the noise may be what is left before it is far too small.
const FAR_TOO_SMALL: f64 = 2.0;
/// Steps between two corrections of the levels.
const STEPS_PER_ROUND: usize = 4;

/// What a small analyser's noise can be (complex rms at total reflection).
const NOISE_RANGE: (f64, f64) = (2e-5, 0.05);
/// What calibration and drift can leave.
const SHARED_RANGE: (f64, f64) = (1e-4, 0.03);
/// What a connection can differ by from the last one.
const CONNECTION_RANGE: (f64, f64) = (3e-5, 0.02);
/// rms of ln z along a cable.
const WANDER_RANGE: (f64, f64) = (3e-4, 0.1);

/// Noise relative to its size at total reflection: an additive and a proportional part.
pub(super) fn noise_shape(reading: Complex64) -> f64 {
    const ADDITIVE: f64 = 0.25;
    ((ADDITIVE + reading.norm_sqr()) / (1.0 + ADDITIVE)).sqrt()
}

/// Unknowns with the readings' equations there. The equations know nothing of levels, so that a
/// change of levels needs no new look at the readings.
#[derive(Clone, Debug, Default)]
struct Place {
    theta: Vec<f64>,
    /// Unit of each unknown in the blocks.
    unit: Vec<f64>,
    /// One for each noise level; empty before the readings were looked at.
    blocks: Vec<Block>,
}

/// Equations of the readings of one noise level, for noise of 1 at total reflection.
#[derive(Clone, Debug)]
struct Block {
    /// JᵀJ, lower triangle.
    normal: DMatrix<f64>,
    rhs: DVector<f64>,
    residuals: Residuals,
}

/// Normal equations with levels and prior: in units of the prior's scale.
struct Equations {
    /// JᵀJ + 1, lower triangle.
    normal: DMatrix<f64>,
    rhs: DVector<f64>,
    cost: f64,
}

impl<'a> Problem<'a> {
    /// Starts at the prior's mean but for the unknowns of which `start` gives a value.
    pub(super) fn new(
        readings: &'a [Readings],
        layout: Layout,
        levels: Levels,
        known: Known,
        start: &[(usize, f64)],
    ) -> Self {
        let prior = Prior::new(&layout, &levels, known);
        let mut theta = prior.mean.clone();
        for &(index, value) in start {
            theta[index] = value;
        }
        Self {
            looks: looks(readings, &layout),
            readings,
            layout,
            prior,
            levels,
            place: Place {
                theta,
                ..Place::default()
            },
            cost: f64::INFINITY,
            converged: false,
            most_wander: WANDER_RANGE.1,
            residual: known.plane.residual,
        }
    }

    /// The unknowns themselves.
    pub(super) fn theta(&self) -> &[f64] {
        &self.place.theta
    }

    /// Whether the last [`Problem::minimise`] came to rest.
    pub(super) fn converged(&self) -> bool {
        self.converged
    }

    /// Gauss–Newton at the present levels, at most `most_steps`.
    pub(super) fn minimise(&mut self, most_steps: usize) {
        let mut place = std::mem::take(&mut self.place);
        if place.blocks.is_empty() {
            place = self.linearise(place.theta);
        }
        let mut here = self.equations(&place);
        let mut radius = f64::INFINITY;
        self.converged = false;
        for _ in 0..most_steps {
            let Some(step) = Step::within(radius, &here) else {
                break;
            };
            if step.whole_promise < COST_TOLERANCE {
                self.converged = true;
                break;
            }
            let trial = self.linearise(self.moved(&place.theta, &step.x));
            let there = self.equations(&trial);
            let gain = here.cost - there.cost;
            radius = step.next_radius(gain, radius);
            if gain > 0.0 {
                (place, here) = (trial, there);
            }
            // what is left to gain is curvature, below anything that an interval shows
            self.converged = step.whole_promise < CURVED_TOLERANCE && gain < COST_TOLERANCE;
            if self.converged || radius < LEAST_RADIUS {
                break;
            }
        }
        self.cost = here.cost;
        self.place = place;
    }

    /// The cost at other levels, some steps on. Unknowns and levels stay as they are.
    pub(super) fn cost_at(&mut self, levels: &Levels, steps: usize) -> f64 {
        let own = (
            self.levels.clone(),
            self.place.clone(),
            self.cost,
            self.converged,
        );
        self.set_levels(levels.clone());
        self.minimise(steps);
        let cost = self.cost;
        let levels;
        (levels, self.place, self.cost, self.converged) = own;
        self.set_levels(levels);
        cost
    }

    fn set_levels(&mut self, levels: Levels) {
        self.levels = levels;
        self.prior.set_levels(&self.layout, &self.levels);
    }

    /// Noise that was learnt elsewhere and is far too small here is what is left here.
    pub(super) fn raise_noise(&mut self) {
        self.minimise(0);
        for (noise, block) in self.levels.noise.iter_mut().zip(&self.place.blocks) {
            let rms = (block.residuals.weighted / block.residuals.count as f64).sqrt();
            if rms > FAR_TOO_SMALL * *noise {
                *noise = rms.min(NOISE_RANGE.1);
            }
        }
    }

    /// Corrects the levels and minimises again, `rounds` times. `None` if the normal matrix is not
    /// positive definite, which only overflow can bring about.
    pub(super) fn learn_levels(&mut self, rounds: usize) -> Option<()> {
        for _ in 0..rounds {
            let normal = self.equations(&self.place).normal;
            let variance = Factor::new(normal)?.inverse_diagonal();
            self.correct_levels(&variance);
            self.minimise(STEPS_PER_ROUND);
        }
        Some(())
    }

    /// Logarithm of the evidence by Laplace's approximation, but for a constant that only the
    /// readings determine: how well this model explains them, less what its freedom costs
    /// (MacKay, *Information Theory, Inference, and Learning Algorithms*, ch. 27 and 28). `None` as
    /// [`Problem::learn_levels`].
    pub(super) fn log_evidence(&self) -> Option<f64> {
        let here = self.equations(&self.place);
        let factor = Factor::new(here.normal)?;
        let blocks = self.place.blocks.iter().zip(&self.levels.noise);
        let noise: f64 = blocks
            .map(|(block, noise)| block.residuals.count as f64 * 2.0 * noise.ln())
            .sum();
        Some(-0.5 * here.cost - 0.5 * factor.ln_determinant() - noise)
    }

    /// The last step, the covariance and what is left. Where neighbouring residuals are alike, the
    /// model lacks something that is smooth in frequency, and the covariance is that of as many
    /// readings as there would be if they were independent. `None` as [`Problem::learn_levels`].
    pub(super) fn finish(mut self) -> Option<Fit> {
        let here = self.equations(&self.place);
        let mut theta = self.place.theta.clone();
        if let Some(step) = Step::within(f64::INFINITY, &here)
            && step.whole_promise < COST_TOLERANCE
        {
            theta = self.moved(&theta, &step.x);
        }
        let rms = |b: &Block| (b.residuals.plain / b.residuals.count as f64).sqrt();
        let alike = self.alike();
        for (noise, alike) in self.levels.noise.iter_mut().zip(&alike) {
            *noise *= alike.sqrt();
        }
        Some(Fit {
            residual_rms: self.place.blocks.iter().map(rms).collect(),
            information: Factor::new(self.equations(&self.place).normal)?,
            alike,
            layout: self.layout,
            theta,
            prior: self.prior,
            converged: self.converged,
        })
    }

    /// [`readings_alike`] of every noise level.
    fn alike(&mut self) -> Vec<f64> {
        let (layout, theta) = (&self.layout, &self.place.theta);
        let mut alike = Vec::new();
        for (set, (readings, look)) in self.readings.iter().zip(&mut self.looks).enumerate() {
            let (mut reflected, mut transmitted) = (Vec::new(), Vec::new());
            let each = |i: usize, p: &Prediction| {
                let m = readings.reflection[i];
                reflected.push((m - p.reflection) / noise_shape(m));
                if let Some(m) = readings.transmission.get(i) {
                    transmitted.push(m - p.transmission);
                }
            };
            look.forward
                .predict(layout, theta, set, &readings.freq_hz, each);
            alike.push(readings_alike(&reflected));
            if readings.kind == Kind::Through {
                alike.push(readings_alike(&transmitted));
            }
        }
        alike
    }

    /// Unknowns after a step in units of the prior.
    fn moved(&self, theta: &[f64], step: &DVector<f64>) -> Vec<f64> {
        let scaled = self.prior.scale.iter().zip(step.iter());
        theta
            .iter()
            .zip(scaled)
            .map(|(t, (s, x))| t + s * x)
            .collect()
    }

    /// The equations of a place at the present levels.
    fn equations(&self, place: &Place) -> Equations {
        let n = place.theta.len();
        let Prior { mean, scale } = &self.prior;
        let x = DVector::from_fn(n, |i, _| (place.theta[i] - mean[i]) / scale[i]);
        let factor = DVector::from_fn(n, |i, _| scale[i] / place.unit[i]);
        let mut normal = DMatrix::zeros(n, n);
        let mut rhs = DVector::zeros(n);
        let mut cost = x.norm_squared();
        for (block, noise) in place.blocks.iter().zip(&self.levels.noise) {
            // noise is stated for the complex reading; each part has half its variance
            let weight = 2.0 / (noise * noise);
            normal.zip_apply(&block.normal, |sum, a| *sum += weight * a);
            rhs.axpy(weight, &block.rhs, 1.0);
            cost += weight * block.residuals.weighted;
        }
        for j in 0..n {
            let mut column = normal.column_mut(j);
            for i in j..n {
                column[i] *= factor[i] * factor[j];
            }
            column[j] += 1.0;
        }
        rhs.component_mul_assign(&factor);
        Equations {
            normal,
            rhs: rhs - x,
            cost,
        }
    }

    /// The line at every frequency of every reading set; sets of one grid share them.
    fn lines(&self, theta: &[f64]) -> Vec<Arc<[LinePoint]>> {
        let law = LineLaw::of_unknowns(theta);
        for_each_grid(self.readings, |grid| {
            grid.iter().map(|&f| law.at(f)).collect()
        })
    }

    /// Looks at the readings from `theta`, at every set by itself.
    fn linearise(&mut self, theta: Vec<f64>) -> Place {
        let lines = self.lines(&theta);
        let (layout, scale) = (&self.layout, &self.prior.scale);
        let sets = self.readings.par_iter().zip(&mut self.looks).enumerate();
        let blocks = sets
            .flat_map_iter(|(set, (readings, look))| {
                let grid = Grid {
                    layout,
                    theta: &theta,
                    set,
                    freq_hz: &readings.freq_hz,
                    lines: &lines[set],
                    bases: &look.basis,
                };
                blocks(&mut look.forward, &mut look.rows, &grid, readings, scale)
            })
            .collect();
        let mut unit = self.prior.scale.clone();
        for set in 0..self.layout.kinds.len() {
            let (own, shared) = self.layout.twins_of(set);
            unit.copy_within(shared, own.start);
        }
        Place {
            theta,
            unit,
            blocks,
        }
    }

    /// One step of expectation-maximisation on the levels, each within what can be.
    fn correct_levels(&mut self, variance: &DVector<f64>) {
        let blocks = &self.place.blocks;
        // unknowns that the data use up: trace of JᵀJ·C, shared among the sets by their readings
        let used = variance.len() as f64 - variance.sum();
        let total: usize = blocks.iter().map(|b| 2 * b.residuals.count).sum();
        let free = (1.0 - used / total as f64).max(0.1);
        for (level, block) in self.levels.noise.iter_mut().zip(blocks) {
            let square = block.residuals.weighted / (block.residuals.count as f64 * free);
            *level = square.sqrt().clamp(NOISE_RANGE.0, NOISE_RANGE.1);
        }
        for (level, range) in [
            (Level::Shared, SHARED_RANGE),
            (Level::Connection, CONNECTION_RANGE),
            (Level::Wander, (WANDER_RANGE.0, self.most_wander)),
        ] {
            let of = self.layout.of_level(level);
            let Prior { mean, scale } = &self.prior;
            let x = |i: usize| (self.place.theta[i] - mean[i]) / scale[i];
            let second = |&i: &usize| x(i).powi(2) + variance[i];
            let size = self.levels.size_mut(level);
            let (more, count) = match level {
                Level::Shared => seen(self.residual, *size),
                _ => (0.0, 0.0),
            };
            let sum = of.iter().map(second).sum::<f64>() + more;
            let mean_square = sum / (of.len() as f64 + count);
            *size = (*size * mean_square.sqrt()).clamp(range.0, range.1);
        }
        self.prior.set_levels(&self.layout, &self.levels);
    }
}

/// Squares of a size that was seen elsewhere, in units of `size`, with their number: as if so many
/// unknowns more had been found (the conjugate prior of a variance; Gelman et al., *Bayesian Data
/// Analysis*, section 2.6).
fn seen(known: KnownResidual, size: f64) -> (f64, f64) {
    let count = 2.0 * known.values;
    (count * (known.directivity / size).powi(2), count)
}

/// What `make` gives for every reading set's frequencies; sets of one grid share it.
fn for_each_grid<T>(readings: &[Readings], make: impl Fn(&[f64]) -> Arc<[T]>) -> Vec<Arc<[T]>> {
    let mut made: Vec<Arc<[T]>> = Vec::new();
    for (set, this) in readings.iter().enumerate() {
        let same = readings[..set]
            .iter()
            .position(|r| r.freq_hz == this.freq_hz);
        made.push(same.map_or_else(|| make(&this.freq_hz), |first| Arc::clone(&made[first])));
    }
    made
}

/// Room for a look at every reading set.
fn looks(readings: &[Readings], layout: &Layout) -> Vec<Look> {
    let bases = for_each_grid(readings, |grid| {
        let terms = layout.terms;
        grid.iter().flat_map(|&f| smooth_basis(f, terms)).collect()
    });
    let look = |(set, (r, basis)): (usize, (&Readings, Arc<[Complex64]>))| {
        let unknowns = layout.unknowns_of(set);
        let of_set = Rows::new(unknowns, layout.twins_of(set), 2 * r.freq_hz.len());
        Look {
            basis,
            rows: vec![of_set; noise_levels(r.kind)],
            forward: Forward::default(),
        }
    };
    readings.iter().zip(bases).enumerate().map(look).collect()
}

/// The equations of each noise level of a reading set. `scale` is the unit of each unknown.
fn blocks(
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
fn readings_alike(residuals: &[Complex64]) -> f64 {
    let power = |lag: usize| -> f64 {
        let pairs = residuals.iter().zip(residuals.iter().skip(lag));
        pairs.map(|(a, b)| a.re * b.re + a.im * b.im).sum()
    };
    let whole = power(0);
    let chance = 2.0 / (2.0 * residuals.len() as f64).sqrt();
    let correlations = (1..residuals.len()).map(|lag| power(lag) / whole);
    1.0 + 2.0 * correlations.take_while(|&c| c > chance).sum::<f64>()
}

/// Noise levels of a reading set: a through sweep's transmission has its own.
fn noise_levels(kind: Kind) -> usize {
    if kind == Kind::Through { 2 } else { 1 }
}

/// Sums of squared complex residuals.
#[derive(Clone, Copy, Debug, Default)]
struct Residuals {
    plain: f64,
    /// Each divided by its noise's shape.
    weighted: f64,
    count: usize,
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

/// A step of Gauss–Newton that stays where the equations can be trusted.
struct Step {
    /// In units of the prior.
    x: DVector<f64>,
    /// By how much the linearised cost falls.
    promise: f64,
    /// The same for the step that nothing holds back.
    whole_promise: f64,
}

impl Step {
    /// The step of the lowest linearised cost among those no longer than `radius` (Moré, *The
    /// Levenberg–Marquardt algorithm: implementation and theory*, 1978: damping by Newton's method
    /// on the inverse of the length). `None` if the normal matrix is not positive definite.
    fn within(radius: f64, here: &Equations) -> Option<Self> {
        let mut factor = Factor::new(here.normal.clone())?;
        let mut x = factor.solve(&here.rhs);
        let whole_promise = x.dot(&here.rhs);
        let mut damping = 0.0;
        for _ in 0..MOST_DAMPINGS {
            let length = x.norm();
            if length <= NEAR_ENOUGH * radius {
                break;
            }
            let square = length * length;
            damping += square / factor.inverse_form(x) * (length / radius - 1.0);
            let mut damped = here.normal.clone();
            for i in 0..damped.nrows() {
                damped[(i, i)] += damping;
            }
            factor = Factor::new(damped)?;
            x = factor.solve(&here.rhs);
        }
        let promise = x.dot(&here.rhs) + damping * x.norm_squared();
        Some(Self {
            x,
            promise,
            whole_promise,
        })
    }

    /// How far the next step may go after this one gained `gain`.
    fn next_radius(&self, gain: f64, radius: f64) -> f64 {
        let length = self.x.norm();
        if gain > GOOD_GAIN * self.promise {
            radius.max(2.0 * length)
        } else if gain > POOR_GAIN * self.promise {
            radius
        } else {
            // the lowest point of the parabola through both costs, of slope −2·promise here
            let part = self.promise / (2.0 * self.promise - gain);
            length
                * if part.is_finite() {
                    part.clamp(0.1, 0.5)
                } else {
                    0.1
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

    /// An open plane, which no cable of 3 ns reads as.
    fn of_no_cable() -> [Readings; 1] {
        let freq_hz: Vec<f64> = (1..40).map(|i| 1e7 * f64::from(i)).collect();
        [Readings {
            kind: Kind::Open,
            reflection: vec![1.0.into(); freq_hz.len()],
            transmission: Vec::new(),
            freq_hz,
        }]
    }

    fn problem(readings: &[Readings], noise: f64) -> Problem<'_> {
        let layout = Layout {
            kinds: vec![Kind::Open],
            terms: 4,
            nodes: 8,
            faults: Vec::new(),
            covered_hz: (1e7, 3.9e8),
        };
        let levels = Levels {
            shared: 1e-3,
            connection: 5e-4,
            wander: 3e-3,
            noise: vec![noise],
        };
        let known = Known::of_delay(3e-9);
        Problem::new(readings, layout, levels, known, &[])
    }

    #[test]
    fn a_look_at_other_levels_leaves_no_trace() {
        let readings = of_no_cable();
        let mut problem = problem(&readings, 1e-2);
        problem.minimise(3);
        let (theta, cost) = (problem.theta().to_vec(), problem.cost);
        let louder = Levels {
            noise: vec![1e-1],
            shared: 1e-2,
            ..problem.levels.clone()
        };
        assert!(problem.cost_at(&louder, 3) < 0.1 * cost);
        assert_eq!((problem.theta(), problem.cost), (&*theta, cost));
        problem.minimise(0);
        assert!((problem.cost - cost).abs() < 1e-9 * cost);
    }

    #[test]
    fn only_noise_that_is_far_too_small_is_raised() {
        let readings = of_no_cable();
        let mut far_too_small = problem(&readings, 1e-4);
        far_too_small.raise_noise();
        assert_eq!(far_too_small.levels.noise, [NOISE_RANGE.1]);
        let mut fair = problem(&readings, 1.0);
        fair.raise_noise();
        assert_eq!(fair.levels.noise, [1.0]);
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
