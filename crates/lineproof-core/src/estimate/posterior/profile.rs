//! Impedance along the cable, from the fit of all sweeps: loss is taken out, the plugs' own bumps are
//! kept apart, and a stretch that was found has its step.
//!
//! Between the nodes ln z is straight; what changes faster than [`Profile::resolution_s`] can't be
//! told apart (half the period of the stop frequency: two reflections closer than that look like
//! one). The intervals are those of the posterior, the load included, which all points share.

use super::super::model::AT;
use super::estimate::{Derivative, Estimate};
use crate::uncertain::Uncertain;

/// Impedance at a place.
#[derive(Clone, Copy, Debug)]
pub struct ProfilePoint {
    /// Delay of sound cable from the near end, one way, s.
    pub delay_s: f64,
    /// High-frequency impedance there, ohm.
    pub impedance_ohm: Uncertain,
}

/// Impedance along the cable.
#[derive(Clone, Debug)]
pub struct Profile {
    /// From the near end to the far one.
    pub points: Vec<ProfilePoint>,
    /// One-way delay below which two places look like one, s.
    pub resolution_s: f64,
    /// Delay of sound cable as long as the whole piece, s.
    pub whole_s: f64,
}

/// How far on either side of a stretch's edge the impedance is stated, as a part of the delay.
const BESIDE: f64 = 1e-6;

/// A stretch: begin, end, index of its step of ln z, velocity over that of the cable.
struct Stretch {
    begin: f64,
    end: f64,
    ln_z_step: usize,
    velocity: f64,
}

impl Estimate {
    /// The impedance along the cable.
    pub fn profile(&self) -> Profile {
        let stretches = self.stretches();
        let nodes = self.fit.layout.nodes;
        let mut places: Vec<f64> = (0..nodes)
            .map(|i| (i as f64 + 0.5) / nodes as f64)
            .chain([0.0, 1.0])
            .collect();
        // a stretch has an edge, not a slope: a point on either side of it
        for s in &stretches {
            places.extend([s.begin - BESIDE, s.begin + BESIDE]);
            places.extend([s.end - BESIDE, s.end + BESIDE]);
        }
        places.retain(|p| (0.0..=1.0).contains(p));
        places.sort_by(f64::total_cmp);
        let body_s = self.body_delay_s().value;
        let delay_s = |place: f64| {
            let slow = stretches.iter().map(|s| {
                let inside = (place.min(s.end) - s.begin).max(0.0);
                inside * (1.0 - s.velocity)
            });
            body_s * (place - slow.sum::<f64>())
        };
        let point = |&place: &f64| ProfilePoint {
            delay_s: delay_s(place),
            impedance_ohm: self.impedance_at(place, &stretches),
        };
        Profile {
            points: places.iter().map(point).collect(),
            resolution_s: 0.5 / self.covered_hz.1,
            whole_s: delay_s(1.0),
        }
    }

    fn stretches(&self) -> Vec<Stretch> {
        let theta = &self.fit.theta;
        let faults = self.fit.layout.fault_at().iter().zip(&self.causes);
        faults
            .filter_map(|(fault, cause)| {
                let [begin, end] = fault.edges(theta);
                let ln_z_step = fault.other_line()?.ln_z_step;
                Some(Stretch {
                    begin: begin.place,
                    end: end.place,
                    ln_z_step,
                    velocity: cause.velocity(theta[ln_z_step]),
                })
            })
            .collect()
    }

    fn impedance_at(&self, place: f64, stretches: &[Stretch]) -> Uncertain {
        let nodes = self.fit.layout.node_range();
        let along = (place * nodes.len() as f64 - 0.5).clamp(0.0, nodes.len() as f64 - 1.0);
        let first = nodes.start + along.floor() as usize;
        let second = (first + 1).min(nodes.end - 1);
        let weight = along.fract();
        let mut by: Derivative = vec![(AT.line.ln_z, 1.0), (first, 1.0 - weight), (second, weight)];
        // of stretches that overlap the last counts, as in the fit
        let inside = |s: &&Stretch| (s.begin..=s.end).contains(&place);
        by.extend(stretches.iter().rfind(inside).map(|s| (s.ln_z_step, 1.0)));
        let ln_z = by.iter().map(|&(i, d)| d * self.fit.theta[i]).sum();
        self.in_ohm(ln_z, &by)
    }
}
