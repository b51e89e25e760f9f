//! Types of cable for programs: a list of them, and which one something may be.

use lineproof_core::catalogue::{CableType, Figure, PowerPoint, PowerRating};
use lineproof_core::identify::{Excluded, Identification, Separator};
use serde::Serialize;
use utoipa::ToSchema;

use crate::finding::{SCHEMA, TypeFound};
use crate::report::types::loss_points;
use lineproof_core::finding::judge::types::entries;

/// Types of cable.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct TypesAnswer<'a> {
    /// Number of this layout.
    schema: u32,
    /// The types, in the order of the catalogue.
    types: Vec<TypeKnown<'a>>,
}

/// One type with its figures and where each comes from. Diameters and impedance are nominal; what the
/// catalogue lacks is null.
#[derive(Clone, Debug, Serialize, ToSchema)]
struct TypeKnown<'a> {
    /// Name under which it is known.
    designation: &'a str,
    /// Further names.
    aliases: &'a [String],
    /// Specification that defines it.
    #[schema(required)]
    specification: Option<&'a str>,
    /// Impedance, dielectric and build in a word or two.
    class: &'a str,
    /// Characteristic impedance, ohm.
    impedance_ohm: SourcedFigure<'a>,
    /// Tolerance of the impedance, ± ohm.
    #[schema(required)]
    impedance_tolerance_ohm: Option<SourcedFigure<'a>>,
    /// Velocity factor.
    velocity_factor: SourcedFigure<'a>,
    /// Velocity factors that a good piece can show: lowest and highest.
    #[schema(min_items = 2, max_items = 2)]
    velocity_range: [f64; 2],
    /// Capacitance, F/m.
    #[schema(required)]
    capacitance_f_m: Option<SourcedFigure<'a>>,
    /// Diameter of the inner conductor, m.
    #[schema(required)]
    inner_diameter_m: Option<SourcedFigure<'a>>,
    /// Wires of the inner conductor; 1 is a solid one.
    #[schema(required)]
    strands: Option<u32>,
    /// Material of the inner conductor.
    inner_material: &'a str,
    /// `solid polyethylene`, `foamed polyethylene`, `PTFE` or `air-spaced polyethylene`.
    dielectric: &'static str,
    /// Diameter over the dielectric, m.
    #[schema(required)]
    dielectric_diameter_m: Option<SourcedFigure<'a>>,
    /// Shield in words.
    shield: &'a str,
    /// Outside diameter, m.
    #[schema(required)]
    jacket_diameter_m: Option<SourcedFigure<'a>>,
    /// Voltage rating as printed, V; usually meant as rms.
    #[schema(required)]
    voltage_v: Option<SourcedFigure<'a>>,
    /// Loss at usual frequencies within the catalogue's figures, by rising frequency.
    loss: Vec<LossPrinted>,
    /// Ids of the documents that the loss is from, separated by `;`.
    #[schema(required)]
    loss_source: Option<&'a str>,
    /// Whether the loss is an upper limit, not a typical value.
    loss_is_limit: bool,
    /// Average power that it is rated for, by rising frequency.
    average_power: Vec<PowerPrinted<'a>>,
    /// Remarks.
    notes: &'a str,
}

/// A figure and where it comes from.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct SourcedFigure<'a> {
    /// The value, in the unit of its key.
    value: f64,
    /// Ids of documents, separated by `;`.
    source: &'a str,
}

/// Loss at one frequency.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct LossPrinted {
    /// Frequency, Hz.
    at_hz: f64,
    /// Loss of 100 m, matched, one way, dB.
    db_per_100m: f64,
}

/// Average power at one frequency.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct PowerPrinted<'a> {
    /// Frequency, Hz.
    at_hz: f64,
    /// Average power into a matched line, W.
    w: f64,
    /// Temperature around the cable that it holds at, °C; null if the maker does not say.
    #[schema(required)]
    ambient_c: Option<f64>,
    /// Ids of documents, separated by `;`.
    source: &'a str,
}

/// Which types a cable may be.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct IdentificationAnswer {
    /// Number of this layout.
    schema: u32,
    /// Types of the catalogue that it may be, and "none of these", by falling probability.
    types: Vec<TypeFound>,
    /// What would tell them apart, the best first.
    separators: Vec<SeparatorFound>,
    /// Whole classes that it can't be.
    excluded: Vec<ClassExcluded>,
}

/// A cheap look that would tell types apart.
#[derive(Clone, Debug, Serialize, ToSchema)]
struct SeparatorFound {
    /// What to look at, with what to expect.
    text: String,
    /// Chance that it tells two types, drawn from the probabilities, apart: 0 to 1.
    gain: f64,
}

/// Types that are out of the question.
#[derive(Clone, Debug, Serialize, ToSchema)]
struct ClassExcluded {
    /// Their class.
    class: String,
    /// How many of them.
    types: usize,
    /// What speaks against them most.
    quantity: &'static str,
}

impl<'a> TypesAnswer<'a> {
    /// The answer that these types are.
    pub fn of(types: &[&'a CableType]) -> Self {
        Self {
            schema: SCHEMA,
            types: types.iter().map(|t| TypeKnown::of(t)).collect(),
        }
    }
}

impl<'a> TypeKnown<'a> {
    fn of(t: &'a CableType) -> Self {
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

impl IdentificationAnswer {
    /// The answer that programs read.
    pub fn of(found: Identification) -> Self {
        Self {
            schema: SCHEMA,
            types: entries(&found),
            separators: found
                .separators
                .into_iter()
                .map(SeparatorFound::of)
                .collect(),
            excluded: found.excluded.into_iter().map(ClassExcluded::of).collect(),
        }
    }
}

impl SeparatorFound {
    fn of(separator: Separator) -> Self {
        Self {
            text: separator.what,
            gain: separator.gain,
        }
    }
}

impl ClassExcluded {
    fn of(excluded: Excluded) -> Self {
        Self {
            class: excluded.class,
            types: excluded.types,
            quantity: excluded.quantity,
        }
    }
}
