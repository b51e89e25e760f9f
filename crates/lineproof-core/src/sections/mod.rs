//! Pieces to cut: transformers, stubs, half waves, phasing and delay lines, a fault out.
//!
//! Everything is cut by delay, not by a table's velocity factor: [`Cable::delay_s_per_m`] is best the
//! cable's own. A plug, a tee or a fixture adds delay of its own ([`Allowance`]), which the cable is
//! shortened by. [`stages()`] says how to get there with an analyser: cut long, measure, trim. [`cut()`] answers the
//! whole question for a [`KnownCable`](crate::known::KnownCable), [`cut_faults`] takes the faults of a finding out.

mod fault;
mod fault_answer;
mod pieces;
mod stages;
mod stub;

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use thiserror::Error;

use crate::line::matching::{quarter_wave_input_ohm, quarter_wave_z0_ohm};
use crate::line::mismatch::swr;
use crate::quantity::format_delay;
use crate::uncertain::{Uncertain, propagate};

pub use fault::{Damage, FaultCut, HAND_M, USEFUL_M, cut_out};
pub use fault_answer::{
    CutsAround, FaultAnswer, FaultByHand, FaultCutError, PieceLeft, cut_faults,
};
pub use pieces::{CutError, PieceToCut, PieceWanted, PiecesAnswer, PiecesAsked, TakeOff, cut};
pub use stages::{FarEndState, Stages, stages};
pub use stub::{Matching, StubEnd, match_with_stub, notch_depth_db, stub_angle_rad};

/// The cable that pieces are cut from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cable {
    /// Characteristic impedance, ohm.
    pub z0_ohm: Uncertain,
    /// One-way delay of a metre, s/m.
    pub delay_s_per_m: Uncertain,
    /// Matched loss of a metre at the frequency of the piece, dB/m; zero if not known.
    pub loss_db_per_m: f64,
}

/// Delay that is not cable: plugs, a tee, a fixture. What is at the near end is there while the piece is
/// trimmed, a far plug comes after the last cut.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Allowance {
    /// At the near end, one way, s.
    pub near_s: f64,
    /// At the far end, one way, s.
    pub far_s: f64,
}

impl Allowance {
    /// A piece with a plug at its near end alone.
    pub fn near(one_way_delay_s: f64) -> Self {
        Self {
            near_s: one_way_delay_s,
            far_s: 0.0,
        }
    }

    /// A piece with like plugs at both ends that have this delay together.
    pub fn both(one_way_delay_s: f64) -> Self {
        Self {
            near_s: 0.5 * one_way_delay_s,
            far_s: 0.5 * one_way_delay_s,
        }
    }

    /// Near and far end together, one way, s.
    pub fn total_s(self) -> f64 {
        self.near_s + self.far_s
    }
}

/// A piece of cable to cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Length of the cable, plugs not counted, m.
    pub length_m: Uncertain,
    /// One-way delay that the whole has, plugs and all, s.
    pub one_way_delay_s: f64,
    /// Its angle at the frequency of the piece, rad.
    pub angle_rad: f64,
    /// Frequency of the piece, Hz.
    pub freq_hz: f64,
    /// Whole half turns that were added because the piece was too short for its plugs.
    pub half_waves_added: u32,
}

/// Why there is no such piece.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum SectionError {
    /// Plugs alone are longer than the piece.
    #[error(
        "a piece of {} one way with plugs of {}: no cable is left to cut; use a lower frequency, or a \
         piece longer by half a wave",
        format_delay(*.wanted_s),
        format_delay(*.plugs_s)
    )]
    OnlyPlugs {
        /// Delay wanted, s.
        wanted_s: f64,
        /// Delay of the plugs, s.
        plugs_s: f64,
    },
    /// A load that no lossless piece can match.
    #[error("a load of {ohm} ohm takes no power: nothing can match it")]
    Reactive {
        /// Resistance of the load, ohm.
        ohm: f64,
    },
    /// A place outside of the cable.
    #[error("the fault at {at_m} m lies outside of the cable's {length_m} m")]
    Outside {
        /// Place, m.
        at_m: f64,
        /// Length, m.
        length_m: f64,
    },
}

/// Shortest cable that plugs fit on, m.
const SHORTEST_M: f64 = 0.01;

/// The piece with this angle at `freq_hz`. Where `repeats_half` (a stub, a half wave) and the plugs
/// leave no cable, half waves are added until one is left.
///
/// ```
/// use lineproof_core::sections::{Allowance, Cable, section};
/// use lineproof_core::uncertain::Uncertain;
/// // A quarter wave at 14.1 MHz in cable of velocity factor 0.66 is 3.51 m long.
/// let cable = Cable {
///     z0_ohm: Uncertain::exact(50.0),
///     delay_s_per_m: Uncertain::exact(1.0 / (0.66 * 299_792_458.0)),
///     loss_db_per_m: 0.0,
/// };
/// let quarter = std::f64::consts::FRAC_PI_2;
/// let piece = section(cable, quarter, 14.1e6, Allowance::default(), false).unwrap();
/// assert!((piece.length_m.value - 3.508).abs() < 0.001);
/// ```
///
/// # Errors
/// [`SectionError::OnlyPlugs`].
pub fn section(
    cable: Cable,
    angle_rad: f64,
    freq_hz: f64,
    allowance: Allowance,
    repeats_half: bool,
) -> Result<Section, SectionError> {
    let plugs_s = allowance.total_s();
    let shortest_s = plugs_s + SHORTEST_M * cable.delay_s_per_m.value;
    let mut angle_rad = angle_rad;
    let mut half_waves_added = 0;
    while repeats_half && angle_rad / (TAU * freq_hz) < shortest_s {
        angle_rad += PI;
        half_waves_added += 1;
    }
    let wanted_s = angle_rad / (TAU * freq_hz);
    if wanted_s < shortest_s {
        return Err(SectionError::OnlyPlugs { wanted_s, plugs_s });
    }
    Ok(Section {
        length_m: propagate([cable.delay_s_per_m], |[d]| (wanted_s - plugs_s) / d),
        one_way_delay_s: wanted_s,
        angle_rad,
        freq_hz,
        half_waves_added,
    })
}

