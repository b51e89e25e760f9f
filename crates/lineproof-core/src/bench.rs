//! What the person at the bench brings: sweeps of one cable with what ended the far end, and what
//! they know besides.

use std::fmt;

use crate::calibration::Standard;
use crate::calibration::fixture::Adapter;
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

/// Everything known about one cable on the bench.
#[derive(Clone, Debug)]
pub struct Bench {
    /// Reflection sweeps, any number of each far end. Their reference is `kit_load`.
    pub sweeps: Vec<EndedSweep>,
    /// Two-port sweeps of the same cable, with a label each.
    pub throughs: Vec<(ThroughSweep, String)>,
    /// The load used to calibrate the analyser: the unit of every impedance.
    pub kit_load: Load,
    /// What ended the cable in the `load` sweeps: the kit's load unless stated otherwise.
    pub far_load: Load,
    /// Physical length by tape, m.
    pub length_m: Option<Uncertain>,
    /// What the jacket claims.
    pub marking: Marking,
    /// What the analyser may be off by.
    pub analyser: Analyser,
    /// What is known of the calibrated plane.
    pub plane: Plane,
    /// A shorter piece of the same cable behind the same plugs and adapters.
    pub shorter: Option<ShorterPiece>,
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
    pub taken_away: bool,
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
