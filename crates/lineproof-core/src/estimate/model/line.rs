//! Impedance and propagation of one uniform piece of cable from its ten unknowns and its plugs' delays.
//!
//! The unknown is the delay of the whole piece, plugs included, because that is what the sweeps see
//! sharply: what a plug gains then comes off the cable, whatever the step, and the fit can move
//! along this valley. The line's own delay is what is left of it.
//!
//! Series impedance of the whole piece jωτz + Z_i, shunt admittance (jωτ/z)(1 − j tan δ · (f/100 MHz)ⁿ), with z the
//! high-frequency impedance without internal inductance and τ the delay that belongs to it; Z_i is
//! the conductors' internal impedance ([`super::conductor`]). Then γl = √(ZY), Zc = √(Z/Y)
//! (Pozar, *Microwave Engineering*, section 2.1). Impedances are in units of the calibration load.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use num_complex::Complex64;

use super::conductor::{shield_shape, wire_shape};
use super::connectors::plug_delay_s;
use super::parameters::{AT, Line, LineGradient};

/// Least part of the whole delay that is the line's.
const LEAST_PART: f64 = 0.05;

/// Frequency at which neither the conductors' exponent nor the loss tangent's changes anything, Hz.
const EXPONENT_PIVOT_HZ: f64 = 1e8;

/// Most that the exponent may depart: a conductor whose resistance rises not at all, or as f.
const MOST_BENT: f64 = 0.49;

/// The line between the plugs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LineLaw {
    /// Its own unknowns.
    pub(crate) line: Line<f64>,
    /// One-way delay without internal inductance, between the plugs, s.
    pub(crate) delay_s: f64,
    /// Derivatives of that.
    by_delays: ByDelays,
}

/// Derivatives by the whole piece's delay and by the plugs' unknowns.
#[derive(Clone, Copy, Debug)]
struct ByDelays {
    whole: f64,
    near: f64,
    far: f64,
}

impl ByDelays {
    fn over(self, delay_s: f64) -> Self {
        Self {
            whole: self.whole / delay_s,
            near: self.near / delay_s,
            far: self.far / delay_s,
        }
    }
}

/// Values at one frequency and their derivatives with respect to the unknowns.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LinePoint {
    /// ln of the complex characteristic impedance, in units of the calibration load.
    pub(crate) ln_zc: Complex64,
    /// γl of the piece, one way.
    pub(crate) gamma_l: Complex64,
    /// jωτ: γl of the same delay without loss.
    pub(crate) lossless: Complex64,
    /// Derivatives of ln τ by the whole piece's delay and by the plugs' unknowns.
    by_delays: ByDelays,
    /// Derivatives of ln Zc.
    pub(crate) d_ln_zc: LineGradient<Complex64>,
    /// Derivatives of γl.
    pub(crate) d_gamma_l: LineGradient<Complex64>,
}

impl LinePoint {
    /// Derivatives of `lossless`.
    pub(crate) fn d_lossless(&self) -> LineGradient<Complex64> {
        LineGradient {
            line: Line {
                delay_s: self.lossless * self.by_delays.whole,
                ..Line::default()
            },
            near_delay: self.lossless * self.by_delays.near,
            far_delay: self.lossless * self.by_delays.far,
        }
    }
}

impl LineLaw {
    /// The line's part of all unknowns.
    pub(crate) fn of_unknowns(theta: &[f64]) -> Self {
        let line = AT.line.values(theta);
        let (near, by_near) = plug_delay_s(theta[AT.near.delay]);
        let (far, by_far) = plug_delay_s(theta[AT.far.delay]);
        let left = line.delay_s - near - far;
        // a step too far may make the delay negative: such a line is as bad as a long one
        // the sign is kept, so that the derivative leads back out
        let least = LEAST_PART * line.delay_s.abs();
        let (delay_s, by_delays) = if left > least {
            let by_delays = ByDelays {
                whole: 1.0,
                near: -by_near,
                far: -by_far,
            };
            (left, by_delays)
        } else {
            let by_delays = ByDelays {
                whole: LEAST_PART * line.delay_s.signum(),
                near: 0.0,
                far: 0.0,
            };
            (least, by_delays)
        };
        Self {
            line: Line {
                exponent: line.exponent.clamp(-MOST_BENT, MOST_BENT),
                ..line
            },
            delay_s,
            by_delays,
        }
    }

