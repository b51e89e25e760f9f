//! From a fit to quantities with intervals.

use std::f64::consts::TAU;
use std::ops::Range;

use nalgebra::DVector;
use num_complex::Complex64;

use super::super::model::{
    AT, Kind, LineGradient, LineLaw, LinePoint, PARAMETERS, Plug, Readings, covered, plug_delay_s,
};
use super::super::prior::{FarLoad, PlanePrior};
use super::super::search::{Apart, Cause, Chosen, Explanation, Fit, is_followed, noise_shape};
use crate::bench::{Bench, Load};
use crate::constants::DB_PER_NEPER;
use crate::uncertain::Uncertain;

/// The largest part of an interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// The value of the calibration load.
    Load,
    /// What calibration leaves of the analyser's errors, connections included.
    Calibration,
    /// The plugs, which the sweep can't tell from the cable.
    Connectors,
    /// The cable's own unevenness.
    Uniformity,
    /// Noise of the readings.
    Noise,
    /// The sweeps say little: what is known of cables in general carries the value.
    Prior,
}

/// What the sweeps say about the cable, all of them taken together.
#[derive(Clone, Debug)]
pub struct Estimate {
    pub(crate) fit: Fit,
    pub(crate) kit_load: Load,
    pub(crate) covered_hz: (f64, f64),
    pub(crate) grids: Vec<SweepGrid>,
    pub(crate) at_rest: bool,
    pub(crate) causes: Vec<Cause>,
    pub(crate) explanations: Vec<Explanation>,
    /// One-way delays of other folds of the step that the sweeps do not speak against, s.
    pub(crate) other_delays_s: Vec<f64>,
    /// The points do not follow the phase, and a fault explains them better than a cable that is whole.
    pub(crate) unfollowed: bool,
    /// The far load is another part than the calibration's.
    pub(crate) other_load: bool,
    pub(crate) plane: PlanePrior,
    /// Sweeps that are not of this cable.
    pub(crate) apart: Option<Apart>,
}

/// A reading set without its readings: what it tells depends on grid and noise alone.
#[derive(Clone, Debug)]
pub(crate) struct SweepGrid {
    pub(crate) kind: Kind,
    pub(crate) freq_hz: Vec<f64>,
    /// Noise of the reflections, complex rms at total reflection.
    pub(crate) noise: f64,
    /// Noise of the transmissions; of a reflection sweep the same as of its reflections.
    pub(crate) transmission_noise: f64,
}

impl SweepGrid {
    /// The sets of a fit. The noise is what the fit leaves, with the unknowns that the data use up
    /// counted (trace of JᵀJ·C, shared among the sets by their readings).
    fn of(fit: &Fit, readings: &[Readings]) -> Vec<Self> {
        // tr(1 − C) = tr(JᵀJ C): the effective number of unknowns (MacKay, ch. 28)
        let used = fit.theta.len() as f64 - fit.information.inverse_diagonal().sum();
        let numbers = |r: &Readings| 2 * (r.reflection.len() + r.transmission.len());
        let total: usize = readings.iter().map(numbers).sum();
        let free = (1.0 - used / total as f64).max(0.1).sqrt();
        let of_level = fit.residual_rms.iter().zip(&fit.alike);
        let mut left = of_level.map(|(rms, alike)| rms / free * alike.sqrt());
        let mut next = || left.next().unwrap_or_default();
        readings
            .iter()
            .map(|r| {
                let squares = r.reflection.iter().map(|&m| noise_shape(m).powi(2));
                let shape = (squares.sum::<f64>() / r.reflection.len() as f64).sqrt();
                let noise = next() / shape;
                Self {
                    kind: r.kind,
                    freq_hz: r.freq_hz.clone(),
                    noise,
                    transmission_noise: if r.kind == Kind::Through {
                        next()
                    } else {
                        noise
                    },
                }
            })
            .collect()
    }
}

/// A plug shows if its delay times the step of ln Z exceeds this, s: on simulated cables the delay
/// of such plugs came out within 10 ps, that of others anywhere.
const SEEN_PLUG_S: f64 = 13e-12;
/// What traps, coils and transformers of an antenna lose between its bands, one way, dB (common practice, no single
/// source: 0.1 to 0.3 dB of a transformer within its band, half of that beside it).
const ANTENNA_LOSS_DB: f64 = 0.06;
/// Spread of the delays of ordinary plugs, s, for one that does not show: 40 to 110 ps and none.
const UNSEEN_PLUG_U_S: f64 = 40e-12;

