//! A port with nothing on it, or with a part of the kit: an open or shorted sweep whose phase leaves
//! no room for a cable.

use std::f64::consts::PI;

use crate::line::velocity::{group_delay_of_slope_s, unwrapped_rad};
use crate::sweep::Sweep;

/// One way through 1 cm of solid polyethylene, s: less than two plugs alone. Common practice, no source.
pub const SHORTEST_CABLE_S: f64 = 50e-12;
/// What nothing reflects at least; the rest is what the analyser leaves uncorrected.
const ALL: f64 = 0.8;
/// Largest rms distance of the phase from a straight line, rad: as much as an uncorrected analyser's.
const STRAIGHT_RAD: f64 = 0.1;

/// The longest one-way delay, s (95 %), that the phase leaves room for, if it is shorter than
/// [`SHORTEST_CABLE_S`] and everything comes back. A pin that is broken in the near plug looks the same.
pub fn bare_port(sweep: &Sweep) -> Option<f64> {
    let reflection = sweep.reflection();
    if reflection.iter().any(|r| r.norm() < ALL) {
        return None;
    }
    let phase: Vec<f64> = reflection.iter().map(|r| r.arg()).collect();
    let phase_rad = unwrapped_rad(&phase);
    // The phase of what comes back turns twice.
    let delay_s = group_delay_of_slope_s(sweep.freq_hz(), &phase_rad)? / 2.0;
    let (rms_rad, u_s) = scatter(sweep.freq_hz(), &phase_rad, delay_s);
    let longest_s = delay_s.abs() + 2.0 * u_s;
    (rms_rad < STRAIGHT_RAD && longest_s < SHORTEST_CABLE_S).then_some(longest_s)
}

/// Rms distance of the phase from the line of this delay, rad, and the delay's standard uncertainty
/// from that scatter, s (least squares of a straight line).
fn scatter(freq_hz: &[f64], phase_rad: &[f64], delay_s: f64) -> (f64, f64) {
    let mean = |x: &[f64]| x.iter().sum::<f64>() / x.len() as f64;
    let (middle_hz, middle_rad) = (mean(freq_hz), mean(phase_rad));
    let slope = -4.0 * PI * delay_s;
    let squares: f64 = freq_hz
        .iter()
        .zip(phase_rad)
        .map(|(f, phase)| (phase - middle_rad - slope * (f - middle_hz)).powi(2))
        .sum();
    let spread: f64 = freq_hz.iter().map(|f| (f - middle_hz).powi(2)).sum();
    let rms_rad = (squares / freq_hz.len() as f64).sqrt();
    (rms_rad, rms_rad / spread.sqrt() / (4.0 * PI))
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;

    use super::*;

    /// An open or shorted lossless line of 50 ohm with this delay, to 600 MHz.
    fn ended(delay_s: f64, at_end: f64) -> Sweep {
        let freq_hz: Vec<f64> = (0..201).map(|i| 1e6 + 3e6 * f64::from(i)).collect();
        let reflection = freq_hz
            .iter()
            .map(|f| Complex64::from_polar(1.0, -4.0 * PI * f * delay_s) * at_end)
            .collect();
        Sweep::new(freq_hz, reflection, 50.0).unwrap()
    }

    #[test]
    fn what_is_shorter_than_its_plugs_is_none() {
        for at_end in [1.0, -1.0, 1.18] {
            for delay_s in [0.0, -3e-12, 2e-12, 40e-12] {
                let longest = bare_port(&ended(delay_s, at_end)).unwrap();
                assert!((longest - delay_s.abs()).abs() < 1e-13, "{longest:e}");
            }
            for delay_s in [60e-12, 0.25e-9, 10e-9] {
                assert_eq!(bare_port(&ended(delay_s, at_end)), None, "{delay_s:e}");
            }
        }
        assert_eq!(bare_port(&ended(0.0, 0.5)), None, "something takes half");
    }

    /// Steps of a whole turn hide a delay; what a line loses shows it all the same.
    #[test]
    fn a_step_of_a_whole_turn_is_no_bare_port() {
        let line = ended(1.0 / (2.0 * 3e6), 1.0);
        let reflection: Vec<Complex64> = line
            .freq_hz()
            .iter()
            .zip(line.reflection())
            // Skin effect of 3 dB round trip at 600 MHz turns the phase by what it takes in neper.
            .map(|(f, r)| r * (Complex64::new(-0.345, -0.345) * (f / 6e8).sqrt()).exp())
            .collect();
        let lossy = Sweep::new(line.freq_hz().to_vec(), reflection, 50.0).unwrap();
        assert_eq!(bare_port(&lossy), None);
    }
}
