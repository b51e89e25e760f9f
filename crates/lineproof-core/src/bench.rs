//! What the person at the bench brings: sweeps of one cable with what ended the far end, and what
//! they know besides.

use std::fmt;

use thiserror::Error;

use crate::calibration::Standard;
use crate::calibration::fixture::Adapter;
use crate::mistake::outliers::without_spikes;
use crate::sweep::{Sweep, ThroughSweep};
use crate::uncertain::Uncertain;

/// What ends the cable in a reflection sweep.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FarEnd {
    /// Nothing: reflection near +1 at low frequency.
    Open,
    /// A short circuit: reflection near −1 at low frequency.
    Short,
    /// A load resistor: reflection near 0 at low frequency if it equals the reference.
    Load,
}

impl fmt::Display for FarEnd {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Open => "open",
            Self::Short => "short",
            Self::Load => "load",
        })
    }
}

/// One reflection sweep and what ended the cable while it was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct EndedSweep {
    /// What ended the far end.
    pub far_end: FarEnd,
    /// The readings; their reference is the calibration load's true value where it is known.
    pub sweep: Sweep,
    /// How messages call this sweep, usually the file's name.
    pub label: String,
}

/// A resistor used as calibration standard or at the far end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Resistance, ohm, with its standard uncertainty.
    pub ohm: Uncertain,
    /// Whether the value was measured (by ohmmeter) or is only what it is meant to be.
    pub measured: bool,
}

/// Standard uncertainty, relative, of a load that nobody measured: kit loads are sold as 1 % parts
/// and small kits have been found 1 to 2 % off. Common practice, no single source.
pub const UNMEASURED_LOAD_U_REL: f64 = 0.01;

/// Standard uncertainty, relative, of a load measured by a hand-held ohmmeter with its leads
/// subtracted: within 0.1 %, so 0.1 %/√3 (JCGM 100:2008, 4.3.7). The 0.1 % is common practice, no
/// single source.
pub const MEASURED_LOAD_U_REL: f64 = 0.0006;

impl Load {
    /// A load by ohmmeter.
    pub fn by_ohmmeter(ohm: f64) -> Self {
        Self {
            ohm: Uncertain::new(ohm, ohm * MEASURED_LOAD_U_REL),
            measured: true,
        }
    }

    /// A load of which only the nominal value is known.
    pub fn nominal(ohm: f64) -> Self {
        Self {
            ohm: Uncertain::new(ohm, ohm * UNMEASURED_LOAD_U_REL),
            measured: false,
        }
    }

    /// The load, if it is a resistance.
    fn checked(self) -> Result<Self, BenchError> {
        if positive(self.ohm.value) {
            return Ok(self);
        }
        Err(BenchError::Load {
            ohm: self.ohm.value,
        })
    }
}

/// What the jacket or the seller claims. Absent fields are not claimed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Marking {
    /// Type designation as printed.
    pub designation: Option<String>,
    /// Characteristic impedance, ohm.
    pub impedance_ohm: Option<f64>,
    /// Velocity factor, 0 to 1.
    pub velocity_factor: Option<f64>,
    /// Attenuation of the cable alone.
    pub loss: Option<MarkedLoss>,
}

/// A claimed attenuation at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MarkedLoss {
    /// Attenuation, dB per 100 m.
    pub db_per_100m: f64,
    /// Frequency it holds at, Hz.
    pub at_hz: f64,
}

/// How far the analyser's corrected reflections may be off, as standard uncertainties per
/// real and imaginary part.
///
/// The part that calibration leaves (standards are not ideal, the instrument drifts) is smooth in
/// frequency and common to neighbouring points; it does not average out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Analyser {
    /// Residual at low frequency: drift and connection repeatability.
    pub residual_floor: f64,
    /// Growth of the residual with frequency, per Hz: fringing of the open, inductance of short
    /// and load that the calibration took as ideal.
    pub residual_per_hz: f64,
    /// Noise of one point.
    pub noise: f64,
}

impl Analyser {
    /// A pocket analyser calibrated with the kit that came with it. The fringing of a kit's open
    /// is 20 to 80 fF and the inductance of its short some tens of pH (common practice); 40 fF on
    /// 50 ohm at 1 GHz is a reflection error of 0.025.
    pub const POCKET: Self = Self {
        residual_floor: 1.5e-3,
        residual_per_hz: 0.015e-9,
        noise: 5e-4,
    };