/// Part of its standard uncertainty by which a quantity may move during the last steps and still
/// count as standing still.
const STANDSTILL: f64 = 0.1;

/// One-way matched loss by what loses it, dB.
#[derive(Clone, Copy, Debug)]
pub struct LossParts {
    /// The conductors: as √f.
    pub conductor: Uncertain,
    /// The dielectric: as f.
    pub dielectric: Uncertain,
}

/// A quantity's derivative by the unknowns, sparse.
pub(crate) type Derivative = Vec<(usize, f64)>;

impl Estimate {
    /// From the explanation that was chosen.
    pub(crate) fn new(chosen: Chosen, bench: &Bench) -> Self {
        let unfollowed = !chosen.causes.is_empty() && !is_followed(&chosen);
        let Chosen {
            fit,
            before,
            readings,
            causes,
            explanations,
            other_delays_s,
            known,
        } = chosen;
        let mut estimate = Self {
            grids: SweepGrid::of(&fit, &readings),
            covered_hz: covered(&readings),
            causes,
            explanations,
            other_delays_s,
            unfollowed,
            other_load: known.far_load != FarLoad::Kit && bench.far_load_is_kit_load(),
            at_rest: fit.converged,
            fit,
            kit_load: bench.kit_load,
            plane: PlanePrior::of(&bench.plane),
            apart: None,
        };
        estimate.at_rest |= estimate.stands(&before);
        estimate
    }

    /// Whether the points lie too far apart to follow the phase, and a fault explains them better than a cable that is
    /// whole: at another delay it may not.
    pub fn is_unfollowed(&self) -> bool {
        self.unfollowed
    }

    /// The far load's resistance, ohm, where the sweeps speak for another part than the calibration's, which it was
    /// declared to be.
    pub fn other_far_load_ohm(&self) -> Option<Uncertain> {
        let at = AT.far_end.load_ln_r;
        self.other_load
            .then(|| self.in_ohm(self.fit.theta[at], &vec![(at, 1.0)]))
    }

    /// Sweeps that are of another cable than the others, or of this one in another state.
    pub fn apart(&self) -> Option<&Apart> {
        self.apart.as_ref()
    }

    /// Real part of the characteristic impedance at `freq_hz`, mean along the cable, ohm.
    pub fn impedance_ohm(&self, freq_hz: f64) -> Uncertain {
        let (relative, by) = self.ln_impedance(freq_hz);
        self.in_ohm(relative, &by)
    }

    /// One-way phase delay of the piece at `freq_hz` with its plugs, without adapters, s.
    pub fn one_way_delay_s(&self, freq_hz: f64) -> Uncertain {
        let point = self.line(freq_hz);
        // phase delay, not group delay: what a phase measurement at this frequency gives
        let omega = TAU * freq_hz.max(1.0);
        let mut by = by_line(&point.d_gamma_l, |d| d.im / omega);
        let near = plug_delay_s(self.fit.theta[AT.near.delay]);
        let far = plug_delay_s(self.fit.theta[AT.far.delay]);
        by.extend([(AT.near.delay, near.1), (AT.far.delay, far.1)]);
        let plugs = near.0 + far.0;
        Uncertain::new(point.gamma_l.im / omega + plugs, self.standard(&by))
    }

    /// One-way phase delay of the cable between its plugs at `freq_hz`, s.
    pub fn cable_delay_s(&self, freq_hz: f64) -> Uncertain {
        let point = self.line(freq_hz);
        let omega = TAU * freq_hz.max(1.0);
        let by = by_line(&point.d_gamma_l, |d| d.im / omega);
        let plugs = self.unseen_plug_s(AT.near) + self.unseen_plug_s(AT.far);
        Uncertain::new(point.gamma_l.im / omega, self.standard(&by)).widened(plugs)
    }

    /// What a plug may hide of its delay, s: one that the sweep does not see, because its
    /// impedance is the cable's or because it seems to have no length, can be any plug.
    pub(crate) fn unseen_plug_s(&self, at: Plug<usize>) -> f64 {
        if self.sees_plug(at) {
            0.0
        } else {
            UNSEEN_PLUG_U_S
        }
    }

