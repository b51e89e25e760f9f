//! A corrected sweep: reflections with the covariance of their parts, and the points left out.

use nalgebra::Matrix2;
use num_complex::Complex64;

use super::CalibrationError;
use super::refusal::{Refusal, RefusedPoint, RefusedRange, ranges};
use crate::network::one_port;
use crate::sweep::Sweep;
use crate::uncertain::Uncertain;

/// Corrected reflections, each with what it is uncertain by.
#[derive(Clone, Debug, PartialEq)]
pub struct Corrected {
    freq_hz: Vec<f64>,
    reflection: Vec<Complex64>,
    covariance: Vec<Matrix2<f64>>,
    z_ref_ohm: f64,
    refused: Vec<RefusedPoint>,
}

impl Corrected {
    pub(super) fn empty(z_ref_ohm: f64) -> Self {
        Self {
            freq_hz: Vec::new(),
            reflection: Vec::new(),
            covariance: Vec::new(),
            z_ref_ohm,
            refused: Vec::new(),
        }
    }

    /// Readings of an analyser that were corrected already, with `variance` of each part.
    pub fn of_sweep(sweep: &Sweep, variance: impl Fn(f64, Complex64) -> f64) -> Self {
        let mut corrected = Self::empty(sweep.z_ref_ohm());
        for (&f, &g) in sweep.freq_hz().iter().zip(sweep.reflection()) {
            corrected.push(f, g, Matrix2::identity() * variance(f, g));
        }
        corrected
    }

    pub(super) fn push(&mut self, freq_hz: f64, reflection: Complex64, covariance: Matrix2<f64>) {
        self.freq_hz.push(freq_hz);
        self.reflection.push(reflection);
        self.covariance.push(covariance);
    }

    pub(super) fn refuse(&mut self, freq_hz: f64, refusal: Refusal) {
        self.refused.push(RefusedPoint { freq_hz, refusal });
    }

    pub(super) fn checked(self) -> Result<Self, CalibrationError> {
        match self.refused.first() {
            Some(first) if self.freq_hz.is_empty() => Err(CalibrationError::NothingUsable {
                refusal: first.refusal,
            }),
            _ => Ok(self),
        }
    }

    /// The reflections as a sweep.
    pub fn sweep(&self) -> Sweep {
        Sweep::new(
            self.freq_hz.clone(),
            self.reflection.clone(),
            self.z_ref_ohm,
        )
        .expect("points come from a sweep and are finite; one at least is left")
    }

    /// Frequencies, Hz.
    pub fn freq_hz(&self) -> &[f64] {
        &self.freq_hz
    }

    /// Reflections against [`Corrected::z_ref_ohm`].
    pub fn reflection(&self) -> &[Complex64] {
        &self.reflection
    }

    /// Reference impedance, ohm.
    pub fn z_ref_ohm(&self) -> f64 {
        self.z_ref_ohm
    }

    /// Covariance of real and imaginary part at each frequency.
    pub fn covariance(&self) -> &[Matrix2<f64>] {
        &self.covariance
    }

    /// Real and imaginary part at a point, each with its standard uncertainty.
    pub fn parts(&self, index: usize) -> [Uncertain; 2] {
        let (g, c) = (self.reflection[index], &self.covariance[index]);
        [
            Uncertain::new(g.re, c[(0, 0)].sqrt()),
            Uncertain::new(g.im, c[(1, 1)].sqrt()),
        ]
    }

    /// Standard uncertainty at a point in the direction in which it is largest.
    pub fn largest_u(&self, index: usize) -> f64 {
        let c = &self.covariance[index];
        // larger eigenvalue of the symmetric 2 × 2 matrix
        let half_difference = 0.5 * (c[(0, 0)] - c[(1, 1)]);
        let middle = f64::midpoint(c[(0, 0)], c[(1, 1)]);
        (middle + half_difference.hypot(c[(0, 1)])).sqrt()
    }

    /// Points that were left out, by reason.
    pub fn refused(&self) -> Vec<RefusedRange> {
        ranges(&self.refused, &self.freq_hz)
    }

