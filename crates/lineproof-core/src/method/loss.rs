//! Loss of the piece for methods that only need it as a correction.

use crate::bench::{Bench, FarEnd};
use crate::constants::DB_PER_NEPER;
use crate::uncertain::Uncertain;

use super::budget::reflection_u;
use super::phase::{Trace, refer_gain};
use super::text::{decibel, significant};

/// Loss in Np per radian of line at 30 MHz for flexible cables of 3 to 10 mm: skin depth over
/// conductor radius. From the geometry of common types; they scatter by a factor of two.
const TYPICAL_NP_PER_RAD_30MHZ: f64 = 0.0075;

/// Relative standard uncertainty of the typical loss.
const TYPICAL_U_REL: f64 = 0.6;

/// One-way loss and where it comes from.
#[derive(Clone, Debug)]
pub(crate) struct Loss {
    /// Loss, Np.
    pub np: Uncertain,
    /// How the working calls it.
    pub basis: String,
    /// Whether it was measured rather than assumed.
    pub measured: bool,
}

impl Loss {
    /// `0.11 dB (typical for the size)`.
    pub(crate) fn text(&self) -> String {
        let db = self.np.value * DB_PER_NEPER;
        format!("{} ({})", decibel(db), self.basis)
    }
}

/// Loss that a flexible cable of `line_rad` electrical length usually has at `freq_hz`.
pub(crate) fn typical(freq_hz: f64, line_rad: f64) -> Loss {
    // skin effect grows with √f and the length of a radian shrinks with f
    let per_rad = TYPICAL_NP_PER_RAD_30MHZ * (30e6 / freq_hz.max(1e5)).sqrt();
    let np = per_rad * line_rad;
    Loss {
        np: Uncertain::new(np, TYPICAL_U_REL * np),
        basis: "assumed, typical of flexible cables".to_owned(),
        measured: false,
    }
}

/// A loss that somebody stated, dB.
pub(crate) fn stated(loss_db: Uncertain) -> Loss {
    Loss {
        np: loss_db.scaled(1.0 / DB_PER_NEPER),
        basis: "stated".to_owned(),
        measured: true,
    }
}

/// Loss at `freq_hz` from the open and short sweeps if there are any, weighed with the typical
/// one: e^(−2x) is the reflection's magnitude referred to the cable's own impedance.
pub(crate) fn measured(bench: &Bench, freq_hz: f64, line_rad: f64, z0_ohm: f64) -> Loss {
    let assumed = typical(freq_hz, line_rad);
    let length_m = bench.length_m.map(|l| l.value);
    let found: Vec<_> = [FarEnd::Open, FarEnd::Short]
        .iter()
        .filter_map(|&end| Trace::follow(bench.first(end)?, length_m).ok())
        .filter_map(|trace| at_one_end(bench, &trace, freq_hz, z0_ohm))
        .collect();
    if found.is_empty() {
        return assumed;
    }
    let count = found.len() as f64;
    // Both ends share what calibration left, so two are no better than one.
    let mean = found.iter().map(|q| q.value).sum::<f64>() / count;
    let u = found.iter().map(|q| q.u).sum::<f64>() / count;
    let np = weighted_mean(assumed.np, Uncertain::new(mean, u));
    // how much the measured part counts in the weighted mean
    let share = (assumed.np.u / assumed.np.u.hypot(u)).powi(2);
    let percent = significant(100.0 * share, 2);
    Loss {
        np,
        basis: format!("{percent} % from the return loss of the reflecting end, rest typical"),
        measured: true,
    }
}

/// Mean of two values of one quantity, weighted by 1/u².
pub(crate) fn weighted_mean(a: Uncertain, b: Uncertain) -> Uncertain {
    let (wa, wb) = (a.u.powi(-2), b.u.powi(-2));
    // one of them exact: it alone counts
    if !(wa + wb).is_finite() {
        return if a.u <= b.u { a } else { b };
    }
    Uncertain::new(
        (wa * a.value + wb * b.value) / (wa + wb),
        (wa + wb).powf(-0.5),
    )
}

fn at_one_end(bench: &Bench, trace: &Trace, freq_hz: f64, z0_ohm: f64) -> Option<Uncertain> {
    let reading = trace.read(freq_hz)?;
    let z_ref_ohm = trace.ended.sweep.z_ref_ohm();
    let size = super::phase::refer(reading.reflection, z_ref_ohm, z0_ohm).norm();
    let u = reflection_u(&bench.analyser, freq_hz, z0_ohm, reading.noise_gain)
        * refer_gain(reading.reflection, z_ref_ohm, z0_ohm);
    let np = -0.5 * size.ln();
    // x = −½ ln |Γ|
    np.is_finite().then(|| Uncertain::new(np, 0.5 * u / size))
}