    /// Whether a plug's step and delay are large enough for its delay to be known.
    pub(crate) fn sees_plug(&self, at: Plug<usize>) -> bool {
        let theta = &self.fit.theta;
        let step = (theta[at.ln_z] - theta[AT.line.ln_z]).abs();
        step * plug_delay_s(theta[at.delay]).0 > SEEN_PLUG_S
    }

    /// One-way matched loss of the cable between its plugs at `freq_hz`, dB.
    pub fn loss_db(&self, freq_hz: f64) -> Uncertain {
        let point = self.line(freq_hz);
        let by = by_line(&point.d_gamma_l, |d| d.re);
        let loss = Uncertain::new(point.gamma_l.re, self.standard(&by)).scaled(DB_PER_NEPER);
        loss.widened(self.antenna_loss_u_db())
    }

    /// Standard uncertainty of a loss by what an antenna loses between its bands, dB; nothing where another end shows
    /// the loss besides.
    pub(crate) fn antenna_loss_u_db(&self) -> f64 {
        let mut of_cable = self.grids.iter().filter(|g| g.kind.is_of_cable());
        if of_cable.all(|g| g.kind == Kind::Antenna) {
            ANTENNA_LOSS_DB
        } else {
            0.0
        }
    }

    /// What the impedance tends to at high frequency, mean along the cable, ohm: without the
    /// conductors' internal inductance.
    pub fn impedance_limit_ohm(&self) -> Uncertain {
        let (wander, mut by) = self.wander();
        by.push((AT.line.ln_z, 1.0));
        self.in_ohm(self.fit.theta[AT.line.ln_z] + wander, &by)
    }

    /// One-way matched loss at `freq_hz` by what loses it, dB: the conductors' share, which grows as
    /// √f, and the dielectric's, which grows as f.
    pub fn loss_parts_db(&self, freq_hz: f64) -> LossParts {
        let whole = self.line(freq_hz);
        let conductor = self.line_without_dielectric_loss(freq_hz);
        let of = |value: f64, by: LineGradient<f64>| {
            let by: Derivative = by.indexed().collect();
            Uncertain::new(value, self.standard(&by)).scaled(DB_PER_NEPER)
        };
        let by_dielectric = whole
            .d_gamma_l
            .zip_with(conductor.d_gamma_l, |whole, conductor| {
                whole.re - conductor.re
            });
        LossParts {
            conductor: of(conductor.gamma_l.re, conductor.d_gamma_l.map(|d| d.re)),
            dielectric: of(whole.gamma_l.re - conductor.gamma_l.re, by_dielectric),
        }
    }

    /// Largest part of the impedance's interval.
    pub fn impedance_limited_by(&self, freq_hz: f64) -> Limit {
        let (_, by) = self.ln_impedance(freq_hz);
        let mut parts = self.parts(&by);
        // the load scales every impedance alike, and no sweep sees it: its variance is added
        parts.push((Limit::Load, self.kit_load.ohm.relative().powi(2)));
        largest(&parts)
    }

    /// Frequencies that the sweeps cover, Hz: lowest and highest.
    pub fn covered_hz(&self) -> (f64, f64) {
        self.covered_hz
    }

    /// What the fit leaves of each sweep as noise, in the order of the bench: rms of the complex reflection where
    /// everything is reflected.
    pub fn noise_of_sweeps(&self) -> Vec<f64> {
        self.grids.iter().map(|grid| grid.noise).collect()
    }

    /// What the fit leaves, rms of the complex readings, largest over the sweeps.
    pub fn residual_rms(&self) -> f64 {
        self.fit.residual_rms.iter().fold(0.0, |a, &b| a.max(b))
    }

    /// Whether the fit came to rest: at a minimum, or in a valley along which nothing that is
    /// reported moves (plugs that a cable has not got shrink for ever).
    pub fn converged(&self) -> bool {
        self.at_rest
    }

    /// Whether impedance, delay and loss stand where they stood with the unknowns `before`.
    fn stands(&self, before: &[f64]) -> bool {
        // the same covariance at the earlier place: only the values are compared
        let mut then = self.clone();
        then.fit.theta = before.to_vec();
        let (low, high) = self.covered_hz;
        [high, (low.max(1e-3 * high) * high).sqrt()]
            .iter()
            .all(|&f| {
                let pairs = [
                    (self.impedance_ohm(f), then.impedance_ohm(f)),
                    (self.one_way_delay_s(f), then.one_way_delay_s(f)),
                    (self.loss_db(f), then.loss_db(f)),
                ];
                pairs
                    .iter()
                    .all(|(now, then)| (now.value - then.value).abs() <= STANDSTILL * now.u)
            })
    }

