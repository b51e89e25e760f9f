//! From the gradient by sections to derivatives by unknowns.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::super::connectors::{PlugPoint, adapter_loss_shape};
use super::super::fault_cuts::{Cut, PieceKind};
use super::super::lanes::lane;
use super::super::parameters::AT;
use super::super::stack::Gradient;
use super::far_end::End;
use super::point::{BODY, Part, Point};

/// The stack's gradient at one frequency, with what it is made of.
pub(crate) struct Chain<'a> {
    pub(crate) body: &'a [Part],
    pub(crate) cuts: &'a [Cut],
    pub(crate) gradient: &'a Gradient,
    pub(crate) lane: usize,
    pub(crate) end: &'a End,
}

impl Chain<'_> {
    pub(crate) fn by_ln_z(&self, section: usize) -> Complex64 {
        lane(&self.gradient.ln_z[section], self.lane)
    }

    pub(crate) fn by_gamma_l(&self, section: usize) -> Complex64 {
        lane(&self.gradient.gamma_l[section], self.lane)
    }

    pub(crate) fn by_far_end(&self) -> Complex64 {
        lane(&self.gradient.far, self.lane)
    }

    /// Adds the derivatives by line, plugs, nodes and far end, times `scale`.
    pub(crate) fn add(&self, point: &Point, scale: Complex64, out: &mut [Complex64]) {
        let sections = self.body.len();
        let line = point.line;
        let mut plain = Sums::default();
        let mut faults = vec![Sums::default(); point.layout.fault_at().len()];
        let nodes = &mut out[point.layout.node_range()];
        for (part, section) in self.body.iter().zip(BODY..) {
            let d = self.by_ln_z(section);
            let sums = match part.kind {
                PieceKind::Plain => &mut plain,
                PieceKind::Stretch(fault) => &mut faults[fault],
                PieceKind::Lumped(fault) => {
                    faults[fault].by_gamma_l = self.by_gamma_l(section);
                    continue;
                }
            };
            sums.by_ln_z += d;
            sums.by_gamma_l += self.by_gamma_l(section) * part.share;
            let d = scale * d;
            // ln z is straight between nodes, so a section's derivative is shared by weight
            let to_second = d * part.between.weight;
            nodes[part.between.first] += d - to_second;
            nodes[part.between.second] += to_second;
        }
        let by_line = line.d_ln_zc.zip_with(line.d_gamma_l, |ln_zc, gamma_l| {
            plain.by_ln_z * ln_zc + plain.by_gamma_l * gamma_l
        });
        for (i, d) in by_line.indexed() {
            out[i] += scale * d;
        }
        if !faults.is_empty() {
            self.add_faults(point, scale, &faults, out);
        }
        let by_delay = scale * Complex64::new(0.0, TAU * point.freq_hz);
        for (plug, section) in [(AT.near, 1), (AT.far, sections + 2)] {
            let by = PlugPoint::at(point.theta, plug, point.freq_hz).by;
            for (i, (ln_z, gamma_l)) in plug.zip_with(by, |i, d| (i, d)).into_array() {
                out[i] +=
                    scale * (ln_z * self.by_ln_z(section) + gamma_l * self.by_gamma_l(section));
            }
        }
        for (adapter, section) in [(AT.near_adapter, 0), (AT.far_adapter, sections + 3)] {
            let by_gamma_l = self.by_gamma_l(section);
            out[adapter.delay_s] += by_delay * by_gamma_l;
            out[adapter.ln_z] += scale * self.by_ln_z(section);
            out[adapter.loss_np] += scale * adapter_loss_shape(point.freq_hz) * by_gamma_l;
        }
        for &(index, d) in self.end.by() {
            out[index] += scale * self.by_far_end() * d;
        }
    }

    /// Adds the derivatives by the faults' unknowns, and by the line's through the stretches.
    fn add_faults(&self, point: &Point, scale: Complex64, sums: &[Sums], out: &mut [Complex64]) {
        let line = point.line;
        for (fault, sums) in sums.iter().enumerate() {
            let at = point.fault_at(fault);
            if let Some(own) = at.lumped() {
                for (i, d) in own.into_iter().zip(point.lumped(fault).by_own) {
                    out[i] += scale * sums.by_gamma_l * d;
                }
            }
            let Some(other) = at.other_line() else {
                continue;
            };
            let here = point.stretch(fault);
            for (i, (ln_zc, gamma_l)) in here.by_line(line).indexed() {
                out[i] += scale * (sums.by_ln_z * ln_zc + sums.by_gamma_l * gamma_l);
            }
            let by_own = here.by_own(line, point.theta[AT.line.ln_z]);
            for (i, (ln_zc, gamma_l)) in other.zip_with(by_own, |i, d| (i, d)).into_array() {
                out[i] += scale * (sums.by_ln_z * ln_zc + sums.by_gamma_l * gamma_l);
            }
        }
        for cut in self.cuts {
            let rate = |part: usize| {
                let gamma_l = match self.body[part].kind {
                    PieceKind::Stretch(fault) => point.stretch(fault).gamma_l,
                    _ => line.gamma_l,
                };
                self.by_gamma_l(part + BODY) * gamma_l
            };
            // a place moves delay from the piece behind it to the one before it
            let by_place = scale * (rate(cut.before) - rate(cut.after));
            for (i, by) in cut.by {
                out[i] += by_place * by;
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
