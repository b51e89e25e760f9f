//! Where to cut: the core's pieces with a cable, and the way there with an analyser.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use lineproof_core::quantity::{format_frequency, format_length, format_resistance};
use lineproof_core::sections::{
    Allowance, Cable, FarEndState, Section, SectionError, Stages, StubEnd, Transformer, delay_line,
    equalise, match_with_stub, notch_depth_db, phase_of_a_millimetre_rad, section, stages,
    stub_angle_rad, transformer,
};
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;
use thiserror::Error;

use super::cable::{CableError, KnownCable};

/// What is wanted.
#[derive(Clone, Debug, PartialEq)]
pub enum Wanted {
    /// A quarter wave between two resistances, ohm.
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
pub struct Asked {
    /// What is wanted.
    pub wanted: Wanted,
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Delay of plugs and fixture, s.
    pub plug_delay_s: f64,
}

/// A piece and the way to it.
#[derive(Clone, Debug, PartialEq)]
pub struct PieceCut {
    /// What it is.
    pub name: String,
    /// The piece.
    pub section: Section,
    /// The way to it.
    pub stages: Stages,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct CutAnswer {
    /// How a sentence calls the cable.
    pub cable: Option<String>,
    /// Pieces to cut.
    pub pieces: Vec<PieceCut>,
    /// What a transformer does.
    pub transformer: Option<Transformer>,
    /// What to take off each line of a set, m.
    pub off_m: Vec<Uncertain>,
    /// What a millimetre turns the phase by at the frequency, degrees.
    pub deg_per_mm: Option<f64>,
    /// What must be known besides.
    pub remarks: Vec<String>,
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
    #[error("{what} of {value} can't be: expected more than nought")]
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
/// [`CutError`].
pub fn cut(known: &KnownCable, asked: &Asked) -> Result<CutAnswer, CutError> {
    positive("frequency in Hz", asked.freq_hz)?;
    let mut cutter = Cutter {
        cable: known.to_cut(asked.freq_hz)?,
        freq_hz: asked.freq_hz,
        plugs: allowance(asked),
        answer: empty(Some(known.name.clone())),
    };
    cutter.answer.deg_per_mm =
        Some(phase_of_a_millimetre_rad(cutter.cable, asked.freq_hz).to_degrees());
    cutter.answer(&asked.wanted)?;
    if known.piece_delay_s.is_none() {
        cutter.answer.remarks.push(
            "the velocity factor is the catalogue's, and pieces differ by 2 %: measure a piece of the reel with \
             `lineproof assay` and give its finding"
                .to_owned(),
        );
    }
    if asked.plug_delay_s == 0.0 {
        cutter.answer.remarks.push(
            "no plug delay was given: a plug adds 40 to 110 ps, a tee as much again; --plug-delay takes it off the cable"
                .to_owned(),
        );
    }
    Ok(cutter.answer)
}

/// Where the plugs of a piece are: a stub has one end on the line and the other open or shorted, every
/// other piece goes between two connectors.
fn allowance(asked: &Asked) -> Allowance {
    match asked.wanted {
        Wanted::Reactance { .. } | Wanted::Notch { .. } | Wanted::Match { .. } => {
            Allowance::near(asked.plug_delay_s)
        }
        _ => Allowance::both(asked.plug_delay_s),
    }
}

fn empty(cable: Option<String>) -> CutAnswer {
    CutAnswer {
        cable,
        pieces: Vec::new(),
        transformer: None,
        off_m: Vec::new(),
        deg_per_mm: None,
        remarks: Vec::new(),
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
    answer: CutAnswer,
}

impl Cutter {
    fn answer(&mut self, wanted: &Wanted) -> Result<(), CutError> {
        match wanted {
            Wanted::Transformer { from_ohm, to_ohm } => self.transformer(*from_ohm, *to_ohm),
            Wanted::Reactance { end, ohm } => {
                let angle = stub_angle_rad(*end, self.cable.z0_ohm.value, *ohm);
                let name = format!("{} stub of {}", end_name(*end), format_resistance(*ohm));
                self.piece(name, angle, true, end_state(*end))
            }
            Wanted::Notch { end, line_ohm } => self.notch(*end, *line_ohm),
            Wanted::Match {
                end,
                load_ohm,
                line_ohm,
            } => self.matching(*end, *load_ohm, *line_ohm),
            Wanted::HalfWaves(count) => {
                let name = if *count == 1 {
                    "half wave".to_owned()
                } else {
                    format!("{count} half waves")
                };
                self.piece(name, PI * f64::from(*count), false, FarEndState::Short)
            }
            Wanted::Angle(angle) => {
                positive("angle in degrees", angle.to_degrees())?;
                let name = format!("phasing line of {:.4}°", angle.to_degrees());
                let name = name.replace(".0000°", "°");
                self.piece(name, *angle, false, FarEndState::Open)
            }
            Wanted::Delay(delay) => {
                let made = delay_line(self.cable, *delay, self.freq_hz, self.plugs)?;
                self.push("delay line".to_owned(), made, FarEndState::Open);
                Ok(())
            }
            Wanted::Equal(delays) => {
                self.answer.off_m = equalise(self.cable, delays);
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
        let length_m = self.answer.pieces[0].section.length_m.value;
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
        self.answer.remarks.push(format!(
            "it lets {} pass unhindered",
            format_frequency(passes_hz)
        ));
        Ok(())
    }

    fn matching(&mut self, end: StubEnd, load: Complex64, line_ohm: f64) -> Result<(), CutError> {
        let ways = match_with_stub(load, line_ohm, self.cable.z0_ohm.value, end)?;
        if ways.is_empty() {
            self.answer
                .remarks
                .push("the load matches as it is: no stub is needed".to_owned());
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
            let text = "the piece alone would be shorter than its plugs: half a wave was added, which changes nothing but its bandwidth";
            self.answer.remarks.push(text.to_owned());
        }
        self.push(name, made, far_end);
        Ok(())
    }

    fn push(&mut self, name: String, section: Section, far_end: FarEndState) {
        self.answer.pieces.push(PieceCut {
            name,
            stages: stages(self.cable, &section, self.plugs, far_end),
            section,
        });
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
