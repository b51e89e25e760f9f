//! What the joint estimate believes of adapters behind the calibrated plane and of the calibration's
//! standards, where somebody says so: prior means and spreads instead of certainties.
//!
//! An adapter is a line of its own beyond the plug, with impedance, delay and a loss that grows as
//! √f; without one its delay is zero and known. Standards with an offset line are taken by what
//! that line adds at low frequency, C + T/Z and L + T·Z: valid while ωT is well below 1.

use super::super::model::{
    Adapter as AdapterUnknowns, Normal, Parameters, Standards as StandardUnknowns,
};
use crate::bench::{KnownResidual, KnownStandards, Plane};
use crate::calibration::fixture::Adapter;
use crate::constants::DB_PER_NEPER;
use crate::uncertain::Uncertain;

/// Spread of what is certain: nothing can be exactly so in units of its spread.
const CERTAIN_S: f64 = 1e-18;
const CERTAIN: f64 = 1e-9;

/// What is believed of the plane.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct PlanePrior {
    adapters: [Option<Adapter>; 2],
    standards: Standards,
    /// What is known of the size of what calibration left.
    pub(crate) residual: KnownResidual,
}

/// What is believed of the calibration's standards.
#[derive(Clone, Copy, Debug, Default)]
enum Standards {
    /// What ordinary ones are like.
    #[default]
    Ordinary,
    Known(KnownStandards),
    /// As ordinary ones, before a two-port that was de-embedded.
    Before,
}

impl PlanePrior {
    pub(crate) fn of(plane: &Plane) -> Self {
        Self {
            adapters: [plane.near, plane.far],
            standards: match plane.standards {
                _ if plane.de_embedded => Standards::Before,
                Some(known) => Standards::Known(known),
                None => Standards::Ordinary,
            },
            residual: plane.residual,
        }
    }

    /// Whether the sweeps had a two-port before the cable: then nothing at the plane tells of them.
    pub(crate) fn is_de_embedded(&self) -> bool {
        matches!(self.standards, Standards::Before)
    }

    /// The same for a cable that ends before its far adapter.
    pub(crate) fn without_far_adapter(self) -> Self {
        let [near, _] = self.adapters;
        Self {
            adapters: [near, None],
            ..self
        }
    }

    /// Sets the priors of adapters and, where they are known, of standards and far ends.
    pub(crate) fn apply(&self, kit_ohm: f64, prior: &mut Parameters<Normal>) {
        let [near, far] = self.adapters;
        prior.near_adapter = adapter(near.as_ref(), kit_ohm);
        prior.far_adapter = adapter(far.as_ref(), kit_ohm);
        match self.standards {
            Standards::Ordinary => {}
            Standards::Known(standards) => set_standards(&standards, kit_ohm, prior),
            Standards::Before => leave_standards_out(prior),
        }
    }
}

fn adapter(adapter: Option<&Adapter>, kit_ohm: f64) -> AdapterUnknowns<Normal> {
    let at_least = |value: Uncertain, sd: f64| Normal::new(value.value, value.u.max(sd));
    let Some(a) = adapter else {
        return AdapterUnknowns {
            delay_s: Normal::new(0.0, CERTAIN_S),
            ln_z: Normal::new(0.0, CERTAIN),
            loss_np: Normal::new(0.0, CERTAIN),
        };
    };
    let ln_z = (a.impedance_ohm.value / kit_ohm).ln();
    AdapterUnknowns {
        delay_s: at_least(a.one_way_delay_s, CERTAIN_S),
        ln_z: Normal::new(ln_z, a.impedance_ohm.relative().max(CERTAIN)),
        loss_np: at_least(a.loss_db.scaled(1.0 / DB_PER_NEPER), CERTAIN),
    }
}

/// Each standard's prior with that of the far end's part that is made of it.
fn with_far_ends(prior: &mut Parameters<Normal>) -> [(&mut Normal, &mut Normal); 4] {
    let (standards, far_end) = (&mut prior.standards, &mut prior.far_end);
    [
        (&mut standards.open, &mut far_end.open),
        (&mut standards.short, &mut far_end.short),
        (&mut standards.load_l, &mut far_end.load_l),
        (&mut standards.load_c, &mut far_end.load_c),
    ]
}

/// Behind a two-port that was de-embedded, the error of a standard is turned by it and as smooth as any
/// other; the far end keeps what the standards are.
fn leave_standards_out(prior: &mut Parameters<Normal>) {
    for (standard, end) in with_far_ends(prior) {
        // the far end was standard and own part together, and both stay
        end.mean += standard.mean;
        end.sd = end.sd.hypot(standard.sd);
        *standard = Normal::new(0.0, CERTAIN_S);
    }
}

/// The standards' means and spreads. Sweeps that were corrected for them have standards without
/// parasitics, as far as these are known; then the far end has them by itself.
fn set_standards(standards: &KnownStandards, kit_ohm: f64, prior: &mut Parameters<Normal>) {
    let (c, l) = (kit_ohm, 1.0 / kit_ohm);
    let known = StandardUnknowns {
        open: standards.open_f.scaled(c),
        short: standards.short_h.scaled(l),
        load_l: standards.load_h.scaled(l),
        load_c: standards.load_f.scaled(c),
    };
    for ((standard, end), Uncertain { value, u }) in
        with_far_ends(prior).into_iter().zip(known.into_array())
    {
        let (of_standard, of_end) = if standards.corrected {
            (0.0, value)
        } else {
            (value, 0.0)
        };
        *standard = Normal::new(of_standard, u.max(CERTAIN_S));
        end.mean = of_end;
    }
}
