//! Damped Gauss–Newton on data and Gaussian priors, with the sizes of the priors by
//! expectation-maximisation between rounds.
//!
//! Minimises Σ|(reading − model)/σ|² + Σx², with x the unknowns in units of their priors. At the
//! minimum (JᵀJ + 1)⁻¹ is the covariance of x (Laplace's approximation).

use std::sync::Arc;

use nalgebra::{DMatrix, DVector};

use super::super::model::{Grid, Kind, Layout, LineLaw, LinePoint, Prediction, Readings};
use super::super::prior::{Hyperparameters, Known, Level, Prior};
use super::equations::{
    Block, Workspace, blocks, for_each_grid, noise_shape, readings_alike, workspaces,
};
use super::linear::Factor;
use super::step::{Equations, Step};
use crate::bench::KnownResidual;
use crate::parallel::prelude::*;

/// A fit at its minimum.
#[derive(Clone, Debug)]
pub(crate) struct Fit {
    pub(crate) layout: Layout,
    pub(crate) theta: Vec<f64>,
    /// Factor of the inverse of θ's covariance, in units of the prior's scale.
    pub(crate) information: Factor,
    pub(crate) prior: Prior,
    /// As they were learnt, the noise not yet multiplied for readings that are alike.
    pub(crate) hyperparameters: Hyperparameters,
    /// rms of the complex residual of each noise level.
    pub(crate) residual_rms: Vec<f64>,
    /// How many readings of each noise level say as much as one would if all were independent.
    pub(crate) alike: Vec<f64>,
    pub(crate) converged: bool,
}

/// A fit in progress.
pub(crate) struct Problem<'a> {
    readings: &'a [Readings],
    layout: Layout,
    prior: Prior,
    pub(crate) hyperparameters: Hyperparameters,
    place: Place,
    /// Cost at `place`, as far as it was minimised.
    pub(crate) cost: f64,
    converged: bool,
    /// Most that the wander may be learnt to be.
    pub(crate) most_wander: f64,
    /// What is known of the size of the shared errors besides.
    residual: KnownResidual,
    /// One for every reading set.
    workspaces: Vec<Workspace>,
}

/// A step that lowers the cost by less than this is the last one: a tenth of what one standard
/// deviation of one unknown costs.
const COST_TOLERANCE: f64 = 0.1;
/// A step that promises less than this and then gains less than [`COST_TOLERANCE`] is the last one
/// too.
const CURVED_TOLERANCE: f64 = 0.5;
/// Length of a step, in units of the prior, below which no step helps any more.
const LEAST_RADIUS: f64 = 1e-6;
/// How many times the noise may be what is left before it is far too small.
const FAR_TOO_SMALL: f64 = 2.0;
/// Steps between two corrections of the hyperparameters.
const STEPS_PER_ROUND: usize = 4;

/// What a small analyser's noise can be (complex rms at total reflection).
const NOISE_RANGE: (f64, f64) = (2e-5, 0.05);
/// What calibration and drift can leave.
const SHARED_RANGE: (f64, f64) = (1e-4, 0.03);
/// What a connection can differ by from the last one.
const CONNECTION_RANGE: (f64, f64) = (3e-5, 0.02);
/// What may differ from band to band.
const BANDS_RANGE: (f64, f64) = (3e-5, 0.03);
/// rms of ln z along a cable.
const WANDER_RANGE: (f64, f64) = (3e-4, 0.1);

/// Unknowns with the readings' equations there. The equations know nothing of hyperparameters, so that a
/// change of hyperparameters needs no new look at the readings.
#[derive(Clone, Debug, Default)]
struct Place {
    theta: Vec<f64>,
    /// Unit of each unknown in the blocks.
    unit: Vec<f64>,
    /// One for each noise level; empty before the readings were looked at.
    blocks: Vec<Block>,
}