    /// The same with a lossless dielectric.
    pub(crate) fn without_dielectric_loss(mut self) -> Self {
        self.line.ln_tan_delta = f64::NEG_INFINITY;
        self
    }

    /// The line at `freq_hz`. At 0 Hz the characteristic impedance is not defined; the value at
    /// 1 Hz stands in, at which no cable on a bench has any phase.
    pub(crate) fn at(&self, freq_hz: f64) -> LinePoint {
        // Z/Y has no limit at 0 Hz without shunt conductance
        let freq_hz = freq_hz.max(1.0);
        let line = &self.line;
        let j = Complex64::i();
        let omega_tau = TAU * freq_hz * self.delay_s;
        let ln_freq = (freq_hz / EXPONENT_PIVOT_HZ).ln();
        let z = line.ln_z.exp();
        let tan_delta = (line.ln_tan_delta + line.tan_delta_exponent * ln_freq).exp();
        let (wire, d_wire) = wire_shape(freq_hz, line.ln_radius.exp());
        let (shield, d_shield) = shield_shape(freq_hz, line.ln_shield.exp());
        let share = 1.0 / (1.0 + (-line.ln_shield_share).exp());
        let shape = (1.0 - share) * wire + share * shield;
        let reactance = line.ln_reactance.exp();
        let size = 2.0 * z * self.delay_s * line.ln_conductor.exp();
        let rise = (line.exponent * ln_freq).exp();
        // Z_i ∝ (jω)^(1/2 + exponent) has this ratio of reactance to resistance (causality)
        let angle = FRAC_PI_2 * (0.5 + line.exponent);
        let tilt = angle.tan();
        let bent = |s: Complex64| rise * Complex64::new(s.re, s.im * reactance * tilt);
        let internal = size * bent(shape);

        let series = j * omega_tau * z + internal;
        let shunt = j * omega_tau / z * Complex64::new(1.0, -tan_delta);
        // derivatives of ln series and ln shunt; every delay stands in both alike
        // logarithmic derivatives: both square roots then cost nothing
        let inverse = series.inv();
        let relative = self.by_delays.over(self.delay_s);
        let by_delays = |line| LineGradient {
            line: Line {
                delay_s: relative.whole.into(),
                ..line
            },
            near_delay: relative.near.into(),
            far_delay: relative.far.into(),
        };
        let d_series = by_delays(Line {
            ln_z: Complex64::new(1.0, 0.0),
            ln_conductor: internal * inverse,
            ln_radius: size * (1.0 - share) * bent(d_wire) * inverse,
            ln_reactance: j * internal.im * inverse,
            exponent: (ln_freq * internal + j * (PI / (2.0 * angle).sin()) * internal.im) * inverse,
            ln_shield_share: size * share * (1.0 - share) * bent(shield - wire) * inverse,
            ln_shield: size * share * bent(d_shield) * inverse,
            ..Line::default()
        });
        let by_loss = -j * tan_delta / Complex64::new(1.0, -tan_delta);
        let d_shunt = by_delays(Line {
            ln_z: Complex64::new(-1.0, 0.0),
            ln_tan_delta: by_loss,
            tan_delta_exponent: by_loss * ln_freq,
            ..Line::default()
        });
        let zc = positive_root(series / shunt);
        let gamma_l = series / zc;
        LinePoint {
            ln_zc: Complex64::new(0.5 * zc.norm_sqr().ln(), zc.arg()),
            gamma_l,
            lossless: j * omega_tau,
            by_delays: relative,
            // Zc = √(Z/Y), γl = √(ZY)
            d_ln_zc: d_series.zip_with(d_shunt, |z, y| 0.5 * (z - y)),
            d_gamma_l: d_series.zip_with(d_shunt, |z, y| 0.5 * gamma_l * (z + y)),
        }
    }
}

