//! Pieces to cut, for programs.

use lineproof_core::sections::{FarEndState, Transformer};
use lineproof_core::uncertain::Uncertain;
use serde::Serialize;
use utoipa::ToSchema;

use crate::finding::SCHEMA;
use crate::workflow::cut::{Asked, CutAnswer, PieceCut};

/// Pieces to cut for a use, and the way to each.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct PiecesAnswer {
    /// Number of this layout.
    schema: u32,
    /// How a sentence calls the cable.
    #[schema(required)]
    cable: Option<String>,
    /// Frequency, Hz.
    at_hz: f64,
    /// Pieces to cut; none for lines that are made equal.
    pieces: Vec<PieceToCut>,
    /// What a transformer does; null for another piece.
    #[schema(required)]
    transformer: Option<TransformerMade>,
    /// What to take off each line of a set, in the order of its delays; none for another piece.
    take_off: Vec<TakeOff>,
    /// What a millimetre turns the phase by at the frequency, degrees.
    #[schema(required)]
    deg_per_mm: Option<f64>,
    /// What must be known besides, a sentence each.
    remarks: Vec<String>,
}

/// A piece and the way to it: cut, measure, trim.
#[derive(Clone, Debug, Serialize, ToSchema)]
struct PieceToCut {
    /// What it is.
    name: String,
    /// Length of the cable, plugs not counted, m.
    length_m: f64,
    /// 95 % half-width, m.
    u95_m: f64,
    /// One-way delay that the whole has, plugs and all, s.
    one_way_s: f64,
    /// Its angle at the frequency, degrees.
    angle_deg: f64,
    /// Whole half waves that were added because the piece was too short for its plugs.
    half_waves_added: u32,
    /// First cut, m.
    cut_m: f64,
    /// How the far end is kept while measuring.
    far_end: KeptEnd,
    /// Frequency of the lowest impedance when the piece is right, its far plug not yet fitted, Hz.
    target_hz: f64,
    /// The same with the far plug on, Hz; absent for a piece without one or whose plugs have no delay.
    #[serde(skip_serializing_if = "Option::is_none")]
    plugged_hz: Option<f64>,
    /// Where it may stand after the first cut: lowest and highest, Hz.
    #[schema(min_items = 2, max_items = 2)]
    first_hz: [f64; 2],
    /// Length to take off for each hertz that the frequency is too low, m/Hz.
    trim_m_per_hz: f64,
    /// What a millimetre changes the frequency by, Hz.
    hz_per_mm: f64,
}

/// How the far end of a piece is kept while it is trimmed.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
enum KeptEnd {
    /// Nothing on it.
    Open,
    /// Inner conductor and shield joined.
    Short,
}

/// How well a quarter wave of this cable matches.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct TransformerMade {
    /// Impedance that would match exactly, ohm.
    wanted_ohm: f64,
    /// What the cable at hand makes of the second resistance, ohm.
    input_ohm: f64,
    /// SWR that is left against the first.
    swr: f64,
    /// SWR without the transformer.
    swr_before: f64,
}

/// What to take off a line.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct TakeOff {
    /// Length, m; nought for the shortest line.
    m: f64,
    /// 95 % half-width, m.
    u95_m: f64,
}

impl PiecesAnswer {
    /// The answer to what was asked.
    pub fn of(answer: CutAnswer, asked: &Asked) -> Self {
        Self {
            schema: SCHEMA,
            cable: answer.cable,
            at_hz: asked.freq_hz,
            pieces: answer.pieces.into_iter().map(PieceToCut::of).collect(),
            transformer: answer.transformer.map(TransformerMade::of),
            take_off: answer.off_m.into_iter().map(TakeOff::of).collect(),
            deg_per_mm: answer.deg_per_mm,
            remarks: answer.remarks,
        }
    }
}

impl PieceToCut {
    fn of(piece: PieceCut) -> Self {
        let (section, way) = (piece.section, piece.stages);
        Self {
            name: piece.name,
            length_m: section.length_m.value,
            u95_m: section.length_m.u95(),
            one_way_s: section.one_way_delay_s,
            angle_deg: section.angle_rad.to_degrees(),
            half_waves_added: section.half_waves_added,
            cut_m: way.cut_m,
            far_end: way.far_end.into(),
            target_hz: way.target_hz,
            plugged_hz: way.plugged_hz,
            first_hz: way.first_hz.into(),
            trim_m_per_hz: way.trim_m_per_hz,
            hz_per_mm: way.hz_per_mm,
        }
    }
}

impl From<FarEndState> for KeptEnd {
    fn from(state: FarEndState) -> Self {
        match state {
            FarEndState::Open => Self::Open,
            FarEndState::Short => Self::Short,
        }
    }
}

impl TransformerMade {
    fn of(made: Transformer) -> Self {
        Self {
            wanted_ohm: made.wanted_ohm,
            input_ohm: made.input_ohm,
            swr: made.swr,
            swr_before: made.swr_before,
        }
    }
}

impl TakeOff {
    fn of(off_m: Uncertain) -> Self {
        Self {
            m: off_m.value,
            u95_m: off_m.u95(),
        }
    }
}
