//! From the gradient by sections to derivatives by unknowns.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::super::fault::{self, Cut, Made, SLOTS, stretch};
use super::super::lanes::lane;
use super::super::line_law::PARAMETERS;
use super::super::plane::{loss_shape, of_adapter};
use super::super::stack::Gradient;
use super::super::unknowns::{at, plug_delay_s};
use super::{BODY, End, Part, Point};

/// The stack's gradient at one frequency, with what it is made of.
pub(super) struct Chain<'a> {
    pub(super) body: &'a [Part],
    pub(super) cuts: &'a [Cut],
    pub(super) gradient: &'a Gradient,
    pub(super) lane: usize,
    pub(super) end: &'a End,
}

impl Chain<'_> {
    pub(super) fn by_ln_z(&self, section: usize) -> Complex64 {
        lane(&self.gradient.ln_z[section], self.lane)
    }

    pub(super) fn by_gamma_l(&self, section: usize) -> Complex64 {
        lane(&self.gradient.gamma_l[section], self.lane)
    }

    pub(super) fn by_far_end(&self) -> Complex64 {
        lane(&self.gradient.far, self.lane)
    }

    /// Adds the derivatives by line, plugs, nodes and far end, times `scale`.
    pub(super) fn add(&self, point: &Point, scale: Complex64, out: &mut [Complex64]) {
        let sections = self.body.len();
        let line = point.line;
        let mut plain = Sums::default();
        let mut faults = vec![Sums::default(); point.layout.faults.len()];
        let nodes = &mut out[point.layout.node_range()];
        for (part, section) in self.body.iter().zip(BODY..) {
            let d = self.by_ln_z(section);
            let sums = match part.made {
                Made::Plain => &mut plain,
                Made::Stretch(fault) => &mut faults[fault],
                Made::Series(fault) => {
                    faults[fault].by_gamma_l = self.by_gamma_l(section);
                    continue;
                }
            };
            sums.by_ln_z += d;
            sums.by_gamma_l += self.by_gamma_l(section) * part.share;
            let d = scale * d;
            let to_second = d * part.between.weight;
            nodes[part.between.first] += d - to_second;
            nodes[part.between.second] += to_second;
        }
        for i in 0..PARAMETERS {
            out[at::LINE + i] +=
                scale * (plain.by_ln_z * line.d_ln_zc[i] + plain.by_gamma_l * line.d_gamma_l[i]);
        }
        if !faults.is_empty() {
            self.add_faults(point, scale, &faults, out);
        }
        let by_delay = scale * Complex64::new(0.0, TAU * point.freq_hz);
        for (ln_z, delay, section) in [
            (at::NEAR_LN_Z, at::NEAR_DELAY, 1),
            (at::FAR_LN_Z, at::FAR_DELAY, sections + 2),
        ] {
            out[ln_z] += scale * self.by_ln_z(section);
            let per_unknown = plug_delay_s(point.theta[delay]).1;
            out[delay] += by_delay * per_unknown * self.by_gamma_l(section);
        }
        for (first, section) in [(at::NEAR_ADAPTER, 0), (at::FAR_ADAPTER, sections + 3)] {
            let by_gamma_l = self.by_gamma_l(section);
            out[first + of_adapter::DELAY] += by_delay * by_gamma_l;
            out[first + of_adapter::LN_Z] += scale * self.by_ln_z(section);
            out[first + of_adapter::LOSS] += scale * loss_shape(point.freq_hz) * by_gamma_l;
        }
        for &(index, d) in &self.end.by[..self.end.count] {
            out[index] += scale * self.by_far_end() * d;
        }
    }

    /// Adds the derivatives by the faults' unknowns, and by the line's through the stretches.
    fn add_faults(&self, point: &Point, scale: Complex64, sums: &[Sums], out: &mut [Complex64]) {
        let first = point.layout.fault_range().start;
        let line = point.line;
        for (fault, sums) in sums.iter().enumerate() {
            let own = first + SLOTS * fault;
            if point.layout.faults[fault].shape == fault::Shape::Series {
                let (_, by) = point.series(fault);
                for (slot, d) in [fault::series::LN_R, fault::series::LN_L]
                    .into_iter()
                    .zip(by)
                {
                    out[own + slot] += scale * sums.by_gamma_l * d;
                }
                continue;
            }
            let here = point.stretch(fault);
            for (i, (ln_zc, gamma_l)) in here.by_line(line).into_iter().enumerate() {
                out[at::LINE + i] += scale * (sums.by_ln_z * ln_zc + sums.by_gamma_l * gamma_l);
            }
            let by_own = here.by_own(line, point.theta[at::LINE]);
            for (i, (ln_zc, gamma_l)) in by_own.into_iter().enumerate() {
                out[own + stretch::STEP + i] +=
                    scale * (sums.by_ln_z * ln_zc + sums.by_gamma_l * gamma_l);
            }
        }
        for cut in self.cuts {
            let rate = |part: usize| {
                let gamma_l = match self.body[part].made {
                    Made::Stretch(fault) => point.stretch(fault).gamma_l,
                    _ => line.gamma_l,
                };
                self.by_gamma_l(part + BODY) * gamma_l
            };
            let by_place = scale * (rate(cut.before) - rate(cut.after));
            for (slot, by) in cut.by_slot.into_iter().enumerate() {
                out[first + SLOTS * cut.fault + slot] += by_place * by;
            }
        }
    }
}

/// Derivatives by all sections of one making.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    by_ln_z: Complex64,
    /// By γl, each times its section's share of the delay.
    by_gamma_l: Complex64,
}
