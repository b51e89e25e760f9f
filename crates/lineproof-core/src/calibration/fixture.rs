//! Moving the reference plane: port extension, de-embedding of a two-port, two lengths of one cable.
//!
//! Conventions: an extension or adapter lies between the plane of the readings and the wanted plane;
//! port 1 of an adapter is the analyser's side. Taking away: Γ = (M − S11)/(S12 S21 + S22 (M − S11)),
//! the same form as the correction of a port.
//!
//! Two lengths: with the chain (T) matrices M1, M2 of two pieces of one cable behind the same fixtures,
//! M2 M1⁻¹ = X diag(e^(−γΔl), e^(γΔl)) X⁻¹: its eigenvalues hold the cable alone (C. Seguinot et al.,
//! IEEE Microwave Guided Wave Lett. 8, 1998; R. Marks, IEEE Trans. MTT 39, 1991; from memory).

use std::f64::consts::TAU;

use nalgebra::Matrix2;
use num_complex::Complex64;

use super::refusal::Refusal;
use super::tabulated::two_port_at;
use super::{CalibrationError, Corrected};
use crate::constants::DB_PER_NEPER;
use crate::network::conversion::TwoPort;
use crate::network::{NetworkError, Scattering, length_difference};
use crate::sweep::ThroughSweep;
use crate::uncertain::Uncertain;

/// Frequency at which an adapter's loss is stated, Hz; it grows as √f.
pub const LOSS_AT_HZ: f64 = 1e9;

/// A short line between the plane of the readings and the wanted plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Adapter {
    /// Impedance, ohm.
    pub impedance_ohm: Uncertain,
    /// Delay one way, s.
    pub one_way_delay_s: Uncertain,
    /// Loss one way at 1 GHz, dB.
    pub loss_db: Uncertain,
}

impl Adapter {
    /// The adapter as a two-port between ports of `z_ref_ohm`.
    ///
    /// # Errors
    /// [`NetworkError`] if the reference is not a positive number.
    pub fn scattering(&self, freq_hz: f64, z_ref_ohm: f64) -> Result<Scattering, NetworkError> {
        let loss_np = self.loss_db.value / DB_PER_NEPER * (freq_hz / LOSS_AT_HZ).sqrt();
        let phase = TAU * freq_hz * self.one_way_delay_s.value;
        let z0_ohm = self.impedance_ohm.value.into();
        Scattering::line(z0_ohm, Complex64::new(loss_np, phase), z_ref_ohm)
    }

    /// The adapter with one parameter a standard uncertainty up and down, for each uncertain one.
    fn moved_by_one_u(&self) -> Vec<[Self; 2]> {
        let both = |q: Uncertain, put: fn(&mut Self, Uncertain)| {
            (q.u > 0.0).then(|| {
                [q.u, -q.u].map(|step| {
                    let mut moved = *self;
                    put(&mut moved, Uncertain::exact(q.value + step));
                    moved
                })
            })
        };
        [
            both(self.impedance_ohm, |a, q| a.impedance_ohm = q),
            both(self.one_way_delay_s, |a, q| a.one_way_delay_s = q),
            both(self.loss_db, |a, q| a.loss_db = q),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

/// Takes a described adapter away; what is uncertain of it goes into the covariance. With the
/// reference as its impedance this is a port extension.
///
/// # Errors
/// [`CalibrationError::NothingUsable`] if no point is left.
pub fn without_adapter(
    corrected: &Corrected,
    adapter: &Adapter,
) -> Result<Corrected, CalibrationError> {
    let z_ref_ohm = corrected.z_ref_ohm();
    let behind = |adapter: &Adapter, freq_hz: f64, reading: Complex64| {
        let s = adapter.scattering(freq_hz, z_ref_ohm).ok()?;
        Some((s, s.load_reflection(reading)?))
    };
    corrected.mapped(|freq_hz, reading| {
        let (s, reflection) = behind(adapter, freq_hz, reading).ok_or(Refusal::NoAnswer)?;
        let mut added = Matrix2::zeros();
        for [up, down] in adapter.moved_by_one_u() {
            let (_, up) = behind(&up, freq_hz, reading).ok_or(Refusal::NoAnswer)?;
            let (_, down) = behind(&down, freq_hz, reading).ok_or(Refusal::NoAnswer)?;
            let change = 0.5 * (up - down);
            let v = nalgebra::Vector2::new(change.re, change.im);
            added += v * v.transpose();
        }
        Ok((reflection, slope(&s, reflection), added))
    })
}

/// Takes a measured two-port away, port 1 at the readings' plane.
///
/// # Errors
/// [`CalibrationError::NothingUsable`] if no point is left.
pub fn without_two_port(
    corrected: &Corrected,
    two_port: &ThroughSweep,
) -> Result<Corrected, CalibrationError> {
    let z_ref_ohm = corrected.z_ref_ohm();
    corrected.mapped(|freq_hz, reading| {
        let s = two_port_at(two_port, freq_hz).ok_or(Refusal::NotTabulated)?;
        let s = s
            .renormalised([z_ref_ohm; 2])
            .map_err(|_| Refusal::NoAnswer)?;
        let reflection = s.load_reflection(reading).ok_or(Refusal::NoAnswer)?;
        Ok((reflection, slope(&s, reflection), Matrix2::zeros()))
    })
}

/// dΓ/dM of the taking away: (1 − S22 Γ)²/(S12 S21).
fn slope(s: &Scattering, reflection: Complex64) -> Complex64 {
    (1.0 - s.s22 * reflection).powi(2) / (s.s12 * s.s21)
}

/// What the longer of two pieces has more than the shorter, at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Loss one way, dB.
    pub loss_db: f64,
    /// Phase, radians from 0 to 2π: whole turns do not show.
    pub phase_rad: f64,
}

/// The difference of two pieces of one cable, swept from end to end behind the same fixtures: plugs,
/// adapters and what calibration left cancel. Frequencies that the longer one's sweep does not cover
/// and those where nothing passes are left out.
pub fn two_lengths(shorter: &ThroughSweep, longer: &ThroughSweep) -> Vec<Difference> {
    let at = |&freq_hz: &f64| {
        let short = two_port_at(shorter, freq_hz)?.chain().ok()?;
        let long = two_port_at(longer, freq_hz)?.chain().ok()?;
        let between = (long * short.inverse().ok()?).matrix();
        let [[a, _], [_, d]] = between.0;
        let (loss_np, phase_rad) = length_difference(a + d, between.determinant())?;
        Some(Difference {
            freq_hz,
            loss_db: loss_np * DB_PER_NEPER,
            phase_rad: phase_rad.rem_euclid(TAU),
        })
    };
    shorter.freq_hz().iter().filter_map(at).collect()
}
