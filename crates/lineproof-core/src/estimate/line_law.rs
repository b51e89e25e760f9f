//! Impedance and propagation of one uniform piece of cable from nine numbers and its plugs' delays.
//!
//! The unknown is the delay of the whole piece, plugs included, because that is what the sweeps see
//! sharply: what a plug gains then comes off the cable, whatever the step, and the fit can move
//! along this valley. The line's own delay is what is left of it.
//!
//! Series impedance of the whole piece jωτz + Z_i, shunt admittance (jωτ/z)(1 − j tan δ), with z the
//! high-frequency impedance without internal inductance and τ the delay that belongs to it; Z_i is
//! the conductors' internal impedance ([`super::conductor`]). Then γl = √(ZY), Zc = √(Z/Y)
//! (Pozar, *Microwave Engineering*, section 2.1). Impedances are in units of the calibration load.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use num_complex::Complex64;

use super::conductor::{shield_shape, wire_shape};
use super::unknowns::{at, plug_delay_s};

/// Number of unknowns that the line depends on, the first of all: its own nine and the plugs'
/// delays.
pub(super) const PARAMETERS: usize = 11;
/// Least part of the whole delay that is the line's.
const LEAST_PART: f64 = 0.05;

/// Frequency at which the exponent's departure changes nothing, Hz.
const EXPONENT_PIVOT_HZ: f64 = 1e8;

/// Most that the exponent may depart: a conductor whose resistance rises not at all, or as f.
const MOST_BENT: f64 = 0.49;

/// The line's parameters in the order of the unknowns.
#[derive(Clone, Copy, Debug)]
pub(super) struct LineLaw {
    /// ln of the high-frequency impedance in units of the calibration load.
    pub(super) ln_z: f64,
    /// One-way delay without internal inductance, between the plugs, s.
    pub(super) delay_s: f64,
    /// ln of the conductor loss per delay: nepers per second and √Hz.
    pub(super) ln_conductor: f64,
    /// ln of the loss tangent.
    pub(super) ln_tan_delta: f64,
    /// ln of the equivalent wire radius, m: where resistance levels off.
    pub(super) ln_radius: f64,
    /// ln of internal reactance over what a smooth conductor of that resistance has.
    pub(super) ln_reactance: f64,
    /// By how much the exponent of the internal impedance differs from that of a smooth conductor;
    /// between −0.5 and 0.5.
    pub(super) exponent: f64,
    /// ln of the shield's share of the conductor loss over the wire's.
    pub(super) ln_shield_share: f64,
    /// ln of the shield's thickness, m: where its resistance levels off.
    pub(super) ln_shield: f64,
    /// Derivatives of the delay by the whole piece's delay and by the plugs' unknowns.
    by_delays: [f64; 3],
}

/// Values at one frequency and their derivatives with respect to the unknowns.
#[derive(Clone, Copy, Debug)]
pub(super) struct LinePoint {
    /// ln of the complex characteristic impedance, in units of the calibration load.
    pub(super) ln_zc: Complex64,
    /// γl of the piece, one way.
    pub(super) gamma_l: Complex64,
    /// jωτ: γl of the same delay without loss.
    pub(super) lossless: Complex64,
    /// Derivatives of ln τ by the whole piece's delay and by the plugs' unknowns.
    by_delays: [f64; 3],
    /// d ln Zc / d parameter.
    pub(super) d_ln_zc: [Complex64; PARAMETERS],
    /// d γl / d parameter.
    pub(super) d_gamma_l: [Complex64; PARAMETERS],
}

impl LinePoint {
    /// Derivative of `lossless` by a parameter.
    pub(super) fn d_lossless(&self, parameter: usize) -> Complex64 {
        let of_delay = [at::LINE + 1, at::NEAR_DELAY, at::FAR_DELAY]
            .iter()
            .position(|&p| p == parameter);
        of_delay.map_or_else(Complex64::default, |i| self.lossless * self.by_delays[i])
    }
}

impl LineLaw {
    /// The line's part of all unknowns.
    pub(super) fn of_unknowns(theta: &[f64]) -> Self {
        let p = &theta[at::LINE..at::LINE + PARAMETERS];
        let (near, by_near) = plug_delay_s(p[at::NEAR_DELAY]);
        let (far, by_far) = plug_delay_s(p[at::FAR_DELAY]);
        let left = p[1] - near - far;
        // a step too far may make the delay negative: such a line is as bad as a long one
        let least = LEAST_PART * p[1].abs();
        let (delay_s, by_delays) = if left > least {
            (left, [1.0, -by_near, -by_far])
        } else {
            (least, [LEAST_PART * p[1].signum(), 0.0, 0.0])
        };
        Self {
            by_delays,
            ln_z: p[0],
            delay_s,
            ln_conductor: p[2],
            ln_tan_delta: p[3],
            ln_radius: p[4],
            ln_reactance: p[5],
            exponent: p[6].clamp(-MOST_BENT, MOST_BENT),
            ln_shield_share: p[7],
            ln_shield: p[8],
        }
    }

