//! Sweeps that were taken at the calibrated plane, without the cable: checks, known parts, a long line.

use crate::bench::FarEnd;
use crate::calibration::ripple::residuals;
use crate::formats::Network;
use crate::sweep::Sweep;
use num_complex::Complex64;

use super::{GatherError, Gathered, port_one, reference_ohm, used};
use crate::finding::{CalibrationFound, Warning, WarningCode};

/// Largest rms difference from what it is that a part can show after a calibration, be it of yesterday.
const LARGEST_CHECK: f64 = 0.2;
/// Residual directivity from which a calibration is worth making anew: 40 dB. Common practice.
const POOR_DIRECTIVITY: f64 = 0.01;

impl Gathered {
    pub(super) fn place_check(
        &mut self,
        network: Network,
        standard: FarEnd,
        label: String,
    ) -> Result<(), GatherError> {
        let sweep = self.at_plane(network, &label)?;
        let ideal = match standard {
            FarEnd::Open => 1.0,
            FarEnd::Short => -1.0,
            FarEnd::Load => 0.0,
        };
        let rms = off_by(&sweep, |_| ideal.into());
        if rms > LARGEST_CHECK {
            return Err(GatherError::NotTheStandard {
                label,
                standard,
                rms,
            });
        }
        self.use_at_plane(&label, &standard.to_string(), &sweep, Some(rms));
        self.bench.add_check(standard, sweep, label)?;
        Ok(())
    }

    pub(super) fn place_part(
        &mut self,
        network: Network,
        which: usize,
        label: String,
    ) -> Result<(), GatherError> {
        let Some((name, part)) = self.parts.get(which).cloned() else {
            return Err(GatherError::NotDescribed { label });
        };
        let sweep = self.at_plane(network, &label)?;
        let z_ref_ohm = sweep.z_ref_ohm();
        let rms = off_by(&sweep, |f| {
            part.reflection(f, z_ref_ohm).unwrap_or_default()
        });
        if rms > LARGEST_CHECK {
            return Err(GatherError::NotThePart { label, name, rms });
        }
        self.use_at_plane(&label, &name, &sweep, Some(rms));
        self.bench.add_part(part, sweep, label)?;
        Ok(())
    }

    /// A long line whose ripple shows what the calibration left.
    pub(super) fn place_line(
        &mut self,
        network: Network,
        label: String,
    ) -> Result<(), GatherError> {
        // a line is made for the nominal reference, whatever the load really is
        let line_ohm = reference_ohm(&network);
        let sweep = self.at_plane(network, &label)?;
        let seen = residuals(&sweep, line_ohm).map_err(|source| GatherError::Ripple {
            label: label.clone(),
            source,
        })?;
        self.use_at_plane(&label, "long line", &sweep, None);
        let found = CalibrationFound::of(label, &seen);
        self.bench.set_residual(seen.size());
        if found.directivity > POOR_DIRECTIVITY {
            self.warnings.push(Warning::new(
                WarningCode::CalibrationPoor,
                found.text.clone(),
            ));
        }
        self.calibration.push(found);
        Ok(())
    }

    /// A reflection at the plane, against the calibration load.
    fn at_plane(&self, network: Network, label: &str) -> Result<Sweep, GatherError> {
        if !self.de_embed.is_empty() {
            return Err(GatherError::BeforeTakenAway {
                label: label.to_owned(),
            });
        }
        let sweep = match network {
            Network::OnePort(sweep) => sweep,
            Network::TwoPort(through) => port_one(&through)?,
        };
        Ok(sweep.with_reference(self.bench.kit_load().ohm.value)?)
    }

    fn use_at_plane(&mut self, label: &str, what: &str, sweep: &Sweep, off_rms: Option<f64>) {
        let far_end = format!("{what} at the plane");
        let mut used = used(label, far_end, false, sweep.freq_hz());
        used.off_rms = off_rms;
        self.sweeps.push(used);
    }
}

/// rms difference from what the part is.
fn off_by(sweep: &Sweep, part: impl Fn(f64) -> Complex64) -> f64 {
    let readings = sweep.freq_hz().iter().zip(sweep.reflection());
    let squares = readings.map(|(&f, g)| (g - part(f)).norm_sqr());
    (squares.sum::<f64>() / sweep.len() as f64).sqrt()
}
