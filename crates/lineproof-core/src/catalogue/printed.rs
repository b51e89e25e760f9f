//! A type as programs read it: its figures, each with the ids of its documents, and its loss at usual frequencies.

use super::{CableType, Figure, PowerPoint, PowerRating};

/// Frequencies of a loss table, Hz.
pub const SHOWN_HZ: [f64; 13] = [
    1e6, 3.5e6, 7e6, 14e6, 30e6, 50e6, 100e6, 145e6, 200e6, 435e6, 1e9, 1.3e9, 2.4e9,
];

/// One type with its figures and where each comes from. Diameters and impedance are nominal; what the
/// catalogue lacks is null.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct TypeKnown<'a> {
    /// Name under which it is known.
    pub designation: &'a str,
    /// Further names.
    pub aliases: &'a [String],
    /// Specification that defines it.
    #[cfg_attr(feature = "schema", schema(required))]
    pub specification: Option<&'a str>,
    /// Impedance, dielectric and build in a word or two.
    pub class: &'a str,
    /// Characteristic impedance, ohm.
    pub impedance_ohm: SourcedFigure<'a>,
    /// Tolerance of the impedance, ± ohm.
    #[cfg_attr(feature = "schema", schema(required))]
    pub impedance_tolerance_ohm: Option<SourcedFigure<'a>>,
    /// Velocity factor.
    pub velocity_factor: SourcedFigure<'a>,
    /// Velocity factors that a good piece can show: lowest and highest.
    #[cfg_attr(feature = "schema", schema(min_items = 2, max_items = 2))]
    pub velocity_range: [f64; 2],
    /// Capacitance, F/m.
    #[cfg_attr(feature = "schema", schema(required))]
    pub capacitance_f_m: Option<SourcedFigure<'a>>,
    /// Diameter of the inner conductor, m.
    #[cfg_attr(feature = "schema", schema(required))]
    pub inner_diameter_m: Option<SourcedFigure<'a>>,
    /// Wires of the inner conductor; 1 is a solid one.
    #[cfg_attr(feature = "schema", schema(required))]
    pub strands: Option<u32>,
    /// Material of the inner conductor.
    pub inner_material: &'a str,
    /// `solid polyethylene`, `foamed polyethylene`, `PTFE` or `air-spaced polyethylene`.
    pub dielectric: &'static str,
    /// Diameter over the dielectric, m.
    #[cfg_attr(feature = "schema", schema(required))]
    pub dielectric_diameter_m: Option<SourcedFigure<'a>>,
    /// Shield in words.
    pub shield: &'a str,
    /// Outside diameter, m.
    #[cfg_attr(feature = "schema", schema(required))]
    pub jacket_diameter_m: Option<SourcedFigure<'a>>,
    /// Voltage rating as printed, V; usually meant as rms.
    #[cfg_attr(feature = "schema", schema(required))]
    pub voltage_v: Option<SourcedFigure<'a>>,
    /// Loss at usual frequencies within the catalogue's figures, by rising frequency.
    pub loss: Vec<LossPrinted>,
    /// Ids of the documents that the loss is from, separated by `;`.
    #[cfg_attr(feature = "schema", schema(required))]
    pub loss_source: Option<&'a str>,
    /// Whether the loss is an upper limit, not a typical value.
    pub loss_is_limit: bool,
    /// Average power that it is rated for, by rising frequency.
    pub average_power: Vec<PowerPrinted<'a>>,
    /// Remarks.
    pub notes: &'a str,
}

/// A figure and where it comes from.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SourcedFigure<'a> {
    /// The value, in the unit of its key.
    pub value: f64,
    /// Ids of documents, separated by `;`.
    pub source: &'a str,
}

/// Loss at one frequency.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LossPrinted {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Loss of 100 m, matched, one way, dB.
    pub db_per_100m: f64,
}

/// Average power at one frequency.
#[derive(Clone, Copy, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PowerPrinted<'a> {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Average power into a matched line, W.
    pub w: f64,
    /// Temperature around the cable that it holds at, °C; null if the maker does not say.
    #[cfg_attr(feature = "schema", schema(required))]
    pub ambient_c: Option<f64>,
    /// Ids of documents, separated by `;`.
    pub source: &'a str,
}

/// Its loss at usual frequencies: Hz and dB for 100 m.
pub fn loss_points(t: &CableType) -> impl Iterator<Item = (f64, f64)> {
    SHOWN_HZ
        .iter()
        .filter_map(|&f| Some((f, 100.0 * t.loss.printed_db_m(f).ok()?)))
}

impl<'a> TypeKnown<'a> {
    /// The type as programs read it.
    pub fn of(t: &'a CableType) -> Self {
        let figure = |f: &'a Option<Figure>| f.as_ref().map(SourcedFigure::of);
        let power = t.power.iter().flat_map(PowerRating::points);
        Self {
            designation: &t.designation,
            aliases: &t.aliases,
            specification: t.spec.as_deref(),
            class: &t.class,
            impedance_ohm: SourcedFigure::of(&t.z0_ohm),
            impedance_tolerance_ohm: figure(&t.z0_tolerance_ohm),
            velocity_factor: SourcedFigure::of(&t.velocity_factor),
            velocity_range: t.velocity_range.into(),
            capacitance_f_m: figure(&t.capacitance_f_m),
            inner_diameter_m: figure(&t.inner_diameter_m),
            strands: t.strands,
            inner_material: &t.inner_material,
            dielectric: t.filling.name(),
            dielectric_diameter_m: figure(&t.dielectric_diameter_m),
            shield: &t.shield,
            jacket_diameter_m: figure(&t.jacket_diameter_m),
            voltage_v: figure(&t.voltage_v),
            loss: loss_points(t).map(LossPrinted::of).collect(),
            loss_source: t.loss.source(),
            loss_is_limit: t.loss.is_limit(),
            average_power: power.map(PowerPrinted::of).collect(),
            notes: &t.notes,
        }
    }
}

impl<'a> SourcedFigure<'a> {
    fn of(figure: &'a Figure) -> Self {
        Self {
            value: figure.value,
            source: &figure.source,
        }
    }
}

impl LossPrinted {
    fn of((at_hz, db_per_100m): (f64, f64)) -> Self {
        Self { at_hz, db_per_100m }
    }
}

impl<'a> PowerPrinted<'a> {
    fn of(point: &'a PowerPoint) -> Self {
        Self {
            at_hz: point.freq_hz,
            w: point.average_w,
            ambient_c: point.ambient_c,
            source: &point.source,
        }
    }
}
