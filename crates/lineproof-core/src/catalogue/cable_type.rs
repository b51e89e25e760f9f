//! One type of cable: what makers and standards say about it, each figure with its source.

use super::loss::LossCurve;
use super::power::PowerRating;

/// A figure and where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The value, in the unit that the field's name gives.
    pub value: f64,
    /// Ids of [`Catalogue::source`](super::Catalogue::source), separated by `;`.
    pub source: String,
}

impl Figure {
    /// Whether the figure, or part of it, was written down without a document at hand.
    pub fn is_from_memory(&self) -> bool {
        self.source.contains("memory")
    }
}

/// What lies between the conductors, as far as an eye or a knife can tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Filling {
    /// Solid polyethylene.
    SolidPolyethylene,
    /// Foamed polyethylene.
    FoamedPolyethylene,
    /// PTFE, solid.
    Ptfe,
    /// Much air: a tube, a thread, discs or cells.
    AirSpaced,
}

impl Filling {
    /// As people call it.
    pub fn name(self) -> &'static str {
        match self {
            Self::SolidPolyethylene => "solid polyethylene",
            Self::FoamedPolyethylene => "foamed polyethylene",
            Self::Ptfe => "PTFE",
            Self::AirSpaced => "air-spaced polyethylene",
        }
    }

    /// Highest temperature of the inner conductor that such cable is usually rated for, °C: 80 for
    /// polyethylene, 200 for PTFE. Common practice, from memory.
    pub fn highest_c(self) -> f64 {
        if self == Self::Ptfe { 200.0 } else { 80.0 }
    }

    /// Thermal conductivity, W/(m·K): polyethylene 0.33, PTFE 0.25 (handbook values, from memory); foam
    /// and air-spaced a third of solid polyethylene, as their air is (from memory).
    pub fn conductivity_w_m_k(self) -> f64 {
        match self {
            Self::SolidPolyethylene => 0.33,
            Self::Ptfe => 0.25,
            Self::FoamedPolyethylene | Self::AirSpaced => 0.12,
        }
    }
}

/// One type of cable. Diameters and impedance are nominal.
#[derive(Clone, Debug, PartialEq)]
pub struct CableType {
    /// Name under which it is known.
    pub designation: String,
    /// Further names.
    pub aliases: Vec<String>,
    /// Specification that defines it.
    pub spec: Option<String>,
    /// Impedance, dielectric and build in a word or two, for lists.
    pub class: String,
    /// Characteristic impedance, ohm.
    pub z0_ohm: Figure,
    /// Tolerance of the impedance, ± ohm.
    pub z0_tolerance_ohm: Option<Figure>,
    /// Velocity factor.
    pub velocity_factor: Figure,
    /// Velocity factors that a good piece can show: lowest, highest.
    pub velocity_range: (f64, f64),
    /// Capacitance, F/m.
    pub capacitance_f_m: Option<Figure>,
    /// Diameter of the inner conductor, m.
    pub inner_diameter_m: Option<Figure>,
    /// Wires of the inner conductor; 1 is a solid one.
    pub strands: Option<u32>,
    /// Material of the inner conductor.
    pub inner_material: String,
    /// Dielectric.
    pub filling: Filling,
    /// Diameter over the dielectric, m.
    pub dielectric_diameter_m: Option<Figure>,
    /// Shield in words.
    pub shield: String,
    /// Outside diameter, m.
    pub jacket_diameter_m: Option<Figure>,
    /// Voltage rating as printed, V; usually meant as rms.
    pub voltage_v: Option<Figure>,
    /// Attenuation.
    pub loss: LossCurve,
    /// Average power.
    pub power: Option<PowerRating>,
    /// Remarks.
    pub notes: String,
    /// Whether it is a class whose figures are medians of other types.
    pub is_class: bool,
}

impl CableType {
    /// Whether the inner conductor has a steel core.
    pub fn has_steel_core(&self) -> bool {
        self.inner_material.contains("steel")
    }

    /// Standard spread of the impedance between pieces, ohm: half the stated tolerance, 1 ohm where
    /// none is stated (tolerances of 2 ohm are usual, `Figure::source` of those that have one).
    pub fn z0_spread_ohm(&self) -> f64 {
        self.z0_tolerance_ohm
            .as_ref()
            .map_or(1.0, |t| 0.5 * t.value)
    }

    /// Standard spread of the velocity factor between pieces: 1 % (the trade's ±2 %) and the range
    /// that good cable of the type shows, taken as four of them.
    pub fn velocity_spread(&self) -> f64 {
        let (low, high) = self.velocity_range;
        (0.01 * self.velocity_factor.value).max(0.25 * (high - low))
    }
}
