//! What a method's interval is made of: the same parts, counted the same way, for every method.
//!
//! All figures are standard uncertainties (k = 1).

use std::f64::consts::PI;

use crate::bench::{Analyser, Bench, FarEnd};
use crate::uncertain::Uncertain;

use super::phase::{Lost, Trace};
use super::{Method, Unserved};

/// Delay of the plug at the near end, s: 10 to 20 mm of line that is not the cable. Common
/// practice, no single source.
const PLUG_DELAY_S: f64 = 80e-12;

/// Impedance that plugs are made for, ohm.
const PLUG_OHM: f64 = 50.0;

/// Fringing capacitance of a bare open end, F: 20 to 80 fF is typical. Common practice.
pub(crate) const FRINGING_F: Uncertain = Uncertain {
    value: 40e-15,
    u: 20e-15,
};

/// Uncertainty of one reading of the reflection, per real and imaginary part: what calibration
/// leaves, noise, and a plug whose impedance is not the cable's (a short line of impedance Zp and
/// delay t reflects ωt(Zp/Z − Z/Zp)/2).
pub(crate) fn reflection_u(analyser: &Analyser, freq_hz: f64, z0_ohm: f64, noise_gain: f64) -> f64 {
    let noise = analyser.noise * noise_gain;
    systematic_u(analyser, freq_hz, z0_ohm).hypot(noise)
}

/// The part of [`reflection_u`] that neighbouring points share.
pub(crate) fn systematic_u(analyser: &Analyser, freq_hz: f64, z0_ohm: f64) -> f64 {
    // calibration and plug do not know of each other
    analyser.residual(freq_hz).hypot(plug_u(freq_hz, z0_ohm))
}

/// Reflection of a plug whose impedance is not the cable's.
pub(crate) fn plug_u(freq_hz: f64, z0_ohm: f64) -> f64 {
    PI * freq_hz * PLUG_DELAY_S * (z0_ohm / PLUG_OHM - PLUG_OHM / z0_ohm).abs()
}

/// What a lossless plug adds to the uncertainty of one point's magnitude so that an average over
/// frequency comes out right: a ripple about zero, alike within a quarter of its turn.
pub(crate) fn plug_ripple_u(
    freq_hz: f64,
    z0_ohm: f64,
    step_hz: f64,
    round_trip_delay_s: f64,
) -> f64 {
    // points within a quarter of the ripple's turn repeat one error; as white noise it must be larger by √n
    let alike = (0.25 / (step_hz * round_trip_delay_s)).max(1.0);
    let finite = if alike.is_finite() { alike } else { 1.0 };
    plug_u(freq_hz, z0_ohm) * finite.sqrt()
}

/// What a plug at each end does to the impedance that open/short pair or two-port read, relative
/// and signed: ωt(Zp/Z − Z/Zp) cot y, y the electrical length (both plugs as excess series
/// inductance and shunt capacitance, first order). A short piece reads the mean of cable and
/// plugs; over whole half waves it averages out.
pub(crate) fn plug_mix_u_rel(freq_hz: f64, z0_ohm: f64, line_rad: f64) -> f64 {
    let mismatch = (z0_ohm / PLUG_OHM - PLUG_OHM / z0_ohm).abs();
    let sine = line_rad.sin();
    // the first-order formula has a pole at half waves, where the reading is left out by its weight anyway
    let away = if sine.abs() < 0.05 {
        0.05_f64.copysign(sine)
    } else {
        sine
    };
    2.0 * PI * freq_hz * PLUG_DELAY_S * mismatch * line_rad.cos() / away
}

/// What plugs of another impedance do to a delay read at odd quarter waves, s. The plug at the
/// low-impedance end looks longer by Zp/Z, the one at the high-impedance end by Z/Zp, which
/// nearly cancels between two plugs and stays with a single one.
pub(crate) fn plug_delay_u_s(z0_ohm: f64) -> f64 {
    0.25 * PLUG_DELAY_S * (z0_ohm / PLUG_OHM - PLUG_OHM / z0_ohm).abs()
}

/// The unit of every impedance: 1 with the relative uncertainty of the calibration load.
pub(crate) fn scale(bench: &Bench) -> Uncertain {
    Uncertain::new(1.0, bench.kit_load.ohm.relative())
}

/// Resistance at the far end relative to its stated value, apart from [`scale`]: exact if the
/// part is the calibration load itself, whose error is in the scale already.
pub(crate) fn far_load_ratio(bench: &Bench) -> Uncertain {
    if bench.far_load_is_kit_load() {
        Uncertain::exact(1.0)
    } else {
        Uncertain::new(1.0, bench.far_load.ohm.relative())
    }
}

/// How much of [`scale`] the far-end load shares: all if it is the calibration load.
pub(crate) fn far_load_shares_scale(bench: &Bench) -> bool {
    bench.far_load_is_kit_load()
}

/// Follows the first sweep with this far end whose phase can be followed.
pub(crate) fn trace(bench: &Bench, end: FarEnd, method: Method) -> Result<Trace<'_>, Unserved> {
    let length_m = bench.length_m.map(|l| l.value);
    let mut first_lost: Option<(Lost, &str)> = None;
    for ended in bench.ended(end) {
        match Trace::follow(ended, length_m) {
            Ok(trace) => return Ok(trace),
            Err(lost) => first_lost = first_lost.or(Some((lost, &ended.label))),
        }
    }
    match first_lost {
        Some((lost, label)) => Err(lost_in(method, &lost, label)),
        None => Err(Unserved::new(
            method,
            format!("no sweep with the far end {end}"),
        )),
    }
}

/// Follows the open sweep, or the short one if there is no open or it can't be followed.
pub(crate) fn open_or_short(bench: &Bench, method: Method) -> Result<Trace<'_>, Unserved> {
    let open = trace(bench, FarEnd::Open, method);
    match (open, bench.first(FarEnd::Short)) {
        (Err(open), Some(_)) => {
            let has_open = bench.first(FarEnd::Open).is_some();
            trace(bench, FarEnd::Short, method).map_err(|short| if has_open { open } else { short })
        }
        (open, _) => open,
    }
}

/// A lost phase as the reason why `method` has no answer.
pub(crate) fn lost_in(method: Method, lost: &Lost, label: &str) -> Unserved {
    Unserved {
        method,
        reason: format!("{label}: {lost}"),
        would_do: lost.would_do(),
    }
}