    /// Standard uncertainty of what calibration leaves at `freq_hz`, per real and imaginary part.
    pub fn residual(&self, freq_hz: f64) -> f64 {
        self.residual_floor.hypot(self.residual_per_hz * freq_hz)
    }
}

/// Farthest, relative, that a calibration load may be from the reference it stands for: a kit's load is
/// within 2 % and a resistor soldered for the purpose (47 or 51 for 50 ohm) within 6 %. What is farther
/// off is a mistake, such as the load of another system. Common practice, no single source.
pub const LARGEST_LOAD_DEVIATION: f64 = 0.1;

/// Why something can't stand on the bench.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum BenchError {
    /// A load that is no resistance.
    #[error("a load of {ohm} ohm is not a positive number")]
    Load {
        /// The offending value, ohm.
        ohm: f64,
    },
    /// A length that is none.
    #[error("a length of {length_m} m is not a positive number")]
    Length {
        /// The offending value, m.
        length_m: f64,
    },
    /// A calibration load that can't be what the analyser took it for.
    #[error(
        "`{label}` refers to {reference_ohm} ohm, and the calibration load of {load_ohm} ohm is more \
         than {:.0} % from that", 100.0 * LARGEST_LOAD_DEVIATION
    )]
    LoadFarFromReference {
        /// How messages call the sweep.
        label: String,
        /// Reference that it came with, ohm.
        reference_ohm: f64,
        /// The calibration load, ohm.
        load_ohm: f64,
    },
    /// Sweeps that refer to different impedances can't share one calibration load.
    #[error("`{label}` refers to {found_ohm} ohm, the sweeps before it to {first_ohm} ohm")]
    References {
        /// How messages call the sweep.
        label: String,
        /// Its reference, ohm.
        found_ohm: f64,
        /// Reference of the first sweep, ohm.
        first_ohm: f64,
    },
}

/// Everything known about one cable on the bench.
///
/// # The calibration load is the unit
///
/// An open/short/load calibration measures every impedance in units of its load, whatever reference the
/// file states: the analyser took the load for its nominal value. A sweep that is added therefore
/// keeps its reflections and takes the load's value as its reference. Sweeps that refer to that value
/// already (corrected elsewhere for what the load is, say) stay as they are. What can be neither is
/// refused: sweeps of different references, and a load too far from the reference it stood for
/// ([`LARGEST_LOAD_DEVIATION`]).
///
/// ```
/// use lineproof_core::bench::{Bench, FarEnd, Load};
/// use lineproof_core::sweep::Sweep;
///
/// let sweep = Sweep::new(vec![1e6, 2e6], vec![0.99.into(), 0.98.into()], 50.0)?;
/// let mut bench = Bench::new(Load::by_ohmmeter(49.8))?;
/// bench.add_sweep(FarEnd::Open, sweep.clone(), "open.s1p")?;
/// assert_eq!(bench.sweeps()[0].sweep.z_ref_ohm(), 49.8);
///
/// let error = Bench::new(Load::by_ohmmeter(75.0))?
///     .add_sweep(FarEnd::Open, sweep, "open.s1p")
///     .unwrap_err();
/// assert_eq!(
///     error.to_string(),
///     "`open.s1p` refers to 50 ohm, and the calibration load of 75 ohm is more than 10 % from that"
/// );
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Bench {
    /// Reflection sweeps, any number of each far end. Their reference is `kit_load`.
    pub(crate) sweeps: Vec<EndedSweep>,
    /// Two-port sweeps of the same cable, with a label each.
    pub(crate) throughs: Vec<(ThroughSweep, String)>,
    /// Reflection sweeps with an antenna at the far end, or anything else that nobody knows, with a label each.
    pub(crate) antennas: Vec<(Sweep, String)>,
    /// The load used to calibrate the analyser: the unit of every impedance.
    pub(crate) kit_load: Load,
    /// What ended the cable in the `load` sweeps: the kit's load unless stated otherwise.
    pub(crate) far_load: Load,
    /// Physical length by tape, m.
    pub(crate) length_m: Option<Uncertain>,
    /// What the jacket claims.
    pub(crate) marking: Marking,
    /// What the analyser may be off by.
    pub(crate) analyser: Analyser,
    /// What is known of the calibrated plane.
    pub(crate) plane: Plane,
    /// A shorter piece of the same cable behind the same plugs and adapters.
    pub(crate) shorter: Option<ShorterPiece>,
    /// Reference that the sweeps came with where it was not the kit load's value, ohm.
    came_with_ohm: Option<f64>,
}

