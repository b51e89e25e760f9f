//! The sweeps as the fit has them, and as they would be without one part of what it found: to say
//! by how much that part moves a method that does not know of it.

use num_complex::Complex64;

use super::super::model::Plug as PlugUnknowns;
use super::super::model::{
    AT, BAND_TRACKING, FAR_MATCH, Forward, Kind, LineLaw, Parameters, SOURCE_MATCH, TRACKING,
    plug_delay_s, smooth_basis, smooth_value,
};
use super::estimate::Estimate;
use crate::bench::{Bench, EndedSweep};
use crate::sweep::{Reverse, Sweep, SweepError, ThroughSweep};

/// A part of what the fit found that a method may not know of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The plugs and adapters: taken off.
    Plugs,
    /// What calibration and connections left: a perfect analyser.
    Calibration,
    /// Parasitics and value of the far end: an ideal one.
    FarEnd,
    /// Match and tracking of the second port: a perfect one.
    SecondPort,
    /// Wander of the impedance along the cable: the mean all along.
    Unevenness,
    /// The difference from the reference: a cable of the calibration load's impedance.
    Mismatch,
    /// The gaps between the points: four times as many.
    Points,
}

impl Part {
    /// Every part.
    pub const ALL: [Self; 7] = [
        Self::Plugs,
        Self::Calibration,
        Self::FarEnd,
        Self::SecondPort,
        Self::Unevenness,
        Self::Mismatch,
        Self::Points,
    ];
}

/// A plug as the fit has it.
#[derive(Clone, Copy, Debug)]
pub struct Plug {
    /// One-way delay, s.
    pub delay_s: f64,
    /// Impedance, ohm.
    pub impedance_ohm: f64,
    /// Whether the sweeps show it; else it can be any plug.
    pub is_seen: bool,
}

/// Points for each gap in a sweep without [`Part::Points`].
const FINER: usize = 4;
/// Unknown of a plug that has no delay to speak of, and of contacts without resistance.
const NO_PLUG: f64 = -40.0;

impl Estimate {
    /// The plugs at the near and at the far end. Where a plug is like the cable this is a guess.
    pub fn plugs(&self) -> [Plug; 2] {
        let theta = &self.fit.theta;
        [AT.near, AT.far].map(|at: PlugUnknowns<usize>| Plug {
            delay_s: plug_delay_s(theta[at.delay]).0,
            impedance_ohm: theta[at.ln_z].exp() * self.kit_load.ohm.value,
            is_seen: self.sees_plug(at),
        })
    }

    /// The bench with the sweeps that the fit predicts, free of noise, less a part. `bench` must be
    /// the one that was estimated from. A second port's own reflection is that of the first.
    ///
    /// # Errors
    /// [`SweepError`] if the fit predicts something that no sweep can hold.
    pub fn predicted(&self, bench: &Bench, without: Option<Part>) -> Result<Bench, SweepError> {
        let theta = self.theta_without(without);
        let finer = |grid: &[f64]| {
            if without == Some(Part::Points) {
                between(grid)
            } else {
                grid.to_vec()
            }
        };
        let mut predicted = bench.clone();
        for (set, ended) in predicted.sweeps.iter_mut().enumerate() {
            let grid = finer(ended.sweep.freq_hz());
            let [reflection, _, _] = self.columns(&theta, set, &grid);
            let sweep = Sweep::new(grid, reflection, ended.sweep.z_ref_ohm())?;
            *ended = EndedSweep {
                sweep,
                ..ended.clone()
            };
        }
        for (i, (through, _)) in predicted.throughs.iter_mut().enumerate() {
            let grid = finer(through.freq_hz());
            let [s11, s21, s22] = self.columns(&theta, bench.sweeps.len() + i, &grid);
            let reverse = through.reverse().map(|_| Reverse {
                s12: s21.clone(),
                s22,
            });
            *through = ThroughSweep::new(grid, s11, s21, reverse, through.z_ref_ohm())?;
        }
        Ok(predicted)
    }

    fn theta_without(&self, without: Option<Part>) -> Vec<f64> {
        let mut theta = self.fit.theta.clone();
        let layout = &self.fit.layout;
        match without {
            None | Some(Part::Points) => {}
            Some(Part::Plugs) => {
                // without plugs the whole piece's delay is the line's own
                theta[AT.line.delay_s] = LineLaw::of_unknowns(&theta).delay_s;
                theta[AT.near.delay] = NO_PLUG;
                theta[AT.far.delay] = NO_PLUG;
                theta[AT.near.contact] = NO_PLUG;
                theta[AT.far.contact] = NO_PLUG;
                clear(&mut theta, AT.near_adapter.into_array());
                clear(&mut theta, AT.far_adapter.into_array());
            }
            Some(Part::Calibration) => {
                clear(&mut theta, AT.standards.into_array());
                theta[layout.all_shared().start..layout.first_node()].fill(0.0);
            }
            Some(Part::FarEnd) => {
                clear(&mut theta, AT.far_end.into_array());
                layout.clear(&mut theta, Kind::OtherLoad, &[FAR_MATCH]);
            }
            Some(Part::SecondPort) => {
                let of_port = [FAR_MATCH, TRACKING, SOURCE_MATCH, BAND_TRACKING];
                layout.clear(&mut theta, Kind::Through, &of_port);
            }
            Some(Part::Unevenness) => {
                let nodes = layout.node_range();
                let mean = theta[nodes.clone()].iter().sum::<f64>() / nodes.len() as f64;
                theta[nodes].fill(mean);
            }
            Some(Part::Mismatch) => {
                let Parameters {
                    line,
                    near,
                    far,
                    near_adapter,
                    far_adapter,
                    ..
                } = AT;
                let adapters = [near_adapter.ln_z, far_adapter.ln_z];
                clear(&mut theta, [line.ln_z, near.ln_z, far.ln_z]);
                clear(&mut theta, adapters);
            }
        }
        theta
    }

    /// Reflection, transmission and the second port's reflection of a set on a grid.
    fn columns(&self, theta: &[f64], set: usize, grid: &[f64]) -> [Vec<Complex64>; 3] {
        let layout = &self.fit.layout;
        let mut columns = [const { Vec::new() }; 3];
        let through = layout.kinds[set] == Kind::Through;
        Forward::default().predict(layout, theta, set, grid, |i, p| {
            columns[0].push(p.reflection);
            if through {
                let at = layout.connection(set, FAR_MATCH);
                let basis: Vec<Complex64> = smooth_basis(grid[i], layout.terms).collect();
                let port = smooth_value(&theta[at], &basis);
                columns[1].push(p.transmission);
                // port 2 sees its own match whole, port 1 through the cable twice
                columns[2].push(p.reflection + port * (1.0 - p.transmission * p.transmission));
            }
        });
        columns
    }
}

/// Sets unknowns to zero.
fn clear(theta: &mut [f64], unknowns: impl IntoIterator<Item = usize>) {
    for unknown in unknowns {
        theta[unknown] = 0.0;
    }
}

/// A grid with [`FINER`] points for each of its gaps.
fn between(grid: &[f64]) -> Vec<f64> {
    let mut finer = Vec::with_capacity(FINER * grid.len());
    for pair in grid.windows(2) {
        let step = (pair[1] - pair[0]) / FINER as f64;
        finer.extend((0..FINER).map(|k| pair[0] + step * k as f64));
    }
    finer.extend(grid.last());
    finer
}
