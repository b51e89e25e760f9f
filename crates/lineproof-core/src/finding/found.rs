//! The result of an assay as others read it: what `--json` prints and what every report is made from.
//!
//! The key names are a contract. Keys may be added, never renamed; a quantity that the sweeps do
//! not determine is absent and a warning says why. `u95` is the half-width of a 95 % interval that
//! includes everything known: noise, calibration, load, tape. SI units, except where the key
//! says otherwise.
//!
//! A finding reads itself back, whichever version wrote it: keys that this version does not know are
//! passed over, and a part of another shape is left out without hiding the others.

use super::events::{EventFound, ExplanationFound};
use super::marking::{MarkingFound, TypeFound};
use super::measured::{CalibrationFound, MethodFound, SweepUsed};
use super::profile::ProfileFound;
use super::quantities::{
    DelayFound, ElectricalLengthRow, GeometryFound, ImpedanceFound, ImpedanceRow, InputRow,
    InsertionLossRow, LawRow, LengthFound, LossPartsFound, LossRow, OhmFound, RatioFound,
    SystemFound,
};
use super::remarks::{Advice, Help, Warning};
#[cfg(feature = "serde")]
use super::stored;
use super::verdict::{Condition, VerdictFound};

/// Number of the layout below; it rises when a key changes its meaning.
pub const SCHEMA: u32 = 1;

/// What an assay found.
#[derive(Clone, Debug, Default, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(default)
)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Finding {
    /// Number of this layout: [`SCHEMA`].
    #[cfg_attr(feature = "serde", serde(deserialize_with = "stored::part"))]
    #[cfg_attr(feature = "schema", schema(required))]
    pub schema: u32,
    /// Version of the program that made it.
    #[cfg_attr(feature = "serde", serde(deserialize_with = "stored::part"))]
    #[cfg_attr(feature = "schema", schema(required))]
    pub program_version: String,
    /// The sweeps that went in.
    #[cfg_attr(feature = "serde", serde(deserialize_with = "stored::list"))]
    #[cfg_attr(feature = "schema", schema(required))]
    pub sweeps: Vec<SweepUsed>,
    /// Whether the cable is sound.
    #[cfg_attr(feature = "serde", serde(deserialize_with = "stored::part"))]
    #[cfg_attr(feature = "schema", schema(required))]
    pub condition: Condition,
    /// Why it is not.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub condition_reasons: Vec<String>,
    /// Faults along the cable.
    #[cfg_attr(feature = "serde", serde(deserialize_with = "stored::list"))]
    #[cfg_attr(feature = "schema", schema(required))]
    pub events: Vec<EventFound>,
    /// Explanations that were compared, the likeliest first; empty if nothing spoke against a whole
    /// cable.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub explanations: Vec<ExplanationFound>,
    /// What the calibration left, by the ripple of long lines at the plane.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub calibration: Vec<CalibrationFound>,
    /// Characteristic impedance.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub impedance: Option<ImpedanceFound>,
    /// The same at the frequencies asked for.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub impedances: Vec<ImpedanceRow>,
    /// What the impedance tends to at high frequency: that without the conductors' internal inductance.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub impedance_limit: Option<OhmFound>,
    /// One-way delay.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub delay: Option<DelayFound>,
    /// Velocity factor; needs the length.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub velocity_factor: Option<RatioFound>,
    /// Length, and how it is known.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub length: Option<LengthFound>,
    /// Matched loss of the piece, one way, by rising frequency.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub loss: Vec<LossRow>,
    /// Insertion loss of the piece as it lies, faults and plugs included, by rising frequency: in the system's
    /// impedance first, then in that of the analyser where it is another. Absent where nothing gets through or the
    /// sweeps do not say.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub insertion_loss: Vec<InsertionLossRow>,
    /// Input of the piece as it lies, at the same frequencies and between the same impedances.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub input: Vec<InputRow>,
    /// Electrical length of the piece with its plugs at the frequencies asked for and that of use, or where the
    /// impedance is stated if none was named; absent for a piece that ends early.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub electrical_length: Vec<ElectricalLengthRow>,
    /// The parts of the loss.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub loss_parts: Option<LossPartsFound>,
    /// Impedance, delay and loss by the fitted law, over the whole sweep: for other questions about the
    /// same cable.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub law: Vec<LawRow>,
    /// Temperature of the cable while it was swept, °C, if it was given.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub temperature_c: Option<f64>,
    /// Impedance along the cable; needs the length.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub profile: Option<ProfileFound>,
    /// What a caliper says beside the sweeps; needs both diameters.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub geometry: Option<GeometryFound>,
    /// Each method of the trade by itself.
    #[cfg_attr(feature = "serde", serde(deserialize_with = "stored::list"))]
    #[cfg_attr(feature = "schema", schema(required))]
    pub methods: Vec<MethodFound>,
    /// The piece in a system whose impedance was named.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub system: Option<SystemFound>,
    /// Comparison with what the jacket claims; absent if nothing is claimed.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub marking: Option<MarkingFound>,
    /// What to do with it.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::part",
            skip_serializing_if = "Option::is_none"
        )
    )]
    pub verdict: Option<VerdictFound>,
    /// Types of the catalogue that it may be, and "none of these", by falling probability.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub types: Vec<TypeFound>,
    /// What the reader must know before trusting a number.
    #[cfg_attr(feature = "serde", serde(deserialize_with = "stored::list"))]
    #[cfg_attr(feature = "schema", schema(required))]
    pub warnings: Vec<Warning>,
    /// Measurements that would narrow an interval by more than a fifth, from the posterior; for
    /// each quantity the most useful first.
    #[cfg_attr(
        feature = "serde",
        serde(
            deserialize_with = "stored::list",
            skip_serializing_if = "Vec::is_empty"
        )
    )]
    pub helps: Vec<Help>,
    /// What to measure next.
    #[cfg_attr(feature = "serde", serde(deserialize_with = "stored::list"))]
    #[cfg_attr(feature = "schema", schema(value_type = Vec<String>, required))]
    pub advice: Vec<Advice>,
    /// Care to take, where it applies to this cable.
    #[cfg_attr(feature = "serde", serde(deserialize_with = "stored::list"))]
    #[cfg_attr(feature = "schema", schema(required))]
    pub cautions: Vec<String>,
}

impl Finding {
    /// The loss at a frequency, if the table has it.
    pub fn loss_at(&self, freq_hz: f64) -> Option<&LossRow> {
        let near = |row: &&LossRow| (row.at_hz - freq_hz).abs() <= 1e-6 * freq_hz;
        self.loss.iter().find(near)
    }

    /// What the piece loses at a frequency as it lies: the insertion loss where a fault was found, or nothing if it
    /// is not stated there; of a cable without one, its matched loss. dB and 95 % half-width.
    pub fn loss_as_it_lies(&self, freq_hz: f64) -> Option<(f64, f64)> {
        if self.events.is_empty() {
            return self.loss_at(freq_hz).map(|row| (row.db, row.u95_db));
        }
        let near = |row: &&InsertionLossRow| (row.at_hz - freq_hz).abs() <= 1e-6 * freq_hz;
        let row = self.insertion_loss.iter().find(near)?;
        Some((row.db, row.u95_db))
    }
}