/// A shorter piece of the same cable, swept from end to end behind the same plugs and adapters.
#[derive(Clone, Debug, PartialEq)]
pub struct ShorterPiece {
    /// Its sweep; the reference is `kit_load`.
    pub through: ThroughSweep,
    /// Its length by tape, m.
    pub length_m: Uncertain,
}

/// What is known of the calibrated plane: what lies behind it, how good it is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plane {
    /// Adapter between the plane and the cable's near plug.
    pub near: Option<Adapter>,
    /// Adapter between the cable's far plug and what ends it.
    pub far: Option<Adapter>,
    /// The calibration's own standards, measured again at the plane after it: `far_end` says which.
    pub checks: Vec<EndedSweep>,
    /// Other parts whose values are known, measured at the plane after the calibration.
    pub parts: Vec<KnownPart>,
    /// What the calibration's standards are, if anybody knows.
    pub standards: Option<KnownStandards>,
    /// Whether a two-port between the plane and the cable was taken out of the sweeps: then what the
    /// standards are shows in another way, which is left to the smooth errors.
    pub de_embedded: bool,
    /// What a ripple shows of the calibration.
    pub residual: KnownResidual,
}

/// What is known of the size of what calibration left; nothing by default.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct KnownResidual {
    /// Residual directivity, complex rms over the band.
    pub directivity: f64,
    /// How many independent complex values that is the rms of; 0 if nobody looked.
    pub values: f64,
}

/// A part that is no standard of the calibration, at the plane: a mismatch, an offset short.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownPart {
    /// What it is.
    pub part: Standard,
    /// Its reading; the reference is `kit_load`.
    pub sweep: Sweep,
    /// How messages call this sweep.
    pub label: String,
}

/// What the open, short and load are that an analyser takes for ideal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnownStandards {
    /// Capacitance of the open, F.
    pub open_f: Uncertain,
    /// Inductance of the short, H.
    pub short_h: Uncertain,
    /// Inductance in series with the load, H.
    pub load_h: Uncertain,
    /// Capacitance across the load, F.
    pub load_f: Uncertain,
    /// Whether the sweeps were corrected for these values already.
    pub corrected: bool,
}

impl Bench {
    /// A bench without sweeps: the calibration's load, a pocket analyser, nothing else known. The far
    /// end's load is the kit's until [`Bench::with_far_load`].
    ///
    /// # Errors
    /// [`BenchError::Load`] if the load is no positive resistance.
    pub fn new(kit_load: Load) -> Result<Self, BenchError> {
        let kit_load = kit_load.checked()?;
        Ok(Self {
            sweeps: Vec::new(),
            throughs: Vec::new(),
            antennas: Vec::new(),
            kit_load,
            far_load: kit_load,
            length_m: None,
            marking: Marking::default(),
            analyser: Analyser::POCKET,
            plane: Plane::default(),
            shorter: None,
            came_with_ohm: None,
        })
    }

    /// With another load at the far end than the calibration's.
    ///
    /// # Errors
    /// [`BenchError::Load`] if it is no positive resistance.
    pub fn with_far_load(self, far_load: Load) -> Result<Self, BenchError> {
        let far_load = far_load.checked()?;
        Ok(Self { far_load, ..self })
    }

    /// With a length by tape, m; without one if `None`.
    ///
    /// # Errors
    /// [`BenchError::Length`] if it is not a positive number.
    pub fn with_length(self, length_m: Option<Uncertain>) -> Result<Self, BenchError> {
        match length_m {
            Some(l) if !positive(l.value) => Err(BenchError::Length { length_m: l.value }),
            _ => Ok(Self { length_m, ..self }),
        }
    }

    /// With what the jacket claims.
    #[must_use]
    pub fn with_marking(self, marking: Marking) -> Self {
        Self { marking, ..self }
    }

    /// With another analyser than a pocket one.
    #[must_use]
    pub fn with_analyser(self, analyser: Analyser) -> Self {
        Self { analyser, ..self }
    }