/// Square root with positive real part, by algebra (the library's goes through angles). Sound for
/// arguments off the negative real axis: a passive line's Z/Y has a positive real part nearly
/// always, and a phase above −90 degrees in any case.
fn positive_root(x: Complex64) -> Complex64 {
    let re = (0.5 * (x.norm_sqr().sqrt() + x.re)).sqrt();
    Complex64::new(re, 0.5 * x.im / re)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::DB_PER_NEPER;

    /// Unknowns of a piece of this whole delay.
    fn example(delay_s: f64) -> Vec<f64> {
        let line = Line {
            ln_z: 0.4,
            delay_s,
            ln_conductor: 5.6,
            ln_tan_delta: -8.0,
            tan_delta_exponent: 0.1,
            ln_radius: -7.9,
            ln_reactance: 0.05,
            exponent: 0.01,
            ln_shield_share: -0.6,
            ln_shield: -9.2,
        };
        let gradient = LineGradient {
            line,
            near_delay: -1.1,
            far_delay: 0.4,
        };
        gradient.indexed().map(|(_, value)| value).collect()
    }

    #[test]
    fn derivatives_agree_with_differences() {
        // an ordinary piece, and one shorter than its plugs, whose line keeps the least part of the delay
        for delay_s in [7.6e-9, 0.1e-9] {
            for freq in [1e4, 1e6, 1e8, 1.5e9] {
                let example = example(delay_s);
                let at = |p: &[f64]| LineLaw::of_unknowns(p).at(freq);
                let point = at(&example);
                let by_both = point.d_ln_zc.zip_with(point.d_gamma_l, |a, b| (a, b));
                for (i, (by_ln_zc, by_gamma_l)) in by_both.indexed() {
                    // four points: a step so long that rounding does not show
                    let h = 1e-3 * example[i].abs();
                    let moved = |by: f64| {
                        let mut moved = example.clone();
                        moved[i] += by;
                        at(&moved)
                    };
                    let [up, down, far_up, far_down] = [h, -h, 2.0 * h, -2.0 * h].map(moved);
                    let slope = |of: &dyn Fn(&LinePoint) -> Complex64| {
                        let near = 8.0 * (of(&up) - of(&down));
                        (near - (of(&far_up) - of(&far_down))) / (12.0 * h)
                    };
                    let (d_zc, d_gl) = (slope(&|p| p.ln_zc), slope(&|p| p.gamma_l));
                    let scale = |d: Complex64| 1e-6 * d.norm() + 1e-9 / example[i].abs();
                    assert!((d_zc - by_ln_zc).norm() < scale(d_zc), "zc {i} at {freq}");
                    assert!((d_gl - by_gamma_l).norm() < scale(d_gl), "gl {i} at {freq}");
                }
            }
        }
    }

    /// Loss of a low-loss line is R/(2Z) + ωτ·tan δ/2 (Pozar, section 2.7): √f and f parts.
    #[test]
    fn loss_has_the_two_parts_that_handbooks_name() {
        let law = LineLaw::of_unknowns(&example(7.6e-9));
        let f = 3e8_f64;
        let conductor = law.line.ln_conductor.exp() * f.sqrt() * law.delay_s;
        let tan_delta = law.line.ln_tan_delta.exp() * (f / 1e8).powf(law.line.tan_delta_exponent);
        let dielectric = 0.5 * TAU * f * law.delay_s * tan_delta;
        let got = law.at(f).gamma_l.re * DB_PER_NEPER;
        let wanted = (conductor + dielectric) * DB_PER_NEPER;
        // the rest is the level at which resistance ends at low frequency, some per cent of it here
        assert!(
            (got / wanted - 1.0).abs() < 0.02,
            "got {got} dB, wanted {wanted} dB"
        );
    }
}
