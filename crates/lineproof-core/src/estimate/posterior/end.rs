//! Whether the sweeps show where the cable ends, and whether it takes an analyser to explain them that nobody has.

use std::f64::consts::TAU;

use super::super::model::{AT, Kind, OFFSET, PROPORTIONAL, Plug, QUADRATIC, plug_delay_s};
use super::estimate::Estimate;
use crate::constants::DB_PER_NEPER;

/// Standard deviations by which an end has to stand clear.
const CLEAR: f64 = 3.0;

impl Estimate {
    /// Whether the sweeps show where the cable ends.
    ///
    /// An open, a short and a through do. A loaded sweep does only where the cable's own impedance steps clearly
    /// to the load's: what else comes back may be a plug or a fault anywhere on the way, or nothing but noise and
    /// what calibration leaves. The step is compared where the line is a quarter wave long; there plugs reflect
    /// least of the frequencies that tell one end from the other.
    pub fn shows_end(&self) -> bool {
        let is_loaded = |kind: Kind| matches!(kind, Kind::Load | Kind::OtherLoad);
        let mut of_cable = self
            .grids
            .iter()
            .map(|g| g.kind)
            .filter(|k| k.is_of_cable());
        if !of_cable.all(is_loaded) {
            return true;
        }
        let (low_hz, high_hz) = self.covered_hz;
        let delay_s = self.one_way_delay_s(high_hz).value.max(f64::MIN_POSITIVE);
        let freq_hz = (0.25 / delay_s).clamp(low_hz, high_hz);
        let (relative, by) = self.ln_impedance(freq_hz);
        let step = relative - self.fit.theta[AT.far_end.load_ln_r];
        let there_and_back = (-2.0 * self.loss_db(freq_hz).value / DB_PER_NEPER).exp();
        let plugs = TAU * freq_hz * self.usual_plug_s(AT.near).hypot(self.usual_plug_s(AT.far));
        let by_calibration = self.calibration_leaves();
        let unsure = (self.standard(&by) / 2.0)
            .hypot(plugs)
            .hypot(by_calibration);
        (step / 2.0).tanh().abs() * there_and_back > CLEAR * unsure
    }

    /// Largest of the smooth errors that the fit takes the analyser to have after calibration, rms of the complex
    /// function.
    pub fn analyser_error(&self) -> f64 {
        let (layout, theta) = (&self.fit.layout, &self.fit.theta);
        let rms = |range: std::ops::Range<usize>| {
            let squares = theta[range].iter().map(|x| x * x);
            squares.sum::<f64>().sqrt()
        };
        let shared = [OFFSET, PROPORTIONAL, QUADRATIC].map(|f| layout.shared(f));
        let own = (0..layout.kinds.len())
            .flat_map(|set| [OFFSET, PROPORTIONAL].map(|f| layout.connection(set, f)));
        shared.into_iter().chain(own).map(rms).fold(0.0, f64::max)
    }

    /// What a plug of the prior reflects over its angular frequency, s: its delay times the spread of ln of its
    /// impedance.
    fn usual_plug_s(&self, at: Plug<usize>) -> f64 {
        let prior = &self.fit.prior;
        plug_delay_s(prior.mean[at.delay]).0 * prior.scale[at.ln_z]
    }

    /// Size of the errors that calibration and a connection leave, rms of the complex reflection.
    fn calibration_leaves(&self) -> f64 {
        let (layout, scale) = (&self.fit.layout, &self.fit.prior.scale);
        let terms = (2.0 * layout.terms as f64).sqrt();
        let connection = if layout.kinds.is_empty() {
            0.0
        } else {
            scale[layout.connection(0, OFFSET).start]
        };
        scale[layout.shared(OFFSET).start].hypot(connection) * terms
    }
}
