//! Damped Gauss–Newton on data and Gaussian priors, with the sizes of the priors by
//! expectation-maximisation between rounds.
//!
//! Minimises Σ|(reading − model)/σ|² + Σx², with x the unknowns in units of their priors. At the
//! minimum (JᵀJ + 1)⁻¹ is the covariance of x (Laplace's approximation).

use std::f64::consts::SQRT_2;
use std::rc::Rc;

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::forward::{Forward, Point, Prediction, Readings, smooth_basis};
use super::line_law::{LineLaw, LinePoint, PARAMETERS};
use super::solve::{Factor, Rows};
use super::unknowns::{Kind, Known, Layout, Level, Levels, Prior, at};

/// A fit at its minimum.
#[derive(Clone, Debug)]
pub(super) struct Fit {
    pub(super) layout: Layout,
    pub(super) theta: Vec<f64>,
    /// Covariance of θ in units of the prior's scale.
    pub(super) covariance: DMatrix<f64>,
    pub(super) prior: Prior,
    /// rms of the complex residual of each reading set.
    pub(super) residual_rms: Vec<f64>,
    pub(super) converged: bool,
}

/// A fit in progress.
pub(super) struct Problem<'a> {
    readings: &'a [Readings],
    layout: Layout,
    prior: Prior,
    pub(super) levels: Levels,
    /// Unknowns in units of their priors.
    x: DVector<f64>,
    /// Cost at `x`, as far as it was minimised.
    pub(super) cost: f64,
    /// JᵀJ + 1 at the last step, lower triangle.
    normal: DMatrix<f64>,
    converged: bool,
    /// Smooth functions' terms at every frequency of every reading set.
    bases: Vec<Rc<[Complex64]>>,
    forward: Forward,
    prediction: Prediction,
}

/// A step that lowers the cost by less than this is the last one: a tenth of what one standard
/// deviation of one unknown costs.
const COST_TOLERANCE: f64 = 0.1;
/// A step that promises less than this and then gains less than [`COST_TOLERANCE`] is the last one
/// too.
const CURVED_TOLERANCE: f64 = 0.5;
/// Damping at which no step helps any more.
const MOST_DAMPING: f64 = 1e8;
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
fn noise_shape(reading: Complex64) -> f64 {
    const ADDITIVE: f64 = 0.25;
    ((ADDITIVE + reading.norm_sqr()) / (1.0 + ADDITIVE)).sqrt()
}