    /// Index of the largest reflection that a passive one-port can't have: more than 1 by more than
    /// twice its uncertainty.
    pub fn active_point(&self) -> Option<usize> {
        // two standard uncertainties, so that noise around 1 of an open is not called active
        let beyond = |i: usize| self.reflection[i].norm() - 1.0 - 2.0 * self.largest_u(i);
        (0..self.freq_hz.len())
            .filter(|&i| beyond(i) > 0.0)
            .max_by(|&a, &b| beyond(a).total_cmp(&beyond(b)))
    }

    /// The same one-port against another reference.
    ///
    /// # Errors
    /// [`CalibrationError::Reference`] if `z_ref_ohm` is not a positive number.
    pub fn referred_to(&self, z_ref_ohm: f64) -> Result<Self, CalibrationError> {
        if !(z_ref_ohm.is_finite() && z_ref_ohm > 0.0) {
            return Err(CalibrationError::Reference { z_ref_ohm });
        }
        let (from, to) = (self.z_ref_ohm, z_ref_ohm);
        let mut moved = self.mapped(|_, g| {
            let new = one_port::renormalise(g, from, to).ok_or(Refusal::NoAnswer)?;
            // The map (Γs + d)/(s + Γd) with sum s and difference d has slope (s² − d²)/(s + Γd)².
            let (sum, difference) = (from + to, from - to);
            let slope = (sum * sum - difference * difference) / (sum + g * difference).powi(2);
            Ok((new, slope, Matrix2::zeros()))
        })?;
        moved.z_ref_ohm = z_ref_ohm;
        Ok(moved)
    }

    /// Every reflection through a map that gives the new reflection, the map's complex slope and what
    /// the map itself adds to the covariance.
    pub(super) fn mapped(
        &self,
        map: impl Fn(f64, Complex64) -> Result<(Complex64, Complex64, Matrix2<f64>), Refusal>,
    ) -> Result<Self, CalibrationError> {
        let mut moved = Self::empty(self.z_ref_ohm);
        moved.refused.clone_from(&self.refused);
        for ((&f, &g), c) in self
            .freq_hz
            .iter()
            .zip(&self.reflection)
            .zip(&self.covariance)
        {
            match map(f, g) {
                Ok((new, slope, added)) if new.is_finite() => {
                    // a complex slope acts on (Re, Im) as a rotation with scaling; covariance goes as J C Jᵀ
                    let turn = Matrix2::new(slope.re, -slope.im, slope.im, slope.re);
                    moved.push(f, new, turn * c * turn.transpose() + added);
                }
                Ok(_) => moved.refuse(f, Refusal::NoAnswer),
                Err(refusal) => moved.refuse(f, refusal),
            }
        }
        moved
            .refused
            .sort_by(|a, b| a.freq_hz.total_cmp(&b.freq_hz));
        moved.checked()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A 75-ohm load that was measured in 50 ohm: its uncertainty in 75 ohm is that of a difference.
    #[test]
    fn another_reference_takes_the_covariance_along() {
        let sweep = Sweep::new(vec![1e6], vec![Complex64::new(0.2, 0.0)], 50.0).unwrap();
        let in_50 = Corrected::of_sweep(&sweep, |_, _| 1e-6);
        let in_75 = in_50.referred_to(75.0).unwrap();
        assert!(in_75.reflection()[0].norm() < 1e-15);
        let by_difference = {
            let moved = |g: f64| {
                one_port::renormalise(Complex64::from(g), 50.0, 75.0)
                    .unwrap()
                    .re
            };
            (moved(0.2 + 1e-6) - moved(0.2 - 1e-6)) / 2e-6
        };
        let got = in_75.parts(0)[0].u;
        assert!(
            (got / (1e-3 * by_difference) - 1.0).abs() < 1e-6,
            "got {got}"
        );
        assert!((in_75.largest_u(0) / got - 1.0).abs() < 1e-9);
    }
}