/// The piece with this one-way delay.
///
/// # Errors
/// [`SectionError::OnlyPlugs`].
pub fn delay_line(
    cable: Cable,
    one_way_delay_s: f64,
    freq_hz: f64,
    allowance: Allowance,
) -> Result<Section, SectionError> {
    section(
        cable,
        TAU * freq_hz * one_way_delay_s,
        freq_hz,
        allowance,
        false,
    )
}

/// Quarter-wave section between two resistances.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize, serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Transformer {
    /// Impedance that would match exactly, ohm.
    pub wanted_ohm: f64,
    /// What the cable at hand makes of the second resistance, ohm.
    pub input_ohm: f64,
    /// VSWR that is left against the first.
    pub swr: f64,
    /// VSWR without the transformer.
    pub swr_before: f64,
}

/// What a quarter wave of `z0_ohm` does between `first_ohm` and `second_ohm`; `None` unless all are
/// above zero.
pub fn transformer(z0_ohm: f64, first_ohm: f64, second_ohm: f64) -> Option<Transformer> {
    if !(z0_ohm > 0.0 && first_ohm > 0.0 && second_ohm > 0.0) {
        return None;
    }
    let against = |a: f64, b: f64| swr(((a - b) / (a + b)).abs());
    let input_ohm = quarter_wave_input_ohm(z0_ohm, second_ohm);
    Some(Transformer {
        wanted_ohm: quarter_wave_z0_ohm(first_ohm, second_ohm),
        input_ohm,
        swr: against(input_ohm, first_ohm)?,
        swr_before: against(second_ohm, first_ohm)?,
    })
}

/// How much must come off each of several lines to make them equal to the shortest, m, from their
/// one-way delays. Uncertainty holds that of both delays.
pub fn equalise(cable: Cable, one_way_delays_s: &[Uncertain]) -> Vec<Uncertain> {
    let shortest = one_way_delays_s
        .iter()
        .copied()
        .reduce(|a, b| if b.value < a.value { b } else { a });
    let Some(shortest) = shortest else {
        return Vec::new();
    };
    one_way_delays_s
        .iter()
        .map(|&delay| {
            if delay == shortest {
                return Uncertain::exact(0.0);
            }
            propagate([delay, shortest, cable.delay_s_per_m], |[a, b, d]| {
                (a - b) / d
            })
        })
        .collect()
}

/// What one millimetre of cable changes: phase at the piece's frequency, rad.
pub fn phase_of_a_millimetre_rad(cable: Cable, freq_hz: f64) -> f64 {
    TAU * freq_hz * cable.delay_s_per_m.value * 1e-3
}

/// Frequency at which the whole piece is a quarter wave, Hz.
pub fn quarter_wave_hz(one_way_delay_s: f64) -> f64 {
    FRAC_PI_2 / (TAU * one_way_delay_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn cable(velocity_factor: f64) -> Cable {
        let delay = 1.0 / (velocity_factor * crate::constants::SPEED_OF_LIGHT_M_S);
        Cable {
            z0_ohm: Uncertain::new(50.0, 0.1),
            delay_s_per_m: Uncertain::new(delay, 0.002 * delay),
            loss_db_per_m: 0.05,
        }
    }

    #[test]
    fn plugs_shorten_the_cable_and_half_waves_help_where_none_is_left() {
        let plugs = Allowance::both(120e-12);
        let bare = section(cable(0.66), FRAC_PI_2, 145e6, Allowance::default(), false).unwrap();
        let plugged = section(cable(0.66), FRAC_PI_2, 145e6, plugs, false).unwrap();
        let shorter = bare.length_m.value - plugged.length_m.value;
        assert!(
            (shorter - 120e-12 * 0.66 * 2.998e8).abs() < 1e-5,
            "{shorter}"
        );
        let tiny = section(cable(0.66), 0.01, 145e6, plugs, true).unwrap();
        assert_eq!(tiny.half_waves_added, 1);
        assert!(section(cable(0.66), 0.01, 145e6, plugs, false).is_err());
        // 0.2 % of delay are 0.2 % of length.
        assert!((bare.length_m.relative() - 0.002).abs() < 1e-5);
    }

    /// Check value QW-02: 50 to 100 ohm wants 70.71 ohm; 75 ohm cable makes 56.25 of 100, VSWR 1.125.
    #[test]
    fn a_75_ohm_quarter_wave_nearly_matches_100_to_50() {
        let t = transformer(75.0, 50.0, 100.0).unwrap();
        assert!((t.wanted_ohm - 70.7107).abs() < 1e-4);
        assert!((t.swr - 1.125).abs() < 1e-12 && (t.swr_before - 2.0).abs() < 1e-12);
        assert_eq!(transformer(75.0, 0.0, 100.0), None);
    }

    #[test]
    fn equal_lines_lose_what_they_are_longer() {
        let delays = [50e-9, 51e-9, 50.5e-9].map(|d| Uncertain::new(d, 1e-12));
        let off = equalise(cable(0.66), &delays);
        assert_eq!(off[0], Uncertain::exact(0.0));
        assert!((off[1].value - 0.19786).abs() < 1e-4, "{:?}", off[1]);
        assert!(off[2].u > 0.0);
    }
}
