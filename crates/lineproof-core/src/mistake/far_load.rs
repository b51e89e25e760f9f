//! The resistor at the far end, read through the cable at low frequency.
//!
//! Far below its quarter wave a cable is hardly there: the input shows the far end's resistance and
//! what the conductors add. To second order in the electrical length θ the real part is
//! R(1 + θ²(Z²/R² − 1)) (expansion of the input impedance of a line without loss), so points with
//! θ below 0.12 keep it within 4 % even for 120 ohm on 50.

use crate::bench::{Analyser, Load};
use crate::sweep::Sweep;

/// A far end that is not the stated load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OtherLoad {
    /// Resistance that the sweep shows at its lowest points, ohm.
    pub found_ohm: f64,
    /// What was stated, ohm.
    pub stated_ohm: f64,
}

/// Largest electrical length, rad.
const SHORT_RAD: f64 = 0.12;
/// Difference that line and analyser explain, relative.
const EXPLAINED: f64 = 0.06;
/// Points that are read.
const MOST_POINTS: usize = 8;
/// Conductor resistance of thin cable at the lowest frequencies, ohm per nanosecond of one-way delay:
/// 0.2 ohm/m at 5 ns/m. Common practice.
const CONDUCTOR_OHM_PER_S: f64 = 0.05e9;

/// Compares a loaded sweep with the load that is said to end it; nothing if they agree or the sweep
/// starts too high to tell.
pub fn other_load(
    sweep: &Sweep,
    one_way_delay_s: f64,
    stated: Load,
    analyser: &Analyser,
) -> Option<OtherLoad> {
    let short = |f: &f64| std::f64::consts::TAU * f * one_way_delay_s < SHORT_RAD;
    let points = sweep.freq_hz().iter().take_while(|f| short(f)).count();
    if points == 0 {
        return None;
    }
    let mut real: Vec<f64> = sweep.impedance_ohm()[..points.min(MOST_POINTS)]
        .iter()
        .map(|z| z.re)
        .collect();
    real.sort_by(f64::total_cmp);
    let found_ohm = real[real.len() / 2];
    let stated_ohm = stated.ohm.value;
    // dR/dΓ = 2R near the reference, more away from it
    let reading = 6.0 * analyser.residual(sweep.start_hz()) * (stated_ohm + sweep.z_ref_ohm());
    let low = stated_ohm * (1.0 - EXPLAINED) - 3.0 * stated.ohm.u - reading;
    let high = stated_ohm * (1.0 + EXPLAINED)
        + 3.0 * stated.ohm.u
        + reading
        + CONDUCTOR_OHM_PER_S * one_way_delay_s;
    (found_ohm.is_finite() && !(low..=high).contains(&found_ohm)).then_some(OtherLoad {
        found_ohm,
        stated_ohm,
    })
}
