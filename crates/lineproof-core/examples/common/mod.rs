//! A cable by theory, so that the examples need no files.

use std::f64::consts::TAU;

use lineproof_core::Sweep;
use lineproof_core::constants::SPEED_OF_LIGHT_M_S;
use lineproof_core::line::input_impedance::{Termination, input_reflection};
use lineproof_core::line::primary::Primary;

/// Reflection of 3 m of 75-ohm cable with a velocity factor of 0.66 that loses 8 dB/100 m at 100 MHz, against
/// 50 ohm. The conductors' resistance grows as the root of the frequency and their internal reactance equals
/// it, as skin effect has it.
pub(crate) fn cable(end: Termination) -> Sweep {
    let (z0_ohm, velocity_m_s) = (75.0, 0.66 * SPEED_OF_LIGHT_M_S);
    let reflection_at = |&freq_hz: &f64| {
        let r_ohm_m = 1.38 * (freq_hz / 100e6).sqrt();
        let line = Primary {
            r_ohm_m,
            l_h_m: z0_ohm / velocity_m_s + r_ohm_m / (TAU * freq_hz),
            g_s_m: 0.0,
            c_f_m: 1.0 / (z0_ohm * velocity_m_s),
        };
        let line = line.secondary(freq_hz)?;
        input_reflection(end, line.z0_ohm, line.gamma_l(3.0), 50.0)
    };
    let freq_hz: Vec<f64> = (1..=200).map(|k| 1.5e6 * f64::from(k)).collect();
    let reflection: Option<Vec<_>> = freq_hz.iter().map(reflection_at).collect();
    let reflection = reflection.expect("a passive line reflects something at every frequency");
    Sweep::new(freq_hz, reflection, 50.0).expect("the frequencies rise")
}
