//! The line that a measured adapter is like, for where an adapter is believed rather than known.
//!
//! From the chain parameters at each frequency: Zc = √(B/C), cosh γl = (A + D)/2. The delay is the mean
//! of the phase over frequency weighted with frequency squared, the impedance that of the upper half of
//! the band, the loss per √f. What each of them spreads by over the band goes into its uncertainty.
//! Valid for an adapter shorter than half a wave at the stop, of one impedance.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::fixture::{Adapter, LOSS_AT_HZ};
use super::tabulated::two_port_at;
use crate::constants::DB_PER_NEPER;
use crate::network::conversion::TwoPort;
use crate::sweep::ThroughSweep;
use crate::uncertain::Uncertain;

/// Delay, s, that a measured adapter is uncertain by at least: its planes.
const LEAST_U_DELAY_S: f64 = 2e-12;
/// The same for its impedance, relative.
const LEAST_U_IMPEDANCE: f64 = 0.005;

/// The line that is like `two_port`; `None` if nothing passes it at any frequency.
pub fn equivalent_line(two_port: &ThroughSweep) -> Option<Adapter> {
    let stop_hz = *two_port.freq_hz().last()?;
    let at = |&f: &f64| {
        let chain = two_port_at(two_port, f)?.chain().ok()?;
        // image impedance √(B/C) and cosh γl = (A + D)/2 of a reciprocal, symmetric two-port
        let z = (chain.b_ohm / chain.c_s).sqrt();
        let half = 0.5 * (chain.a + chain.d);
        // arcosh as ln(x + √(x − 1)√(x + 1)), which keeps to the principal branch
        let gamma_l: Complex64 = (half + (half - 1.0).sqrt() * (half + 1.0).sqrt()).ln();
        // ±γl have the same cosh: the wave that lags is the one that travels
        let gamma_l = if gamma_l.im < 0.0 { -gamma_l } else { gamma_l };
        // the upper half only: low down an adapter turns so little that its parameters drown in the readings' errors
        (f >= 0.5 * stop_hz && z.is_finite() && gamma_l.is_finite()).then_some((f, z, gamma_l))
    };
    let points: Vec<(f64, Complex64, Complex64)> =
        two_port.freq_hz().iter().filter_map(at).collect();
    let of = |value: &dyn Fn(f64, Complex64, Complex64) -> f64| {
        // an error of the reading shifts delay and impedance by 1/f, so weights go as f²
        let values = points.iter().map(|&(f, z, g)| (f * f, value(f, z, g)));
        mean_and_spread(values)
    };
    let delay = of(&|f, _, g| g.im / (TAU * f))?.widened(LEAST_U_DELAY_S);
    let impedance = of(&|_, z, _| z.re.abs())?;
    let loss = of(&|f, _, g| g.re.abs() * DB_PER_NEPER / (f / LOSS_AT_HZ).sqrt())?;
    Some(Adapter {
        impedance_ohm: impedance.widened(LEAST_U_IMPEDANCE * impedance.value),
        one_way_delay_s: delay,
        loss_db: loss,
    })
}

/// Weighted mean, with the standard deviation of the values.
fn mean_and_spread(values: impl Iterator<Item = (f64, f64)> + Clone) -> Option<Uncertain> {
    let total: f64 = values.clone().map(|(w, _)| w).sum();
    let mean = values.clone().map(|(w, v)| w * v).sum::<f64>() / total;
    let variance = values.map(|(w, v)| w * (v - mean).powi(2)).sum::<f64>() / total;
    mean.is_finite()
        .then(|| Uncertain::new(mean, variance.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_like_itself() {
        let line = Adapter {
            impedance_ohm: Uncertain::exact(46.0),
            one_way_delay_s: Uncertain::exact(130e-12),
            loss_db: Uncertain::exact(0.04),
        };
        let freq_hz: Vec<f64> = (1..=50).map(|i| f64::from(i) * 2e7).collect();
        let s = freq_hz.iter().map(|&f| line.scattering(f, 50.0).unwrap());
        let (s11, s21) = s.map(|s| (s.s11, s.s21)).unzip();
        let sweep = ThroughSweep::new(freq_hz, s11, s21, None, 50.0).unwrap();
        let found = equivalent_line(&sweep).unwrap();
        assert!((found.impedance_ohm.value - 46.0).abs() < 1e-6);
        assert!((found.one_way_delay_s.value / 130e-12 - 1.0).abs() < 1e-9);
        assert!((found.loss_db.value - 0.04).abs() < 1e-9);
        assert!(found.one_way_delay_s.u >= LEAST_U_DELAY_S);
    }
}
