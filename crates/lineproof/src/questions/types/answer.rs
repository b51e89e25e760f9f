//! Types of cable: a list of them, and which one something may be.

use lineproof_core::catalogue::{CableType, Catalogue, Figure, PowerPoint, PowerRating};
use lineproof_core::identify::{Excluded, Identification, Separator};
use serde::{Serialize, Serializer};
use utoipa::ToSchema;

use crate::finding::TypeFound;
use lineproof_core::finding::judge::types::entries;

/// Frequencies of a loss table, Hz.
pub(super) const SHOWN_HZ: [f64; 13] = [
    1e6, 3.5e6, 7e6, 14e6, 30e6, 50e6, 100e6, 145e6, 200e6, 435e6, 1e9, 1.3e9, 2.4e9,
];

/// Types of cable.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct TypesAnswer {
    /// The types, in the order of the catalogue.
    #[serde(serialize_with = "printed")]
    #[schema(value_type = Vec<TypeKnown<'static>>)]
    pub(super) types: Vec<CableType>,
    /// Of the one that was named: ids and documents of its figures.
    #[serde(skip)]
    pub(super) sources: Option<Vec<(String, String)>>,
}

/// A list, one of it, or which one something may be.
#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
pub(crate) enum Answered {
    /// Types that were listed or named.
    Types(TypesAnswer),
    /// Which ones something may be.
    Identified(IdentificationAnswer),
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
pub(crate) struct IdentificationAnswer {
    /// Types of the catalogue that it may be, and "none of these", by falling probability.
    pub(super) types: Vec<TypeFound>,
    /// What would tell them apart, the best first.
    pub(super) separators: Vec<Separator>,
    /// Whole classes that it can't be.
    pub(super) excluded: Vec<Excluded>,
}

fn printed<S: Serializer>(types: &[CableType], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(types.iter().map(TypeKnown::of))
}

/// Its loss at usual frequencies: Hz and dB for 100 m.
pub(super) fn loss_points(t: &CableType) -> impl Iterator<Item = (f64, f64)> {
    SHOWN_HZ
        .iter()
        .filter_map(|&f| Some((f, 100.0 * t.loss.printed_db_m(f).ok()?)))
}

impl TypesAnswer {
    /// A list.
    pub(super) fn of(types: Vec<CableType>) -> Self {
        Self {
            types,
            sources: None,
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
    /// The answer that an identification is.
    pub(super) fn of(found: Identification) -> Self {
        Self {
            types: entries(&found),
            separators: found.separators,
            excluded: found.excluded,
        }
    }
}

/// The documents of its figures: id and document.
pub(super) fn source_rows(catalogue: &Catalogue, t: &CableType) -> Vec<(String, String)> {
    let figures = [
        Some(&t.z0_ohm),
        t.z0_tolerance_ohm.as_ref(),
        Some(&t.velocity_factor),
        t.capacitance_f_m.as_ref(),
        t.inner_diameter_m.as_ref(),
        t.dielectric_diameter_m.as_ref(),
        t.jacket_diameter_m.as_ref(),
        t.voltage_v.as_ref(),
    ];
    let of_figures = figures.into_iter().flatten().map(|f| f.source.as_str());
    let power = t
        .power
        .iter()
        .flat_map(PowerRating::points)
        .map(|p| p.source.as_str());
    let mut ids: Vec<&str> = of_figures
        .chain(t.loss.source())
        .chain(power)
        .flat_map(|s| s.split(';'))
        .map(|id| id.split(" (").next().unwrap_or(id).trim())
        .collect();
    ids.sort_unstable();
    ids.dedup();
    let document = |id: &str| {
        catalogue
            .source(id)
            .unwrap_or("given in your own file")
            .to_owned()
    };
    ids.into_iter()
        .map(|id| (id.to_owned(), document(id)))
        .collect()
}