    /// With what is known of the calibrated plane; its sweeps are brought to the kit load's value.
    ///
    /// # Errors
    /// [`BenchError`] if one of its sweeps can't be.
    pub fn with_plane(mut self, plane: Plane) -> Result<Self, BenchError> {
        let Plane { checks, parts, .. } = plane;
        self.plane = Plane {
            checks: Vec::new(),
            parts: Vec::new(),
            ..plane
        };
        for check in checks {
            self.add_check(check.far_end, check.sweep, check.label)?;
        }
        for part in parts {
            self.add_part(part.part, part.sweep, part.label)?;
        }
        Ok(self)
    }

    /// Adds a reflection sweep of the cable, brought to the kit load's value as its reference.
    ///
    /// # Errors
    /// [`BenchError`] if it can't be.
    pub fn add_sweep(
        &mut self,
        far_end: FarEnd,
        sweep: Sweep,
        label: impl Into<String>,
    ) -> Result<(), BenchError> {
        let label = label.into();
        let sweep = self.brought(sweep, &label)?;
        self.sweeps.push(EndedSweep {
            far_end,
            sweep,
            label,
        });
        Ok(())
    }

    /// Exchanges what ended the cable in two reflection sweeps, by their places in [`Bench::sweeps`]: for files
    /// whose names are swapped. Places beyond the last sweep change nothing.
    pub fn swap_far_ends(&mut self, first: usize, second: usize) {
        if first.max(second) < self.sweeps.len() {
            let far_end = self.sweeps[first].far_end;
            self.sweeps[first].far_end = self.sweeps[second].far_end;
            self.sweeps[second].far_end = far_end;
        }
    }

    /// Adds a sweep from port to port, brought to the kit load's value as its reference.
    ///
    /// # Errors
    /// [`BenchError`] if it can't be.
    pub fn add_through(
        &mut self,
        through: ThroughSweep,
        label: impl Into<String>,
    ) -> Result<(), BenchError> {
        let label = label.into();
        let through = self.brought_through(through, &label)?;
        self.throughs.push((through, label));
        Ok(())
    }

    /// Adds a reflection sweep with an antenna at the far end, or anything else that nobody knows.
    ///
    /// # Errors
    /// [`BenchError`] if the sweep can't be brought to the kit load's value.
    pub fn add_antenna(
        &mut self,
        sweep: Sweep,
        label: impl Into<String>,
    ) -> Result<(), BenchError> {
        let label = label.into();
        let sweep = self.brought(sweep, &label)?;
        self.antennas.push((sweep, label));
        Ok(())
    }

    /// Sets the sweep through a shorter piece of the same cable, `length_m` long by tape.
    ///
    /// # Errors
    /// [`BenchError`] if the sweep can't be brought to the kit load's value, or the length is none.
    pub fn set_shorter(
        &mut self,
        through: ThroughSweep,
        length_m: Uncertain,
        label: &str,
    ) -> Result<(), BenchError> {
        if !positive(length_m.value) {
            return Err(BenchError::Length {
                length_m: length_m.value,
            });
        }
        let through = self.brought_through(through, label)?;
        self.shorter = Some(ShorterPiece { through, length_m });
        Ok(())
    }

    /// Adds a standard of the calibration that was measured again at the plane.
    ///
    /// # Errors
    /// [`BenchError`] if its sweep can't be brought to the kit load's value.
    pub fn add_check(
        &mut self,
        standard: FarEnd,
        sweep: Sweep,
        label: impl Into<String>,
    ) -> Result<(), BenchError> {
        let label = label.into();
        let sweep = self.brought(sweep, &label)?;
        self.plane.checks.push(EndedSweep {
            far_end: standard,
            sweep,
            label,
        });
        Ok(())
    }

    /// Adds another part of known values that was measured at the plane.
    ///
    /// # Errors
    /// [`BenchError`] if its sweep can't be brought to the kit load's value.
    pub fn add_part(
        &mut self,
        part: Standard,
        sweep: Sweep,
        label: impl Into<String>,
    ) -> Result<(), BenchError> {
        let label = label.into();
        let sweep = self.brought(sweep, &label)?;
        self.plane.parts.push(KnownPart { part, sweep, label });
        Ok(())
    }

