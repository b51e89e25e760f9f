//! What a cable is fit for, for programs.

use lineproof_core::fitness::{ConductorHeat, Stress, WrongImpedance};
use lineproof_core::uncertain::Uncertain;
use serde::Serialize;
use utoipa::ToSchema;

use super::Range;
use crate::finding::{OhmFound, SCHEMA};
use crate::workflow::fitness::{Asked, Band, Check, Fitness};

/// What a cable does at a frequency, over a run, with a power and a load.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct UseAnswer {
    /// Number of this layout.
    schema: u32,
    /// How a sentence calls the cable.
    cable: String,
    /// Length of the run, m; null for an assayed piece whose length is not known.
    #[schema(required)]
    run_m: Option<f64>,
    /// Frequency, Hz.
    at_hz: f64,
    /// Impedance of source and load, ohm.
    system_ohm: f64,
    /// Characteristic impedance of the cable, real part.
    impedance: OhmFound,
    /// Delay of the run.
    delay: RunDelay,
    /// Loss with a matched load.
    matched_loss: MatchedLoss,
    /// Loss with this load, dB, by the balance of power.
    total_loss_db: Range,
    /// The same by the handbook formula, dB; null for a load that takes nothing.
    #[schema(required)]
    handbook_loss_db: Option<f64>,
    /// SWR on the line at the load, against the line's own impedance.
    line_swr: Range,
    /// SWR at the input against the system's impedance.
    input_swr: Range,
    /// What a transmitter without a tuner keeps back for the mismatch at the input, dB.
    input_mismatch_db: Range,
    /// Part of the power into the line that the load gets, 0 to 1.
    efficiency: Range,
    /// Power that the load gets, W; null if no power was given.
    #[schema(required)]
    load_w: Option<Range>,
    /// Voltage, current and heat; null if no power was given.
    #[schema(required)]
    stress: Option<UseStress>,
    /// Type whose ratings were used; null if none is known.
    #[schema(required)]
    rated_as: Option<String>,
    /// Price of an impedance that is not the system's; null if it is, within 5 %.
    #[schema(required)]
    wrong_impedance: Option<WrongImpedancePrice>,
    /// What the use asks of the cable.
    checks: Vec<Check>,
    /// The same run, matched, on other bands, by rising frequency.
    bands: Vec<BandOfRun>,
    /// What must be known besides, a sentence each.
    remarks: Vec<String>,
    /// Care to take, a sentence each.
    cautions: Vec<String>,
}

/// One-way delay of a run.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct RunDelay {
    /// Value, s.
    one_way_s: f64,
    /// 95 % half-width, s.
    u95_s: f64,
}

/// Loss of a run with a matched load, one way.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct MatchedLoss {
    /// Value, dB.
    db: f64,
    /// 95 % half-width, dB.
    u95_db: f64,
}

/// What a use does to a cable: estimates.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct UseStress {
    /// Peak voltage along the run, V.
    peak_v: f64,
    /// Peak current along the run, A.
    peak_a: f64,
    /// Average power into the run, W.
    average_w: f64,
    /// Average power that rating or heat allow here, W; null if neither is known.
    #[schema(required)]
    allowed_average_w: Option<f64>,
    /// Peak power that the voltage rating allows here, W; null without a rating.
    #[schema(required)]
    allowed_peak_w: Option<f64>,
    /// Temperature of the inner conductor at its hottest spot, °C; null if it is not known or beyond what
    /// the dielectric stands.
    #[schema(required)]
    conductor_c: Option<f64>,
    /// Temperature that the dielectric stands, °C, if the inner conductor gets hotter than that.
    #[serde(skip_serializing_if = "Option::is_none")]
    conductor_above_c: Option<f64>,
}

/// What a cable of another impedance costs between a source and a load of the system's.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct WrongImpedancePrice {
    /// SWR at the input with this length.
    input_swr: Range,
    /// SWR at the input with the worst length near it.
    worst_input_swr: f64,
    /// Loss beyond that of the same cable matched, dB.
    extra_loss_db: Range,
    /// What a transmitter without a tuner keeps back at the worst length, dB.
    worst_mismatch_db: f64,
}

/// The run on one band with a matched load.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
struct BandOfRun {
    /// Frequency, Hz.
    at_hz: f64,
    /// Loss, one way, dB.
    loss_db: f64,
    /// 95 % half-width, dB.
    u95_db: f64,
    /// Part of the power that reaches the load, 0 to 1.
    efficiency: f64,
    /// Average power that the rating allows, W; null without a rating.
    #[schema(required)]
    allowed_average_w: Option<f64>,
}

impl UseAnswer {
    /// The answer to what was asked.
    pub fn of(fitness: Fitness, asked: &Asked) -> Self {
        let (line, transfer) = (fitness.line, fitness.transfer);
        Self {
            schema: SCHEMA,
            cable: fitness.name,
            run_m: fitness.run_m,
            at_hz: asked.freq_hz,
            system_ohm: fitness.system_ohm,
            impedance: line.z0_ohm.into(),
            delay: RunDelay::of(line.one_way_delay_s),
            matched_loss: MatchedLoss::of(transfer.matched_loss_db),
            total_loss_db: transfer.total_loss_db.into(),
            handbook_loss_db: transfer.handbook_loss_db,
            line_swr: transfer.line_swr.into(),
            input_swr: transfer.input_swr.into(),
            input_mismatch_db: transfer.input_mismatch_db.into(),
            efficiency: transfer.efficiency.into(),
            load_w: fitness.load_w.map(Range::from),
            stress: fitness.stress.map(UseStress::of),
            rated_as: fitness.rated_as,
            wrong_impedance: fitness.wrong.map(WrongImpedancePrice::of),
            checks: fitness.checks,
            bands: fitness.bands.iter().map(BandOfRun::of).collect(),
            remarks: fitness.remarks,
            cautions: fitness.cautions,
        }
    }
}

impl RunDelay {
    fn of(delay_s: Uncertain) -> Self {
        Self {
            one_way_s: delay_s.value,
            u95_s: delay_s.u95(),
        }
    }
}

impl MatchedLoss {
    fn of(loss_db: Uncertain) -> Self {
        Self {
            db: loss_db.value,
            u95_db: loss_db.u95(),
        }
    }
}

impl UseStress {
    fn of(stress: Stress) -> Self {
        Self {
            peak_v: stress.peak_v,
            peak_a: stress.peak_a,
            average_w: stress.average_w,
            allowed_average_w: stress.allowed_average_w,
            allowed_peak_w: stress.allowed_peak_w,
            conductor_c: stress.conductor.and_then(ConductorHeat::celsius),
            conductor_above_c: match stress.conductor {
                Some(ConductorHeat::Beyond(limit_c)) => Some(limit_c),
                _ => None,
            },
        }
    }
}

impl WrongImpedancePrice {
    fn of(wrong: WrongImpedance) -> Self {
        Self {
            input_swr: wrong.input_swr.into(),
            worst_input_swr: wrong.worst_input_swr,
            extra_loss_db: wrong.extra_loss_db.into(),
            worst_mismatch_db: wrong.worst_mismatch_db,
        }
    }
}

impl BandOfRun {
    fn of(band: &Band) -> Self {
        Self {
            at_hz: band.freq_hz,
            loss_db: band.loss_db.value,
            u95_db: band.loss_db.u95(),
            efficiency: band.efficiency,
            allowed_average_w: band.allowed_w,
        }
    }
}
