//! Pieces of a known cable for a use, each with the way there: cut long, measure, trim.
//!
//! The cable's delay is its own if it was assayed, else its type's velocity factor, which a remark then says.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::{
    Allowance, Cable, FarEndState, Section, SectionError, Stages, StubEnd, Transformer, delay_line,
    equalise, match_with_stub, notch_depth_db, phase_of_a_millimetre_rad, section, stages,
    stub_angle_rad, transformer,
};
use crate::finding::from_u95;
use crate::known::{CableError, KnownCable};
use crate::quantity::{format_frequency, format_length, format_resistance};
use crate::uncertain::Uncertain;
use num_complex::Complex64;
use thiserror::Error;

/// What is wanted.
#[derive(Clone, Debug, PartialEq)]
pub enum PieceWanted {
    /// Quarter-wave section between two resistances, ohm.
    Transformer {
        /// One end.
        from_ohm: f64,
        /// The other.
        to_ohm: f64,
    },
    /// A stub of a reactance, ohm.
    Reactance {
        /// How it ends.
        end: StubEnd,
        /// Reactance.
        ohm: f64,
    },
    /// A stub that shorts a line of this impedance.
    Notch {
        /// How it ends.
        end: StubEnd,
        /// Impedance of the line.
        line_ohm: f64,
    },
    /// A stub that matches a load.
    Match {
        /// How it ends.
        end: StubEnd,
        /// Load.
        load_ohm: Complex64,
        /// Impedance of the line.
        line_ohm: f64,
    },
    /// Half waves.
    HalfWaves(u32),
    /// A phasing line, rad.
    Angle(f64),
    /// A delay line, s one way.
    Delay(f64),
    /// Lines of these delays made equal.
    Equal(Vec<Uncertain>),
}

/// The whole question.
#[derive(Clone, Debug, PartialEq)]
pub struct PiecesAsked {
    /// What is wanted.
    pub wanted: PieceWanted,
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Delay of plugs and fixture, s.
    pub plug_delay_s: f64,
}

/// Pieces to cut for a use, and the way to each.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PiecesAnswer {
    /// How a sentence calls the cable.
    pub cable: String,
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Pieces to cut; none for lines that are made equal.
    pub pieces: Vec<PieceToCut>,
    /// What a transformer does; null for another piece.
    #[cfg_attr(feature = "schema", schema(required))]
    pub transformer: Option<Transformer>,
    /// What to take off each line of a set, in the order of its delays; none for another piece.
    pub take_off: Vec<TakeOff>,
    /// What a millimetre turns the phase by at the frequency, degrees.
    #[cfg_attr(feature = "schema", schema(required))]
    pub deg_per_mm: Option<f64>,
    /// What must be known besides, a sentence each.
    pub remarks: Vec<String>,
}

/// A piece and the way to it: cut, measure, trim.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PieceToCut {
    /// What it is.
    pub name: String,
    /// Length of the cable, plugs not counted, m.
    length_m: f64,
    /// 95 % half-width, m.
    u95_m: f64,
    /// One-way delay that the whole has, plugs and all, s.
    pub one_way_s: f64,
    /// Its angle at the frequency, degrees.
    pub angle_deg: f64,
    /// Whole half waves that were added because the piece was too short for its plugs.
    half_waves_added: u32,
    /// First cut, m.
    pub cut_m: f64,
    /// How the far end is kept while measuring.
    pub far_end: FarEndState,
    /// Frequency of the lowest impedance when the piece is right, its far plug not yet fitted, Hz.
    pub target_hz: f64,
    /// The same with the far plug on, Hz; absent for a piece without one or whose plugs have no delay.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub plugged_hz: Option<f64>,
    /// Where it may stand after the first cut: lowest and highest, Hz.
    #[cfg_attr(feature = "schema", schema(min_items = 2, max_items = 2))]
    pub first_hz: [f64; 2],
    /// Length to take off for each hertz that the frequency is too low, m/Hz.
    pub trim_m_per_hz: f64,
    /// What a millimetre changes the frequency by, Hz.
    pub hz_per_mm: f64,
}

/// What to take off a line.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct TakeOff {
    /// Length, m; zero for the shortest line.
    pub m: f64,
    /// 95 % half-width, m.
    pub u95_m: f64,
}