    /// Sets what a ripple shows of the calibration.
    pub fn set_residual(&mut self, residual: KnownResidual) {
        self.plane.residual = residual;
    }

    /// The same without single points that lie off the curve of their sweep
    /// ([`outliers`](crate::mistake::outliers)): what a transmitter put there says nothing of the cable.
    #[must_use]
    pub fn without_spikes(&self) -> Self {
        let mut bench = self.clone();
        for ended in &mut bench.sweeps {
            let kept = without_spikes(ended.sweep.freq_hz(), ended.sweep.reflection());
            ended.sweep = ended.sweep.picked(&kept);
        }
        for (sweep, _) in &mut bench.antennas {
            *sweep = sweep.picked(&without_spikes(sweep.freq_hz(), sweep.reflection()));
        }
        bench
    }

    /// Leaves out the reflection sweeps for which `keep` is false.
    pub fn retain_sweeps(&mut self, keep: impl FnMut(&EndedSweep) -> bool) {
        self.sweeps.retain(keep);
    }

    /// Leaves out the sweeps from port to port for which `keep` is false.
    pub fn retain_throughs(&mut self, mut keep: impl FnMut(&ThroughSweep) -> bool) {
        self.throughs.retain(|(through, _)| keep(through));
    }

    /// Leaves out the shorter piece; whether there was one.
    pub fn remove_shorter(&mut self) -> bool {
        self.shorter.take().is_some()
    }

    /// Takes both loads for exact: what they are off by is the same in another set of sweeps that this one
    /// is compared with.
    pub fn trust_loads(&mut self) {
        self.kit_load.ohm.u = 0.0;
        self.far_load.ohm.u = 0.0;
    }

    /// The reference that a sweep takes on the bench, ohm, if it may come with `reference_ohm`.
    fn unit_for(&mut self, reference_ohm: f64, label: &str) -> Result<f64, BenchError> {
        let load_ohm = self.kit_load.ohm.value;
        if reference_ohm == load_ohm {
            return Ok(load_ohm);
        }
        if let Some(first_ohm) = self.came_with_ohm.filter(|&first| first != reference_ohm) {
            return Err(BenchError::References {
                label: label.to_owned(),
                found_ohm: reference_ohm,
                first_ohm,
            });
        }
        if (load_ohm / reference_ohm - 1.0).abs() > LARGEST_LOAD_DEVIATION {
            return Err(BenchError::LoadFarFromReference {
                label: label.to_owned(),
                reference_ohm,
                load_ohm,
            });
        }
        self.came_with_ohm = Some(reference_ohm);
        Ok(load_ohm)
    }

    fn brought(&mut self, sweep: Sweep, label: &str) -> Result<Sweep, BenchError> {
        let unit_ohm = self.unit_for(sweep.z_ref_ohm(), label)?;
        Ok(sweep
            .with_reference(unit_ohm)
            .expect("the kit's load was checked to be a positive number"))
    }

    fn brought_through(
        &mut self,
        through: ThroughSweep,
        label: &str,
    ) -> Result<ThroughSweep, BenchError> {
        let unit_ohm = self.unit_for(through.z_ref_ohm(), label)?;
        Ok(through
            .with_reference(unit_ohm)
            .expect("the kit's load was checked to be a positive number"))
    }

    /// Reflection sweeps, any number of each far end, in units of the kit's load.
    pub fn sweeps(&self) -> &[EndedSweep] {
        &self.sweeps
    }

    /// Sweeps from port to port of the same cable, with a label each, in units of the kit's load.
    pub fn throughs(&self) -> &[(ThroughSweep, String)] {
        &self.throughs
    }

    /// Reflection sweeps with an antenna at the far end, or anything else that nobody knows, with a label each.
    pub fn antennas(&self) -> &[(Sweep, String)] {
        &self.antennas
    }

    /// The load used to calibrate the analyser: the unit of every impedance.
    pub fn kit_load(&self) -> Load {
        self.kit_load
    }

    /// What ended the cable in the `load` sweeps.
    pub fn far_load(&self) -> Load {
        self.far_load
    }

    /// Physical length by tape, m.
    pub fn length_m(&self) -> Option<Uncertain> {
        self.length_m
    }

    /// What the jacket claims.
    pub fn marking(&self) -> &Marking {
        &self.marking
    }

