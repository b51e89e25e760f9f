//! What an event does by itself to a line of the cable's impedance.
//!
//! The chain matrix of a short line of relative impedance z and propagation γl has A = D = cosh γl, B = z sinh γl,
//! C = sinh γl / z, and between lines of relative impedance 1
//!
//! S11 = (B − C)/(2A + B + C), S21 = 2/(2A + B + C)
//!
//! (D. M. Pozar, Microwave Engineering, 4th ed., table 4.2). What is lumped stands in the fit as such a line.

use num_complex::Complex64;

use super::super::model::{AT, Fault, LineLaw, LumpedPoint, StretchPoint};
use super::estimate::{Derivative, Estimate};
use crate::constants::DB_PER_NEPER;
use crate::uncertain::Uncertain;

/// Step of a difference, in standard deviations of the prior.
const STEP: f64 = 1e-4;

/// What an event does by itself at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByItself {
    /// Size of its reflection.
    pub reflection: f64,
    /// What does not get past it, reflected or lost, dB.
    pub loss_db: Uncertain,
}

impl Estimate {
    /// What the event of this number in [`Estimate::events`] does by itself at `freq_hz`; nothing for an early
    /// end, which passes nothing, and for another cable, which has no far side.
    pub fn by_itself(&self, event: usize, freq_hz: f64) -> Option<ByItself> {
        let fault = self.fit.layout.fault_at().get(event)?;
        if matches!(fault, Fault::Between { .. }) {
            return None;
        }
        let theta = &self.fit.theta;
        let [reflection, passed] = through(fault, theta, freq_hz);
        let loss_db = |passed: Complex64| -DB_PER_NEPER * passed.norm().ln();
        let slope = |unknown: usize| {
            let step = STEP * self.fit.prior.scale[unknown];
            let at = |by: f64| {
                let mut moved = theta.clone();
                moved[unknown] += by;
                loss_db(through(fault, &moved, freq_hz)[1])
            };
            (unknown, (at(step) - at(-step)) / (2.0 * step))
        };
        let by: Derivative = fault.unknowns().into_iter().map(slope).collect();
        let loss = Uncertain::new(loss_db(passed), self.standard(&by));
        (loss.value.is_finite() && loss.u.is_finite()).then_some(ByItself {
            reflection: reflection.norm(),
            loss_db: loss,
        })
    }
}

/// S11 and S21 between lines of the cable's impedance.
fn through(fault: &Fault<usize>, theta: &[f64], freq_hz: f64) -> [Complex64; 2] {
    let line = LineLaw::of_unknowns(theta).at(freq_hz);
    let (ln_z, gamma_l) = if let Some(other) = fault.other_line() {
        let [begin, end] = fault.edges(theta);
        let stretch = StretchPoint::new(&line, theta[AT.line.ln_z], &other.values(theta));
        let share = (end.place - begin.place).max(0.0);
        (stretch.ln_zc, stretch.gamma_l * share)
    } else {
        let lumped = LumpedPoint::new(&fault.values(theta), freq_hz);
        (lumped.ln_z.into(), lumped.gamma_l)
    };
    between_lines((ln_z - line.ln_zc).exp(), gamma_l)
}

/// S11 and S21 of a short line between lines of relative impedance 1.
fn between_lines(z: Complex64, gamma_l: Complex64) -> [Complex64; 2] {
    let (a, sinh) = (gamma_l.cosh(), gamma_l.sinh());
    let (b, c) = (z * sinh, sinh / z);
    let sum = 2.0 * a + b + c;
    [(b - c) / sum, 2.0 / sum]
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_PI_2;

    /// A quarter wave of z reflects (z² − 1)/(z² + 1) and passes the rest; a resistor r in series as the fit has
    /// it reflects r/(2 + r) (Pozar, table 4.2 and section 2.5).
    #[test]
    fn a_quarter_wave_and_a_resistor() {
        let [reflection, passed] = between_lines(0.76.into(), Complex64::new(0.0, FRAC_PI_2));
        let wanted = (1.0 - 0.76f64.powi(2)) / (1.0 + 0.76f64.powi(2));
        assert!((reflection.norm() - wanted).abs() < 1e-12, "{reflection}");
        assert!((passed.norm_sqr() + wanted * wanted - 1.0).abs() < 1e-12);
        let joint = Fault::Series {
            place: 0.5,
            ln_r: 0.2f64.ln(),
            ln_l: -60.0,
        };
        let lumped = LumpedPoint::new(&joint, 1e8);
        let z = Complex64::from(lumped.ln_z).exp();
        let [reflection, passed] = between_lines(z, lumped.gamma_l);
        assert!((reflection - 0.2 / 2.2).norm() < 1e-6, "{reflection}");
        assert!((passed - 2.0 / 2.2).norm() < 1e-6, "{passed}");
    }
}