/// Place of a step in the search for the minimum.
struct Place {
    x: DVector<f64>,
    cost: f64,
    normal: DMatrix<f64>,
    rhs: DVector<f64>,
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
        let bases = bases(readings, layout.terms);
        let mut x = DVector::zeros(layout.len());
        for &(index, value) in start {
            x[index] = (value - prior.mean[index]) / prior.scale[index];
        }
        Self {
            readings,
            layout,
            prior,
            levels,
            cost: f64::INFINITY,
            normal: DMatrix::identity(x.len(), x.len()),
            x,
            converged: false,
            bases,
            forward: Forward::default(),
            prediction: Prediction::default(),
        }
    }

    /// The same problem at the same place with other readings of the same sets.
    pub(super) fn with_readings(self, readings: &[Readings]) -> Problem<'_> {
        let bases = bases(readings, self.layout.terms);
        Problem {
            readings,
            bases,
            converged: false,
            ..self
        }
    }

    /// The unknowns themselves.
    pub(super) fn theta(&self) -> Vec<f64> {
        self.theta_at(&self.x)
    }

    /// Gauss–Newton at the present levels, at most `most_steps`.
    pub(super) fn minimise(&mut self, most_steps: usize) {
        let mut place = self.linearise(self.x.clone());
        let mut damping = 0.0;
        self.converged = false;
        for _ in 0..most_steps {
            let Some((step, promised)) = damped_step(&place, damping) else {
                damping = next_damping(damping);
                continue;
            };
            let trial = &place.x + step;
            if promised < COST_TOLERANCE && damping == 0.0 {
                place.x = trial;
                self.converged = true;
                break;
            }
            let trial = self.linearise(trial);
            let gain = place.cost - trial.cost;
            if gain > 0.0 {
                place = trial;
                damping = if damping < 1e-3 { 0.0 } else { damping * 0.1 };
            } else {
                damping = next_damping(damping);
            }
            // what is left to gain is curvature, below anything that an interval shows
            let little = promised < CURVED_TOLERANCE && gain < COST_TOLERANCE;
            if little || damping > MOST_DAMPING {
                self.converged = little;
                break;
            }
        }
        (self.x, self.cost, self.normal) = (place.x, place.cost, place.normal);
    }

    /// Corrects the levels and minimises again, `rounds` times. `None` if the normal matrix is not
    /// positive definite, which only overflow can bring about.
    pub(super) fn learn_levels(&mut self, rounds: usize) -> Option<()> {
        for _ in 0..rounds {
            let variance = Factor::new(self.normal.clone())?.inverse_diagonal();
            self.correct_levels(&variance);
            self.minimise(STEPS_PER_ROUND);
        }
        Some(())
    }

    /// Covariance and what is left at the minimum. `None` as [`Problem::learn_levels`].
    pub(super) fn finish(mut self) -> Option<Fit> {
        let covariance = Factor::new(self.normal.clone())?.inverse();
        let theta = self.theta();
        let residuals = self.squared_residuals(&theta);
        Some(Fit {
            residual_rms: residuals
                .iter()
                .map(|r| (r.plain / r.count as f64).sqrt())
                .collect(),
            layout: self.layout,
            theta,
            covariance,
            prior: self.prior,
            converged: self.converged,
        })
    }

    fn theta_at(&self, x: &DVector<f64>) -> Vec<f64> {
        let scaled = self.prior.scale.iter().zip(x.iter());
        self.prior
            .mean
            .iter()
            .zip(scaled)
            .map(|(m, (s, x))| m + s * x)
            .collect()
    }

    /// The line at every frequency of every reading set; sets of one grid share them.
    fn lines(&self, theta: &[f64]) -> Vec<Rc<[LinePoint]>> {
        let law = LineLaw::from_slice(&theta[at::LINE..at::LINE + PARAMETERS]);
        let mut made: Vec<Rc<[LinePoint]>> = Vec::new();
        for (set, readings) in self.readings.iter().enumerate() {
            let same = self.readings[..set]
                .iter()
                .position(|r| r.freq_hz == readings.freq_hz);
            made.push(match same {
                Some(first) => Rc::clone(&made[first]),
                None => readings.freq_hz.iter().map(|&f| law.at(f)).collect(),
            });
        }
        made
    }

    /// Noise of a set's reflections, and of its transmissions.
    fn noise(&self, set: usize) -> (f64, f64) {
        let through = self.layout.kinds[..set]
            .iter()
            .filter(|&&k| k == Kind::Through)
            .count();
        let reflection = self.levels.noise[set + through];
        // only a through sweep has a second level, and only its readings ask for it
        let transmission = self.levels.noise.get(set + through + 1).copied();
        (reflection, transmission.unwrap_or(reflection))
    }

    /// Cost and normal equations at `x`. Each complex reading gives two rows; noise is stated for
    /// the complex reading, so each part has half its variance.
    fn linearise(&mut self, x: DVector<f64>) -> Place {
        let theta = self.theta_at(&x);
        let lines = self.lines(&theta);
        self.forward.begin(&self.layout, &theta);
        let terms = self.layout.terms;
        let n = self.layout.len();
        let mut normal = DMatrix::identity(n, n);
        let mut rhs = -&x;
        let mut cost = x.norm_squared();
        for (set, readings) in self.readings.iter().enumerate() {
            let (noise, transmission_noise) = self.noise(set);
            let through = readings.kind == Kind::Through;
            let per_point = if through { 4 } else { 2 };
            let mut rows = Rows::new(
                self.layout.unknowns_of(set),
                per_point * readings.freq_hz.len(),
            );
            for (i, line) in lines[set].iter().enumerate() {
                let freq_hz = readings.freq_hz[i];
                let basis = &self.bases[set][i * terms..(i + 1) * terms];
                let layout = &self.layout;
                let point = Point {
                    layout,
                    theta: &theta,
                    set,
                    freq_hz,
                    line,
                    basis,
                };
                let p = &mut self.prediction;
                self.forward.predict(&point, p);
                self.forward.differentiate(&point, p);
                let m = readings.reflection[i];
                let scale = &self.prior.scale;
                let weight = SQRT_2 / (noise * noise_shape(m));
                let row = per_point * i;
                cost += write(
                    &mut rows,
                    row,
                    m - p.reflection,
                    &p.by_unknown,
                    scale,
                    weight,
                );
                if through {
                    let difference = readings.transmission[i] - p.transmission;
                    let weight = SQRT_2 / transmission_noise;
                    let by = &p.transmission_by_unknown;
                    cost += write(&mut rows, row + 2, difference, by, scale, weight);
                }
            }
            rows.add_to(&mut normal, &mut rhs);
        }
        Place {
            x,
            cost,
            normal,
            rhs,
        }
    }

    /// Sums of squared residuals, one for each noise level.
    fn squared_residuals(&mut self, theta: &[f64]) -> Vec<Residuals> {
        let lines = self.lines(theta);
        self.forward.begin(&self.layout, theta);
        let terms = self.layout.terms;
        let mut sums = Vec::new();
        for (set, readings) in self.readings.iter().enumerate() {
            let mut reflection = Residuals::default();
            let mut transmission = Residuals::default();
            for (i, line) in lines[set].iter().enumerate() {
                let freq_hz = readings.freq_hz[i];
                let basis = &self.bases[set][i * terms..(i + 1) * terms];
                let layout = &self.layout;
                let point = Point {
                    layout,
                    theta,
                    set,
                    freq_hz,
                    line,
                    basis,
                };
                let p = &mut self.prediction;
                self.forward.predict(&point, p);
                let m = readings.reflection[i];
                reflection.add(m - p.reflection, noise_shape(m));
                if readings.kind == Kind::Through {
                    transmission.add(readings.transmission[i] - p.transmission, 1.0);
                }
            }
            sums.push(reflection);
            if readings.kind == Kind::Through {
                sums.push(transmission);
            }
        }
        sums
    }

    /// One step of expectation-maximisation on the levels, each within what can be.
    fn correct_levels(&mut self, variance: &DVector<f64>) {
        let theta = self.theta();
        let residuals = self.squared_residuals(&theta);
        // unknowns that the data use up: trace of JᵀJ·C, shared among the sets by their readings
        let used = variance.len() as f64 - variance.sum();
        let total: usize = residuals.iter().map(|r| 2 * r.count).sum();
        let free = (1.0 - used / total as f64).max(0.1);
        for (level, r) in self.levels.noise.iter_mut().zip(residuals) {
            let square = r.weighted / (r.count as f64 * free);
            *level = square.sqrt().clamp(NOISE_RANGE.0, NOISE_RANGE.1);
        }
        let before = self.prior.scale.clone();
        for (level, range) in [
            (Level::Shared, SHARED_RANGE),
            (Level::Connection, CONNECTION_RANGE),
            (Level::Wander, WANDER_RANGE),
        ] {
            let of = self.layout.of_level(level);
            let second = |i: &usize| self.x[*i].powi(2) + variance[*i];
            let mean_square = of.iter().map(second).sum::<f64>() / of.len() as f64;
            let size = self.levels.size_mut(level);
            *size = (*size * mean_square.sqrt()).clamp(range.0, range.1);
        }
        self.prior.set_levels(&self.layout, &self.levels);
        let after = &self.prior.scale;
        for (x, (before, after)) in self.x.iter_mut().zip(before.iter().zip(after)) {
            *x *= before / after;
        }
    }
}

