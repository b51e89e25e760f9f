//! What the joint estimate believes of adapters behind the calibrated plane and of the calibration's
//! standards, where somebody says so: prior means and spreads instead of certainties.
//!
//! An adapter is a line of its own beyond the plug, with impedance, delay and a loss that grows as
//! √f; without one its delay is nought and known. Standards with an offset line are taken by what
//! that line adds at low frequency, C + T/Z and L + T·Z: valid while ωT is well below 1.

use num_complex::Complex64;

use super::unknowns::{Prior, at};
use crate::bench::{KnownPart, KnownResidual, KnownStandards, Plane};
use crate::calibration::Standard;
use crate::calibration::fixture::{Adapter, LOSS_AT_HZ};
use crate::constants::DB_PER_NEPER;
use crate::uncertain::Uncertain;

/// Unknowns of an adapter, from its first on.
pub(super) mod of_adapter {
    /// One-way delay, s.
    pub(in super::super) const DELAY: usize = 0;
    /// ln of the impedance over the calibration load.
    pub(in super::super) const LN_Z: usize = 1;
    /// One-way loss at 1 GHz, Np.
    pub(in super::super) const LOSS: usize = 2;
    /// How many there are.
    pub(in super::super) const COUNT: usize = 3;
}

/// A part at the plane that the calibration did not use, by what it is said to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct AtPlane {
    standard: Standard,
    z_ref_ohm: f64,
    /// Standard uncertainty of its reflection (complex rms over the sweep): the part's own error is
    /// as smooth as that of a connection, and is taken as more of it.
    pub(super) u: f64,
}

impl AtPlane {
    pub(super) fn of(part: &KnownPart) -> Self {
        let z_ref_ohm = part.sweep.z_ref_ohm();
        let square = |&f: &f64| {
            let spread = part.part.spread(f, z_ref_ohm);
            spread.iter().map(Complex64::norm_sqr).sum::<f64>()
        };
        let grid = part.sweep.freq_hz();
        let mean = grid.iter().map(square).sum::<f64>() / grid.len() as f64;
        Self {
            standard: part.part,
            z_ref_ohm,
            u: mean.sqrt(),
        }
    }

    /// Its reflection against the calibration load. A description without one is as good as none.
    pub(super) fn reflection(&self, freq_hz: f64) -> Complex64 {
        let reflection = self.standard.reflection(freq_hz, self.z_ref_ohm);
        reflection.unwrap_or_default()
    }
}

/// Spread of what is certain: nothing can be exactly so in units of its spread.
const CERTAIN_S: f64 = 1e-18;
const CERTAIN: f64 = 1e-9;

/// An adapter's loss over its loss at 1 GHz.
pub(super) fn loss_shape(freq_hz: f64) -> f64 {
    (freq_hz / LOSS_AT_HZ).sqrt()
}

/// What is believed of the plane.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct PlanePrior {
    adapters: [Option<Adapter>; 2],
    standards: Standards,
    /// What is known of the size of what calibration left.
    pub(super) residual: KnownResidual,
}

/// What is believed of the calibration's standards.
#[derive(Clone, Copy, Debug, Default)]
enum Standards {
    /// What ordinary ones are like.
    #[default]
    Ordinary,
    Known(KnownStandards),
    /// As ordinary ones, before a two-port that was taken out.
    Before,
}

impl PlanePrior {
    pub(super) fn of(plane: &Plane) -> Self {
        Self {
            adapters: [plane.near, plane.far],
            standards: match plane.standards {
                _ if plane.taken_away => Standards::Before,
                Some(known) => Standards::Known(known),
                None => Standards::Ordinary,
            },
            residual: plane.residual,
        }
    }

    /// Whether the sweeps had a two-port before the cable: then nothing at the plane tells of them.
    pub(super) fn is_taken_away(&self) -> bool {
        matches!(self.standards, Standards::Before)
    }

    /// The same for a cable that ends before its far adapter.
    pub(super) fn without_far_adapter(self) -> Self {
        let [near, _] = self.adapters;
        Self {
            adapters: [near, None],
            ..self
        }
    }

    /// Sets the prior of adapters and, where they are known, of standards and far ends.
    pub(super) fn set(&self, kit_ohm: f64, prior: &mut Prior) {
        for (adapter, first) in self
            .adapters
            .iter()
            .zip([at::NEAR_ADAPTER, at::FAR_ADAPTER])
        {
            set_adapter(adapter.as_ref(), first, kit_ohm, prior);
        }
        match self.standards {
            Standards::Ordinary => {}
            Standards::Known(standards) => set_standards(&standards, kit_ohm, prior),
            Standards::Before => leave_standards_out(prior),
        }
    }
}

fn set_adapter(adapter: Option<&Adapter>, first: usize, kit_ohm: f64, prior: &mut Prior) {
    let mut set = |unknown: usize, mean: f64, u: f64, certain: f64| {
        prior.mean[first + unknown] = mean;
        prior.scale[first + unknown] = u.max(certain);
    };
    let Some(a) = adapter else {
        set(of_adapter::DELAY, 0.0, 0.0, CERTAIN_S);
        set(of_adapter::LN_Z, 0.0, 0.0, CERTAIN);
        set(of_adapter::LOSS, 0.0, 0.0, CERTAIN);
        return;
    };
    let delay = a.one_way_delay_s;
    set(of_adapter::DELAY, delay.value, delay.u, CERTAIN_S);
    let ln_z = (a.impedance_ohm.value / kit_ohm).ln();
    set(of_adapter::LN_Z, ln_z, a.impedance_ohm.relative(), CERTAIN);
    let loss_np = a.loss_db.scaled(1.0 / DB_PER_NEPER);
    set(of_adapter::LOSS, loss_np.value, loss_np.u, CERTAIN);
}

/// Standards, each with the far end's part that is made of it.
const STANDARDS: [(usize, usize); 4] = [
    (at::STANDARD_OPEN, at::END_OPEN),
    (at::STANDARD_SHORT, at::END_SHORT),
    (at::STANDARD_LOAD_L, at::END_LOAD_L),
    (at::STANDARD_LOAD_C, at::END_LOAD_C),
];

/// Behind a two-port that was taken out, the error of a standard is turned by it and as smooth as any
/// other; the far end keeps what the standards are.
fn leave_standards_out(prior: &mut Prior) {
    for (standard, end) in STANDARDS {
        prior.mean[end] += prior.mean[standard];
        prior.scale[end] = prior.scale[end].hypot(prior.scale[standard]);
        prior.mean[standard] = 0.0;
        prior.scale[standard] = CERTAIN_S;
    }
}

/// The standards' means and spreads. Sweeps that were corrected for them have standards without
/// parasitics, as far as these are known; then the far end has them by itself.
fn set_standards(standards: &KnownStandards, kit_ohm: f64, prior: &mut Prior) {
    let (c, l) = (kit_ohm, 1.0 / kit_ohm);
    let known = [
        standards.open_f.scaled(c),
        standards.short_h.scaled(l),
        standards.load_h.scaled(l),
        standards.load_f.scaled(c),
    ];
    for ((standard, end), Uncertain { value, u }) in STANDARDS.into_iter().zip(known) {
        let (of_standard, of_end) = if standards.corrected {
            (0.0, value)
        } else {
            (value, 0.0)
        };
        prior.mean[standard] = of_standard;
        prior.scale[standard] = u.max(CERTAIN_S);
        prior.mean[end] = of_end;
    }
}