/// Why there is no piece.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum CutError {
    /// The cable is not known well enough.
    #[error(transparent)]
    Cable(#[from] CableError),
    /// No such piece.
    #[error(transparent)]
    Section(#[from] SectionError),
    /// A number that can't be.
    #[error("{what} of {value} is impossible: expected more than zero")]
    NotPositive {
        /// What it is.
        what: &'static str,
        /// The number.
        value: f64,
    },
}

/// Where to cut.
///
/// # Errors
/// [`CutError`] if the cable is not known well enough, or no piece of it will do.
pub fn cut(known: &KnownCable, asked: &PiecesAsked) -> Result<PiecesAnswer, CutError> {
    positive("frequency in Hz", asked.freq_hz)?;
    let mut cutter = Cutter {
        cable: known.to_cut(asked.freq_hz)?,
        freq_hz: asked.freq_hz,
        plugs: allowance(asked),
        answer: PiecesAnswer {
            cable: known.name.clone(),
            at_hz: asked.freq_hz,
            pieces: Vec::new(),
            transformer: None,
            take_off: Vec::new(),
            deg_per_mm: None,
            remarks: Vec::new(),
        },
    };
    cutter.answer.deg_per_mm =
        Some(phase_of_a_millimetre_rad(cutter.cable, asked.freq_hz).to_degrees());
    cutter.answer(&asked.wanted)?;
    if known.piece_delay_s.is_none() {
        cutter.answer.remarks.push(
            "the velocity factor is the catalogue's, and pieces differ by 2 %: measure a piece of the reel and \
             give its finding"
                .to_owned(),
        );
    }
    if asked.plug_delay_s == 0.0 {
        cutter.answer.remarks.push(
            "no plug delay was given: a plug adds 40 to 110 ps, a tee as much again; one that is given is subtracted from the cable"
                .to_owned(),
        );
    }
    Ok(cutter.answer)
}

/// Where the plugs of a piece are: a stub has one end on the line and the other open or shorted, every
/// other piece goes between two connectors.
fn allowance(asked: &PiecesAsked) -> Allowance {
    match asked.wanted {
        PieceWanted::Reactance { .. } | PieceWanted::Notch { .. } | PieceWanted::Match { .. } => {
            Allowance::near(asked.plug_delay_s)
        }
        _ => Allowance::both(asked.plug_delay_s),
    }
}

fn positive(what: &'static str, value: f64) -> Result<(), CutError> {
    if value > 0.0 {
        Ok(())
    } else {
        Err(CutError::NotPositive { what, value })
    }
}

struct Cutter {
    cable: Cable,
    freq_hz: f64,
    plugs: Allowance,
    answer: PiecesAnswer,
}

impl Cutter {
    fn answer(&mut self, wanted: &PieceWanted) -> Result<(), CutError> {
        match wanted {
            PieceWanted::Transformer { from_ohm, to_ohm } => self.transformer(*from_ohm, *to_ohm),
            PieceWanted::Reactance { end, ohm } => {
                let angle = stub_angle_rad(*end, self.cable.z0_ohm.value, *ohm);
                let name = format!("{} stub of {}", end_name(*end), format_resistance(*ohm));
                self.piece(name, angle, true, end_state(*end))
            }
            PieceWanted::Notch { end, line_ohm } => self.notch(*end, *line_ohm),
            PieceWanted::Match {
                end,
                load_ohm,
                line_ohm,
            } => self.matching(*end, *load_ohm, *line_ohm),
            PieceWanted::HalfWaves(count) => {
                let name = if *count == 1 {
                    "half wave".to_owned()
                } else {
                    format!("{count} half waves")
                };
                self.piece(name, PI * f64::from(*count), false, FarEndState::Short)
            }
            PieceWanted::Angle(angle) => {
                positive("angle in degrees", angle.to_degrees())?;
                let name = format!("phasing line of {:.4}°", angle.to_degrees());
                let name = name.replace(".0000°", "°");
                self.piece(name, *angle, false, FarEndState::Open)
            }
            PieceWanted::Delay(delay) => {
                let made = delay_line(self.cable, *delay, self.freq_hz, self.plugs)?;
                self.push("delay line".to_owned(), made, FarEndState::Open);
                Ok(())
            }
            PieceWanted::Equal(delays) => {
                let off_m = equalise(self.cable, delays);
                self.answer.take_off = off_m.into_iter().map(TakeOff::of).collect();
                Ok(())
            }
        }
    }

    fn transformer(&mut self, from_ohm: f64, to_ohm: f64) -> Result<(), CutError> {
        positive("resistance", from_ohm.min(to_ohm))?;
        self.answer.transformer = transformer(self.cable.z0_ohm.value, from_ohm, to_ohm);
        self.piece(
            "quarter wave".to_owned(),
            FRAC_PI_2,
            false,
            FarEndState::Open,
        )
    }

    fn notch(&mut self, end: StubEnd, line_ohm: f64) -> Result<(), CutError> {
        let angle = match end {
            StubEnd::Open => FRAC_PI_2,
            StubEnd::Short => PI,
        };
        self.piece(
            format!("{} notch stub", end_name(end)),
            angle,
            true,
            end_state(end),
        )?;
        let length_m = self.answer.pieces[0].length_m;
        self.answer
            .remarks
            .push(match notch_depth_db(self.cable, length_m, line_ohm) {
                Some(db) => format!(
                    "its own loss limits the notch to {db:.0} dB on a {} line",
                    format_resistance(line_ohm)
                ),
                None => {
                    "the cable's loss is not known here, nor how deep the notch will be".to_owned()
                }
            });
        let passes_hz = match end {
            StubEnd::Open => 2.0 * self.freq_hz,
            StubEnd::Short => 0.5 * self.freq_hz,
        };
        self.answer
            .remarks
            .push(format!("it passes {}", format_frequency(passes_hz)));
        Ok(())
    }

    fn matching(&mut self, end: StubEnd, load: Complex64, line_ohm: f64) -> Result<(), CutError> {
        let ways = match_with_stub(load, line_ohm, self.cable.z0_ohm.value, end)?;
        if ways.is_empty() {
            self.answer
                .remarks
                .push("the load already matches: no stub is needed".to_owned());
        }
        for way in ways {
            let distance_s = way.distance_rad / (TAU * self.freq_hz);
            let distance_m = distance_s / self.cable.delay_s_per_m.value;
            let name = format!(
                "{} stub, {} from the load along a {} line of this cable",
                end_name(end),
                format_length((distance_m * 1e3).round() / 1e3),
                format_resistance(line_ohm)
            );
            self.piece(name, way.stub_rad, true, end_state(end))?;
        }
        Ok(())
    }

    fn piece(
        &mut self,
        name: String,
        angle: f64,
        repeats: bool,
        far_end: FarEndState,
    ) -> Result<(), CutError> {
        let made = section(self.cable, angle, self.freq_hz, self.plugs, repeats)?;
        if made.half_waves_added > 0 {
            let text = "the piece alone would be shorter than its plugs: half a wave was added, which changes only its bandwidth";
            self.answer.remarks.push(text.to_owned());
        }
        self.push(name, made, far_end);
        Ok(())
    }

    fn push(&mut self, name: String, section: Section, far_end: FarEndState) {
        let stages = stages(self.cable, &section, self.plugs, far_end);
        self.answer
            .pieces
            .push(PieceToCut::of(name, &section, stages));
    }
}

impl PieceToCut {
    fn of(name: String, section: &Section, way: Stages) -> Self {
        Self {
            name,
            length_m: section.length_m.value,
            u95_m: section.length_m.u95(),
            one_way_s: section.one_way_delay_s,
            angle_deg: section.angle_rad.to_degrees(),
            half_waves_added: section.half_waves_added,
            cut_m: way.cut_m,
            far_end: way.far_end,
            target_hz: way.target_hz,
            plugged_hz: way.plugged_hz,
            first_hz: way.first_hz.into(),
            trim_m_per_hz: way.trim_m_per_hz,
            hz_per_mm: way.hz_per_mm,
        }
    }

    /// Length of the cable, plugs not counted, m.
    pub fn length(&self) -> Uncertain {
        from_u95(self.length_m, self.u95_m)
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

fn end_name(end: StubEnd) -> &'static str {
    match end {
        StubEnd::Open => "open",
        StubEnd::Short => "shorted",
    }
}

/// A stub is measured as it will be used.
fn end_state(end: StubEnd) -> FarEndState {
    match end {
        StubEnd::Open => FarEndState::Open,
        StubEnd::Short => FarEndState::Short,
    }
}