/// What `make` gives for every reading set's frequencies; sets of one grid share it.
fn for_each_grid<T>(readings: &[Readings], make: impl Fn(&[f64]) -> Rc<[T]>) -> Vec<Rc<[T]>> {
    let mut made: Vec<Rc<[T]>> = Vec::new();
    for (set, this) in readings.iter().enumerate() {
        let same = readings[..set]
            .iter()
            .position(|r| r.freq_hz == this.freq_hz);
        made.push(same.map_or_else(|| make(&this.freq_hz), |first| Rc::clone(&made[first])));
    }
    made
}

fn bases(readings: &[Readings], terms: usize) -> Vec<Rc<[Complex64]>> {
    for_each_grid(readings, |grid| {
        grid.iter().flat_map(|&f| smooth_basis(f, terms)).collect()
    })
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

fn write(
    rows: &mut Rows,
    row: usize,
    difference: Complex64,
    by: &[Complex64],
    scale: &[f64],
    weight: f64,
) -> f64 {
    for (part, value) in [difference.re, difference.im].into_iter().enumerate() {
        let (unknowns, derivatives, residual) = rows.row_mut(row + part);
        *residual = value * weight;
        for (d, &i) in derivatives.iter_mut().zip(unknowns) {
            *d = if part == 0 { by[i].re } else { by[i].im } * scale[i] * weight;
        }
    }
    difference.norm_sqr() * weight * weight
}

/// Step at a damping, and by how much the linearised cost falls. `None` if the damped matrix is
/// not positive definite.
fn damped_step(place: &Place, damping: f64) -> Option<(DVector<f64>, f64)> {
    let mut damped = place.normal.clone();
    for i in 0..damped.nrows() {
        damped[(i, i)] *= 1.0 + damping;
    }
    let step = Factor::new(damped)?.solve(&place.rhs);
    let promised = step.dot(&place.rhs);
    Some((step, promised))
}

fn next_damping(damping: f64) -> f64 {
    if damping == 0.0 { 1e-3 } else { damping * 10.0 }
}
