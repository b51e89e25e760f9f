//! Where to cut faults out, for programs.

use lineproof_core::sections::FaultCut;
use lineproof_core::uncertain::Uncertain;
use serde::Serialize;
use utoipa::ToSchema;

use crate::finding::{End, SCHEMA};
use crate::workflow::fault_cut::{self, Remains};
use lineproof_core::finding::judge::repair::FaultAt;

/// Where to cut faults out of a cable, and what remains.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct FaultAnswer {
    /// Number of this layout.
    schema: u32,
    /// How a sentence calls the cable; null if none was named.
    #[schema(required)]
    cable: Option<String>,
    /// Length that the cuts were reckoned with, m; null if it is not known.
    #[schema(required)]
    whole_m: Option<f64>,
    /// Faults of the finding that are cut out, by rising place; none for a fault placed by hand.
    faults: Vec<FaultAt>,
    /// Ends whose plugs are to be renewed.
    renew_plugs: Vec<End>,
    /// The cuts; null if there are none along the cable.
    #[schema(required)]
    fault: Option<CutsAround>,
    /// Pieces that remain, nearest first.
    remains: Vec<PieceLeft>,
    /// What must be known besides, a sentence each.
    remarks: Vec<String>,
}

/// Cuts with the faults between them.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[expect(clippy::struct_field_names, reason = "keys say their unit")]
struct CutsAround {
    /// The first cut, from the near end, m; null if nothing remains before it.
    #[schema(required)]
    near_cut_m: Option<f64>,
    /// The last cut, from the near end, m; null if nothing remains beyond it.
    #[schema(required)]
    far_cut_m: Option<f64>,
    /// Stretches that go, each from and to, from the near end, m.
    out_m: Vec<[f64; 2]>,
    /// Length that goes to waste, m; null if that of the cable is not known.
    #[schema(required)]
    waste_m: Option<f64>,
}

/// A piece that remains. Delay and loss are those of sound cable of that length without plugs; null
/// where they are not known.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct PieceLeft {
    /// Where it begins, from the near end of the old cable, m.
    from_m: f64,
    /// Where it ends, m.
    to_m: f64,
    /// How long it is, m.
    length_m: f64,
    /// One-way delay, s.
    #[schema(required)]
    one_way_s: Option<f64>,
    /// 95 % half-width, s.
    #[schema(required)]
    u95_s: Option<f64>,
    /// Loss, one way, dB.
    #[schema(required)]
    loss_db: Option<f64>,
    /// 95 % half-width, dB.
    #[schema(required)]
    u95_loss_db: Option<f64>,
    /// Frequency of the loss, Hz.
    #[schema(required)]
    loss_at_hz: Option<f64>,
    /// Where its first lowest impedance stands with the far end open, Hz.
    #[schema(required)]
    quarter_wave_hz: Option<f64>,
    /// Whether a sweep has seen it.
    seen: bool,
}

impl FaultAnswer {
    /// The answer that programs read.
    pub fn of(answer: fault_cut::FaultAnswer) -> Self {
        let whole_m = answer.whole_m;
        Self {
            schema: SCHEMA,
            cable: answer.cable,
            whole_m,
            faults: answer.faults,
            renew_plugs: answer.plugs,
            fault: answer.cut.map(|cut| CutsAround::of(cut, whole_m)),
            remains: answer.remains.iter().map(PieceLeft::of).collect(),
            remarks: answer.remarks,
        }
    }
}

impl CutsAround {
    fn of(cut: FaultCut, whole_m: Option<f64>) -> Self {
        let first_m = cut.out_m.first().map(|out| out.0);
        let last_m = cut.out_m.last().map(|out| out.1);
        Self {
            near_cut_m: first_m.filter(|&m| m > 0.0),
            far_cut_m: last_m.filter(|&m| m < whole_m.unwrap_or(f64::INFINITY)),
            out_m: cut.out_m.into_iter().map(Into::into).collect(),
            waste_m: whole_m.map(|_| cut.waste_m),
        }
    }
}

impl PieceLeft {
    fn of(piece: &Remains) -> Self {
        let (delay_s, loss_db) = (piece.one_way_delay_s, piece.loss.map(|(_, db)| db));
        Self {
            from_m: piece.place_m.0,
            to_m: piece.place_m.1,
            length_m: piece.length_m(),
            one_way_s: delay_s.map(|d| d.value),
            u95_s: delay_s.map(Uncertain::u95),
            loss_db: loss_db.map(|db| db.value),
            u95_loss_db: loss_db.map(Uncertain::u95),
            loss_at_hz: piece.loss.map(|(at_hz, _)| at_hz),
            quarter_wave_hz: piece.quarter_wave_hz().map(|q| q.value),
            seen: !piece.unseen,
        }
    }
}