    /// From the logarithm of an impedance over the calibration load.
    pub(crate) fn in_ohm(&self, relative: f64, by: &Derivative) -> Uncertain {
        let ratio = Uncertain::new(relative.exp(), relative.exp() * self.standard(by));
        let kit = self.kit_load.ohm;
        ratio.scaled(kit.value).widened(ratio.value * kit.u)
    }

    pub(crate) fn line_without_dielectric_loss(&self, freq_hz: f64) -> LinePoint {
        let law = LineLaw::of_unknowns(&self.fit.theta);
        law.without_dielectric_loss().at(freq_hz)
    }

    /// Mean wander along the cable, and its derivative.
    fn wander(&self) -> (f64, Derivative) {
        let nodes = self.fit.layout.node_range();
        let share = 1.0 / nodes.len() as f64;
        let mean = self.fit.theta[nodes.clone()].iter().sum::<f64>() * share;
        (mean, nodes.map(|i| (i, share)).collect())
    }

    pub(crate) fn line(&self, freq_hz: f64) -> LinePoint {
        LineLaw::of_unknowns(&self.fit.theta).at(freq_hz)
    }

    /// ln of the real part of the mean impedance over the calibration load, and its derivative.
    pub(crate) fn ln_impedance(&self, freq_hz: f64) -> (f64, Derivative) {
        let point = self.line(freq_hz);
        // ln Re e^(a + jb) = a + ln cos b
        let (a, b) = (point.ln_zc.re, point.ln_zc.im);
        let mut by = by_line(&point.d_ln_zc, |d| d.re - b.tan() * d.im);
        let (wander, by_wander) = self.wander();
        by.extend(by_wander);
        (a + b.cos().ln() + wander, by)
    }

    /// A derivative in units of the prior's scale.
    fn in_prior_units(&self, by: &Derivative) -> DVector<f64> {
        let scale = &self.fit.prior.scale;
        let mut g = DVector::zeros(scale.len());
        for &(i, d) in by {
            g[i] += d * scale[i];
        }
        g
    }

    pub(crate) fn standard(&self, by: &Derivative) -> f64 {
        self.fit
            .information
            .inverse_form(self.in_prior_units(by))
            .sqrt()
    }

    /// Variance by origin. With C = (JᵀJ + 1)⁻¹ it is gᵀCg = gᵀC(JᵀJ)Cg + Σ(Cg)ᵢ²: what noise
    /// contributes and what each unknown's prior contributes.
    fn parts(&self, by: &Derivative) -> Vec<(Limit, f64)> {
        let g = self.in_prior_units(by);
        let cg = self.fit.information.solve(&g);
        let whole = g.dot(&cg);
        let squares = |i: usize| cg[i] * cg[i];
        let of = |unknowns: &[usize]| unknowns.iter().map(|&i| squares(i)).sum::<f64>();
        let in_range = |range: Range<usize>| range.map(squares).sum::<f64>();
        let layout = &self.fit.layout;
        let line = of(&AT.line.into_array());
        let plugs = of(&[AT.near.delay, AT.far.delay, AT.near.ln_z, AT.far.ln_z])
            + of(&[AT.near_adapter.into_array(), AT.far_adapter.into_array()].concat());
        let standards = AT.standards.into_array();
        let calibration = of(&[standards.as_slice(), &AT.far_end.into_array()].concat())
            + in_range(PARAMETERS..layout.first_node());
        let wander = in_range(layout.first_node()..layout.len());
        vec![
            (
                Limit::Noise,
                (whole - line - plugs - calibration - wander).max(0.0),
            ),
            (Limit::Prior, line),
            (Limit::Connectors, plugs),
            (Limit::Calibration, calibration),
            (Limit::Uniformity, wander),
        ]
    }
}

/// A quantity's derivative by the unknowns of the line.
fn by_line(gradient: &LineGradient<Complex64>, of: impl FnMut(Complex64) -> f64) -> Derivative {
    gradient.map(of).indexed().collect()
}

fn largest(parts: &[(Limit, f64)]) -> Limit {
    parts
        .iter()
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(Limit::Noise, |&(limit, _)| limit)
}