    /// The line at `freq_hz`. At 0 Hz the characteristic impedance is not defined; the value at
    /// 1 Hz stands in, at which no cable on a bench has any phase.
    pub(super) fn at(&self, freq_hz: f64) -> LinePoint {
        let freq_hz = freq_hz.max(1.0);
        let j = Complex64::i();
        let omega_tau = TAU * freq_hz * self.delay_s;
        let (z, tan_delta) = (self.ln_z.exp(), self.ln_tan_delta.exp());
        let (wire, d_wire) = wire_shape(freq_hz, self.ln_radius.exp());
        let (shield, d_shield) = shield_shape(freq_hz, self.ln_shield.exp());
        let share = 1.0 / (1.0 + (-self.ln_shield_share).exp());
        let shape = (1.0 - share) * wire + share * shield;
        let reactance = self.ln_reactance.exp();
        let size = 2.0 * z * self.delay_s * self.ln_conductor.exp();
        let ln_freq = (freq_hz / EXPONENT_PIVOT_HZ).ln();
        let rise = (self.exponent * ln_freq).exp();
        // Z_i ∝ (jω)^(1/2 + exponent) has this ratio of reactance to resistance (causality)
        let angle = FRAC_PI_2 * (0.5 + self.exponent);
        let tilt = angle.tan();
        let bent = |s: Complex64| rise * Complex64::new(s.re, s.im * reactance * tilt);
        let internal = size * bent(shape);

        let series = j * omega_tau * z + internal;
        let shunt = j * omega_tau / z * Complex64::new(1.0, -tan_delta);
        // derivatives of ln series and ln shunt
        let inverse = series.inv();
        let zero = Complex64::default();
        let [by_whole, by_near, by_far] = self
            .by_delays
            .map(|by| Complex64::new(by / self.delay_s, 0.0));
        let d_series = [
            Complex64::new(1.0, 0.0),
            by_whole,
            internal * inverse,
            zero,
            size * (1.0 - share) * bent(d_wire) * inverse,
            j * internal.im * inverse,
            (ln_freq * internal + j * (PI / (2.0 * angle).sin()) * internal.im) * inverse,
            size * share * (1.0 - share) * bent(shield - wire) * inverse,
            size * share * bent(d_shield) * inverse,
            by_near,
            by_far,
        ];
        let d_tan = -j * tan_delta / Complex64::new(1.0, -tan_delta);
        let d_shunt = [
            Complex64::new(-1.0, 0.0),
            by_whole,
            zero,
            d_tan,
            zero,
            zero,
            zero,
            zero,
            zero,
            by_near,
            by_far,
        ];
        let zc = positive_root(series / shunt);
        let gamma_l = series / zc;
        let ln_zc = Complex64::new(0.5 * zc.norm_sqr().ln(), zc.arg());
        let mut point = LinePoint {
            ln_zc,
            gamma_l,
            lossless: j * omega_tau,
            by_delays: self.by_delays.map(|by| by / self.delay_s),
            d_ln_zc: [zero; PARAMETERS],
            d_gamma_l: [zero; PARAMETERS],
        };
        for i in 0..PARAMETERS {
            point.d_ln_zc[i] = 0.5 * (d_series[i] - d_shunt[i]);
            point.d_gamma_l[i] = 0.5 * gamma_l * (d_series[i] + d_shunt[i]);
        }
        point
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

    const EXAMPLE: [f64; PARAMETERS] = [
        0.4, 7.6e-9, 5.6, -8.0, -7.9, 0.05, 0.01, -0.6, -9.2, -1.1, 0.4,
    ];

    /// A piece shorter than its plugs, whose line keeps the least part of the delay.
    const SHORT: [f64; PARAMETERS] = [
        0.4, 0.1e-9, 5.6, -8.0, -7.9, 0.05, 0.01, -0.6, -9.2, -1.1, 0.4,
    ];

    #[test]
    fn derivatives_agree_with_differences() {
        let cases = [1e4, 1e6, 1e8, 1.5e9].map(|freq| [(EXAMPLE, freq), (SHORT, freq)]);
        for (example, freq) in cases.into_iter().flatten() {
            let at = |p: &[f64]| LineLaw::of_unknowns(p).at(freq);
            let point = at(&example);
            for i in 0..PARAMETERS {
                let h = 1e-5 * example[i].abs();
                let (mut up, mut down) = (example, example);
                up[i] += h;
                down[i] -= h;
                let (up, down) = (at(&up), at(&down));
                let d_zc = (up.ln_zc - down.ln_zc) / (2.0 * h);
                let d_gl = (up.gamma_l - down.gamma_l) / (2.0 * h);
                let scale = |d: Complex64| 1e-6 * d.norm() + 1e-9 / example[i].abs();
                assert!(
                    (d_zc - point.d_ln_zc[i]).norm() < scale(d_zc),
                    "zc {i} at {freq}"
                );
                assert!(
                    (d_gl - point.d_gamma_l[i]).norm() < scale(d_gl),
                    "gl {i} at {freq}"
                );
            }
        }
    }

    /// Loss of a low-loss line is R/(2Z) + ωτ·tan δ/2 (Pozar, section 2.7): √f and f parts.
    #[test]
    fn loss_has_the_two_parts_that_handbooks_name() {
        let law = LineLaw::of_unknowns(&EXAMPLE);
        let f = 3e8_f64;
        let conductor = law.ln_conductor.exp() * f.sqrt() * law.delay_s;
        let dielectric = 0.5 * TAU * f * law.delay_s * law.ln_tan_delta.exp();
        let got = law.at(f).gamma_l.re * DB_PER_NEPER;
        let wanted = (conductor + dielectric) * DB_PER_NEPER;
        // the rest is the level at which resistance ends at low frequency, some per cent of it here
        assert!(
            (got / wanted - 1.0).abs() < 0.02,
            "got {got} dB, wanted {wanted} dB"
        );
    }
}