impl<'a> Problem<'a> {
    /// Starts at the prior's mean but for the unknowns of which `start` gives a value.
    pub(crate) fn new(
        readings: &'a [Readings],
        layout: Layout,
        hyperparameters: Hyperparameters,
        known: Known,
        start: &[(usize, f64)],
    ) -> Self {
        let prior = Prior::new(&layout, &hyperparameters, &known);
        let mut theta = prior.mean.clone();
        for &(index, value) in start {
            theta[index] = value;
        }
        Self {
            workspaces: workspaces(readings, &layout),
            readings,
            layout,
            prior,
            hyperparameters,
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
    pub(crate) fn theta(&self) -> &[f64] {
        &self.place.theta
    }

    /// Whether the last [`Problem::minimise`] came to rest.
    pub(crate) fn converged(&self) -> bool {
        self.converged
    }

    /// Gauss–Newton at the present hyperparameters, at most `most_steps`.
    pub(crate) fn minimise(&mut self, most_steps: usize) {
        let mut place = std::mem::take(&mut self.place);
        if place.blocks.is_empty() {
            place = self.linearise(place.theta);
        }
        let mut here = self.equations(&place);
        // the first step is free: the prior alone keeps it finite
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
            // a step that costs more is forgotten, but its radius is kept: the next one is shorter
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

    /// The cost at other hyperparameters, some steps on. Unknowns and hyperparameters stay as they are.
    pub(crate) fn cost_at(&mut self, hyperparameters: &Hyperparameters, steps: usize) -> f64 {
        // a clone of the equations is cheaper than a new look at the readings
        let own = (
            self.hyperparameters.clone(),
            self.place.clone(),
            self.cost,
            self.converged,
        );
        self.set_hyperparameters(hyperparameters.clone());
        self.minimise(steps);
        let cost = self.cost;
        let hyperparameters;
        (hyperparameters, self.place, self.cost, self.converged) = own;
        self.set_hyperparameters(hyperparameters);
        cost
    }

    fn set_hyperparameters(&mut self, hyperparameters: Hyperparameters) {
        self.hyperparameters = hyperparameters;
        self.prior
            .set_hyperparameters(&self.layout, &self.hyperparameters);
    }

    /// Noise that was learnt elsewhere and is far too small here is what is left here.
    pub(crate) fn raise_noise(&mut self) {
        self.minimise(0);
        for (noise, block) in self
            .hyperparameters
            .noise
            .iter_mut()
            .zip(&self.place.blocks)
        {
            let rms = (block.residuals.weighted / block.residuals.count as f64).sqrt();
            // noise too small by half is mended by the rounds of EM; ten times is a false minimum's
            // doing
            if rms > FAR_TOO_SMALL * *noise {
                *noise = rms.min(NOISE_RANGE.1);
            }
        }
    }

    /// Corrects the hyperparameters and minimises again, `rounds` times. `None` if the normal matrix is not
    /// positive definite, which only overflow can bring about.
    pub(crate) fn learn_hyperparameters(&mut self, rounds: usize) -> Option<()> {
        for _ in 0..rounds {
            // EM: the sizes by the posterior's second moments, then the unknowns by the new sizes
            // (MacKay, ch. 28)
            let normal = self.equations(&self.place).normal;
            let variance = Factor::new(normal)?.inverse_diagonal();
            self.correct_hyperparameters(&variance);
            self.minimise(STEPS_PER_ROUND);
        }
        Some(())
    }

    /// Logarithm of the evidence by Laplace's approximation, but for a constant that only the
    /// readings determine: how well this model explains them, less what its freedom costs
    /// (MacKay, *Information Theory, Inference, and Learning Algorithms*, ch. 27 and 28). `None` as
    /// [`Problem::learn_hyperparameters`].
    pub(crate) fn log_evidence(&self) -> Option<f64> {
        let here = self.equations(&self.place);
        let factor = Factor::new(here.normal)?;
        // a complex reading has two parts, so its density holds 1/σ², not 1/σ
        let blocks = self.place.blocks.iter().zip(&self.hyperparameters.noise);
        let noise: f64 = blocks
            .map(|(block, noise)| block.residuals.count as f64 * 2.0 * noise.ln())
            .sum();
        Some(-0.5 * here.cost - 0.5 * factor.ln_determinant() - noise)
    }

    /// The last step, the covariance and what is left. Where neighbouring residuals are alike, the
    /// model lacks something that is smooth in frequency, and the covariance is that of as many
    /// readings as there would be if they were independent. `None` as [`Problem::learn_hyperparameters`].
    pub(crate) fn finish(mut self) -> Option<Fit> {
        let here = self.equations(&self.place);
        let mut theta = self.place.theta.clone();
        if let Some(step) = Step::within(f64::INFINITY, &here)
            && step.whole_promise < COST_TOLERANCE
        {
            theta = self.moved(&theta, &step.x);
        }
        let rms = |b: &Block| (b.residuals.plain / b.residuals.count as f64).sqrt();
        // only the covariance is widened: correlated residuals do not move the minimum
        let alike = self.alike();
        let hyperparameters = self.hyperparameters.clone();
        for (noise, alike) in self.hyperparameters.noise.iter_mut().zip(&alike) {
            *noise *= alike.sqrt();
        }
        Some(Fit {
            residual_rms: self.place.blocks.iter().map(rms).collect(),
            information: Factor::new(self.equations(&self.place).normal)?,
            alike,
            layout: self.layout,
            theta,
            prior: self.prior,
            hyperparameters,
            converged: self.converged,
        })
    }

    /// [`readings_alike`] of every noise level.
    fn alike(&mut self) -> Vec<f64> {
        let (layout, theta) = (&self.layout, &self.place.theta);
        let mut alike = Vec::new();
        for (set, (readings, workspace)) in
            self.readings.iter().zip(&mut self.workspaces).enumerate()
        {
            let (mut reflected, mut transmitted) = (Vec::new(), Vec::new());
            let each = |i: usize, p: &Prediction| {
                let m = readings.reflection[i];
                reflected.push((m - p.reflection) / noise_shape(m));
                if let Some(m) = readings.transmission.get(i) {
                    transmitted.push(m - p.transmission);
                }
            };
            workspace
                .forward
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

    /// The equations of a place at the present hyperparameters.
    fn equations(&self, place: &Place) -> Equations {
        let n = place.theta.len();
        let Prior { mean, scale, .. } = &self.prior;
        let x = DVector::from_fn(n, |i, _| (place.theta[i] - mean[i]) / scale[i]);
        // blocks were made in the units of an earlier prior; the ratio brings them to the present
        // one
        let factor = DVector::from_fn(n, |i, _| scale[i] / place.unit[i]);
        let mut normal = DMatrix::zeros(n, n);
        let mut rhs = DVector::zeros(n);
        let mut cost = x.norm_squared();
        for (block, noise) in place.blocks.iter().zip(&self.hyperparameters.noise) {
            // noise is stated for the complex reading; each part has half its variance
            let weight = 2.0 / (noise * noise);
            normal.zip_apply(&block.normal, |sum, a| *sum += weight * a);
            rhs.axpy(weight, &block.rhs, 1.0);
            cost += weight * block.residuals.weighted;
        }
        // only the lower triangle is filled and read, half the work
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
        let sets = self
            .readings
            .par_iter()
            .zip(&mut self.workspaces)
            .enumerate();
        let blocks = sets
            .flat_map_iter(|(set, (readings, workspace))| {
                let grid = Grid {
                    layout,
                    theta: &theta,
                    set,
                    freq_hz: &readings.freq_hz,
                    lines: &lines[set],
                    bases: &workspace.basis,
                };
                blocks(
                    &mut workspace.forward,
                    &mut workspace.rows,
                    &grid,
                    readings,
                    scale,
                )
            })
            .collect();
        let mut unit = self.prior.scale.clone();
        // a connection's columns are those of the shared errors, so they have their unit
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

    /// One step of expectation-maximisation on the hyperparameters, each within what can be.
    fn correct_hyperparameters(&mut self, variance: &DVector<f64>) {
        let blocks = &self.place.blocks;
        // unknowns that the data use up: trace of JᵀJ·C, shared among the sets by their readings
        let used = variance.len() as f64 - variance.sum();
        let total: usize = blocks.iter().map(|b| 2 * b.residuals.count).sum();
        let free = (1.0 - used / total as f64).max(0.1);
        for (level, block) in self.hyperparameters.noise.iter_mut().zip(blocks) {
            let square = block.residuals.weighted / (block.residuals.count as f64 * free);
            *level = square.sqrt().clamp(NOISE_RANGE.0, NOISE_RANGE.1);
        }
        for (level, range) in [
            (Level::Shared, SHARED_RANGE),
            (Level::Connection, CONNECTION_RANGE),
            (Level::Bands, BANDS_RANGE),
            (Level::Wander, (WANDER_RANGE.0, self.most_wander)),
        ] {
            let of = level.unknowns(&self.layout);
            let Prior { mean, scale, .. } = &self.prior;
            let x = |i: usize| (self.place.theta[i] - mean[i]) / scale[i];
            // the mean square of a normal posterior: its mean's square and its variance
            let second = |&i: &usize| x(i).powi(2) + variance[i];
            let size = self.hyperparameters.size_mut(level);
            let (more, count) = match level {
                Level::Shared => known_squares(self.residual, *size),
                _ => (0.0, 0.0),
            };
            let sum = of.iter().map(second).sum::<f64>() + more;
            let mean_square = sum / (of.len() as f64 + count);
            *size = (*size * mean_square.sqrt()).clamp(range.0, range.1);
        }
        self.prior
            .set_hyperparameters(&self.layout, &self.hyperparameters);
    }
}

/// Squares of a size that is known from elsewhere, in units of `size`, with their number: as if so many
/// unknowns more had been found (the conjugate prior of a variance; Gelman et al., *Bayesian Data
/// Analysis*, section 2.6).
fn known_squares(known: KnownResidual, size: f64) -> (f64, f64) {
    let count = 2.0 * known.values;
    (count * (known.directivity / size).powi(2), count)
}

#[cfg(test)]
mod tests {
    use super::*;

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
        let layout = Layout::new(vec![Kind::Open], 4, 8, (1e7, 3.9e8), Vec::new());
        let hyperparameters = Hyperparameters {
            shared: 1e-3,
            connection: 5e-4,
            bands: 3e-4,
            wander: 3e-3,
            noise: vec![noise],
        };
        let known = Known::of_delay(3e-9);
        Problem::new(readings, layout, hyperparameters, known, &[])
    }

    #[test]
    fn a_glance_at_other_hyperparameters_leaves_no_trace() {
        let readings = of_no_cable();
        let mut problem = problem(&readings, 1e-2);
        problem.minimise(3);
        let (theta, cost) = (problem.theta().to_vec(), problem.cost);
        let louder = Hyperparameters {
            noise: vec![1e-1],
            shared: 1e-2,
            ..problem.hyperparameters.clone()
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
        assert_eq!(far_too_small.hyperparameters.noise, [NOISE_RANGE.1]);
        let mut fair = problem(&readings, 1.0);
        fair.raise_noise();
        assert_eq!(fair.hyperparameters.noise, [1.0]);
    }
}