    /// What the analyser may be off by.
    pub fn analyser(&self) -> Analyser {
        self.analyser
    }

    /// What is known of the calibrated plane.
    pub fn plane(&self) -> &Plane {
        &self.plane
    }

    /// A shorter piece of the same cable behind the same plugs and adapters.
    pub fn shorter(&self) -> Option<&ShorterPiece> {
        self.shorter.as_ref()
    }

    /// Sweeps taken with this far end.
    pub fn ended(&self, far_end: FarEnd) -> impl Iterator<Item = &EndedSweep> {
        self.sweeps.iter().filter(move |s| s.far_end == far_end)
    }

    /// The first sweep taken with this far end.
    pub fn first(&self, far_end: FarEnd) -> Option<&EndedSweep> {
        self.ended(far_end).next()
    }

    /// Whether calibration load and far-end load are one and the same part, so that its reflection
    /// against the reference is zero whatever its value.
    pub fn far_load_is_kit_load(&self) -> bool {
        self.far_load == self.kit_load
    }
}

fn positive(value: f64) -> bool {
    value > 0.0 && value.is_finite()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sweep(z_ref_ohm: f64) -> Sweep {
        Sweep::new(vec![1e6, 2e6], vec![0.9.into(), 0.8.into()], z_ref_ohm).unwrap()
    }

    /// An open/short/load calibration measures in units of its load: reflections stay, the reference
    /// is the load's value (own derivation: Γ of the load itself is taken for zero).
    #[test]
    fn what_is_added_refers_to_the_kit_load() {
        let mut bench = Bench::new(Load::by_ohmmeter(54.0)).unwrap();
        bench.add_sweep(FarEnd::Open, sweep(50.0), "open").unwrap();
        bench.add_check(FarEnd::Load, sweep(50.0), "check").unwrap();
        // what refers to the load already is let in beside them
        bench.add_sweep(FarEnd::Load, sweep(54.0), "load").unwrap();
        let sweeps = bench.sweeps().iter().chain(&bench.plane().checks);
        for ended in sweeps {
            assert_eq!(ended.sweep.z_ref_ohm(), 54.0, "{}", ended.label);
            assert_eq!(ended.sweep.reflection(), sweep(50.0).reflection());
        }
    }

    #[test]
    fn a_load_of_another_system_is_refused() {
        let mut bench = Bench::new(Load::by_ohmmeter(75.0)).unwrap();
        let error = bench.add_sweep(FarEnd::Open, sweep(50.0), "open");
        assert!(
            matches!(error, Err(BenchError::LoadFarFromReference { .. })),
            "{error:?}"
        );
        assert!(bench.sweeps().is_empty());
    }

    #[test]
    fn sweeps_of_two_references_are_refused() {
        let mut bench = Bench::new(Load::by_ohmmeter(51.0)).unwrap();
        bench.add_sweep(FarEnd::Open, sweep(50.0), "open").unwrap();
        let error = bench.add_sweep(FarEnd::Load, sweep(49.0), "load");
        let wanted = BenchError::References {
            label: "load".to_owned(),
            found_ohm: 49.0,
            first_ohm: 50.0,
        };
        assert_eq!(error, Err(wanted));
    }

    #[test]
    fn what_is_no_resistance_or_length_is_refused() {
        for ohm in [0.0, -50.0, f64::NAN, f64::INFINITY] {
            let load = Load::nominal(ohm);
            assert!(Bench::new(load).is_err(), "{ohm}");
            let bench = Bench::new(Load::nominal(50.0)).unwrap();
            assert!(bench.clone().with_far_load(load).is_err(), "{ohm}");
            let length = Some(Uncertain::new(ohm, 0.01));
            assert!(bench.with_length(length).is_err(), "{ohm}");
        }
    }

    #[test]
    fn the_planes_sweeps_are_brought_along() {
        let checks = vec![EndedSweep {
            far_end: FarEnd::Short,
            sweep: sweep(50.0),
            label: "check".to_owned(),
        }];
        let plane = Plane {
            checks,
            ..Plane::default()
        };
        let bench = Bench::new(Load::by_ohmmeter(49.5)).unwrap();
        let bench = bench.with_plane(plane).unwrap();
        assert_eq!(bench.plane().checks[0].sweep.z_ref_ohm(), 49.5);
    }
}
