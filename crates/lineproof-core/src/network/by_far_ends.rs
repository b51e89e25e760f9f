//! A reciprocal two-port from reflections at one port with known ends at the other.
//!
//! Γ = S11 + S21² Γe/(1 − S22 Γe) for an end of reflection Γe (D. M. Pozar, Microwave Engineering, 4th ed.,
//! section 4.3). An ideal open, an ideal short and a match give all three numbers:
//!
//! S11 = Γl, S22 = (a − b)/(a + b), S21² = 2ab/(a + b) with a = Γo − Γl, b = Γl − Γs.
//!
//! The open and the short alone give them of a symmetric two-port, S11 = S22 = s:
//!
//! s = (Γo + Γs)/(2 + Γo − Γs), S21² = (Γo − Γs)(1 − s²)/2.

use num_complex::Complex64;

/// A reciprocal two-port by its reflections and the square of its transmission, which leaves out the sign of S21.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByFarEnds {
    /// Reflection at port 1 with a match at port 2.
    pub s11: Complex64,
    /// Reflection at port 2 with a match at port 1.
    pub s22: Complex64,
    /// S12 S21.
    pub s21_squared: Complex64,
}

impl ByFarEnds {
    /// From the reflections at port 1 with an open, a short and a match at port 2; not finite where the ends make no
    /// difference.
    pub fn of_open_short_load([open, short, load]: [Complex64; 3]) -> Self {
        let (a, b) = (open - load, load - short);
        Self {
            s11: load,
            s22: (a - b) / (a + b),
            s21_squared: 2.0 * a * b / (a + b),
        }
    }

    /// From the reflections with an open and a short, if both ports reflect alike.
    pub fn of_open_short([open, short]: [Complex64; 2]) -> Self {
        let apart = open - short;
        let s = (open + short) / (2.0 + apart);
        Self {
            s11: s,
            s22: s,
            s21_squared: 0.5 * apart * (1.0 - s * s),
        }
    }

    /// Reflection at port 1, against its own reference, with an end of reflection `end` at port 2.
    pub fn input(self, end: Complex64) -> Complex64 {
        self.s11 + self.s21_squared * end / (1.0 - self.s22 * end)
    }

    /// Reflection of the end at port 2 that makes this reflection at port 1.
    pub fn end(self, input: Complex64) -> Complex64 {
        let beyond = input - self.s11;
        beyond / (self.s21_squared + self.s22 * beyond)
    }

    /// A number whose size is the transducer power gain between a source and a load that both reflect `system` against
    /// the reference.
    pub fn gain_between(self, system: f64) -> Complex64 {
        let determinant = (1.0 - self.s11 * system) * (1.0 - self.s22 * system)
            - self.s21_squared * system * system;
        let own = 1.0 - system * system;
        self.s21_squared * own * own / (determinant * determinant)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::Chain;
    use crate::network::conversion::TwoPort;

    /// Against a cascade of a 50-ohm line, a resistance across and a 38-ohm line, by its chain matrix.
    #[test]
    fn ends_give_the_two_port_back() {
        let line = |ohm: f64, re, im| Chain::line(ohm.into(), Complex64::new(re, im)).unwrap();
        let parts = [
            line(50.0, 0.1, 2.2),
            Chain::shunt(Complex64::from(1.0 / 300.0)),
            line(38.0, 0.05, 0.7),
        ];
        let chain = Chain::cascade(&parts);
        let s = chain.scattering([50.0, 50.0]).unwrap().matrix();
        let [[s11, s12], [s21, s22]] = s.0;
        let input = |end: f64| s11 + s12 * s21 * end / (1.0 - s22 * end);
        let found = ByFarEnds::of_open_short_load([1.0, -1.0, 0.0].map(input));
        assert!((found.s22 - s22).norm() < 1e-12);
        assert!((found.s21_squared - s12 * s21).norm() < 1e-12);
        assert!((found.input(0.3.into()) - input(0.3)).norm() < 1e-12);
        assert!((found.end(input(0.3)) - 0.3).norm() < 1e-12);
        assert!((found.gain_between(0.0) - s12 * s21).norm() < 1e-12);
    }

    /// A line is symmetric: its open and its short are enough.
    #[test]
    fn two_ends_give_a_line() {
        let line = Chain::line(75.0.into(), Complex64::new(0.2, 1.9)).unwrap();
        let s = line.scattering([50.0, 50.0]).unwrap().matrix();
        let [[s11, s12], [s21, s22]] = s.0;
        let input = |end: f64| s11 + s12 * s21 * end / (1.0 - s22 * end);
        let found = ByFarEnds::of_open_short([1.0, -1.0].map(input));
        assert!((found.s11 - s11).norm() < 1e-12);
        assert!((found.s21_squared - s12 * s21).norm() < 1e-12);
    }
}
