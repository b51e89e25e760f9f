//! Sweeps onto the bench: far ends declared or judged, references set to the load's true value.

use std::error::Error as _;

use lineproof_core::bench::{Analyser, Bench, EndedSweep, FarEnd, KnownPart};
use lineproof_core::calibration::Standard;
use lineproof_core::far_end::{self, FarEndError};
use lineproof_core::formats::Network;
use lineproof_core::sweep::{Sweep, SweepError, ThroughSweep};
use thiserror::Error;

use super::knowledge::{Knowledge, KnowledgeError};
use super::plane::PlaneError;
use crate::finding::{SweepUsed, Warning};

/// What a file was said to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Far end open.
    Open,
    /// Far end shorted.
    Short,
    /// Far end loaded.
    Load,
    /// From port 1 to port 2.
    Through,
    /// The calibration's own standard at the plane, no cable.
    Check(FarEnd),
    /// A part at the plane that was described: which of those in [`PlaneSaid::parts`].
    ///
    /// [`PlaneSaid::parts`]: super::plane::PlaneSaid::parts
    Part(usize),
    /// Not said.
    Judge,
}

/// One file's readings, with its name and what it was said to be.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Name for messages.
    pub label: String,
    /// What it was said to be.
    pub role: Role,
    /// The readings.
    pub network: Network,
}

/// A bench with what was noted while it was set up.
#[derive(Debug)]
pub struct Gathered {
    /// The bench.
    pub bench: Bench,
    /// The sweeps on it, reflections first.
    pub sweeps: Vec<SweepUsed>,
    /// What the reader must know.
    pub warnings: Vec<Warning>,
    /// Parts that were described, each with its name.
    parts: Vec<(String, Standard)>,
    /// Judgements of the far end, a sentence each.
    judgements: Vec<String>,
    /// Sweeps that could not be placed.
    pub refused: Vec<GatherError>,
}

/// Why a sweep or a whole bench can't be set up.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum GatherError {
    /// A one-port sweep given as through.
    #[error("`{label}` has one port, a through sweep needs two")]
    NotTwoPort {
        /// Name of the file.
        label: String,
    },
    /// Nobody said what ended the cable and nothing shows it.
    #[error(transparent)]
    FarEnd(#[from] FarEndError),
    /// Sweeps that refer to different impedances can't share one calibration load.
    #[error("`{label}` refers to {found_ohm} ohm, the sweeps before it to {first_ohm} ohm")]
    References {
        /// Name of the file.
        label: String,
        /// Its reference, ohm.
        found_ohm: f64,
        /// Reference of the first sweep, ohm.
        first_ohm: f64,
    },
    /// What is known besides can't be right.
    #[error(transparent)]
    Knowledge(#[from] KnowledgeError),
    /// What is said of the calibrated plane can't be used.
    #[error("{message}")]
    Plane {
        /// What is wrong, with its cause.
        message: String,
    },
    /// A sweep given as a check that shows something else.
    #[error(
        "`{label}` is not the calibration's {standard} at the plane: its reflection is off by {rms:.2}"
    )]
    NotTheStandard {
        /// Name of the file.
        label: String,
        /// What it was given as.
        standard: FarEnd,
        /// rms difference from what the analyser took the standard for.
        rms: f64,
    },
    /// A check of a part that nobody described.
    #[error("nobody said what part `{label}` is a check of")]
    NotDescribed {
        /// Name of the file.
        label: String,
    },
    /// A sweep given as a described part that shows something else.
    #[error(
        "`{label}` is not the {name} at the plane: its reflection is off by {rms:.2} from what was described"
    )]
    NotThePart {
        /// Name of the file.
        label: String,
        /// What it was given as.
        name: String,
        /// rms difference from the description.
        rms: f64,
    },
    /// A reference that is no resistance.
    #[error(transparent)]
    Sweep(#[from] SweepError),
    /// No sweep is left.
    #[error("no sweep is left to work with")]
    NothingLeft,
}

impl GatherError {
    /// One next step.
    pub fn help(&self) -> Option<String> {
        match self {
            Self::FarEnd(e) => Some(format!(
                "say what ended the cable: `--open {0}`, `--short {0}` or `--load {0}`",
                e.name
            )),
            Self::References { .. } => Some("assay them one at a time".to_owned()),
            Self::NotTwoPort { .. } => {
                Some("give it with `--open`, `--short` or `--load`".to_owned())
            }
            Self::Knowledge(e) => e.help(),
            Self::NotTheStandard { .. } | Self::NotThePart { .. } => {
                Some("sweep the part itself, without cable or adapter".to_owned())
            }
            Self::Plane { .. } | Self::Sweep(_) | Self::NotDescribed { .. } | Self::NothingLeft => {
                None
            }
        }
    }
}

impl GatherError {
    /// What is said of the plane can't be used.
    pub(super) fn plane(error: &PlaneError) -> Self {
        let message = match error.source() {
            Some(cause) => format!("{error}: {cause}"),
            None => error.to_string(),
        };
        Self::Plane { message }
    }
}

impl Reading {
    /// Impedance that the readings refer to, ohm.
    pub(super) fn reference_ohm(&self) -> f64 {
        reference_ohm(&self.network)
    }
}

/// Largest rms difference from +1, −1 or 0 that a standard can show after a calibration with it, be
/// it of yesterday.
const LARGEST_CHECK: f64 = 0.2;

/// Sets up the bench. Sweeps that can't be placed are left out and listed.
///
/// # Errors
/// [`GatherError`] if nothing is left or what is known contradicts the sweeps.
pub fn gather(readings: Vec<Reading>, known: &Knowledge) -> Result<Gathered, GatherError> {
    let reference_ohm = readings
        .first()
        .map(|r| reference_ohm(&r.network))
        .ok_or(GatherError::NothingLeft)?;
    let (kit_load, far_load) = known.loads(reference_ohm)?;
    let mut gathered = Gathered {
        bench: Bench {
            sweeps: Vec::new(),
            throughs: Vec::new(),
            kit_load,
            far_load,
            length_m: known.length()?,
            marking: known.marking.clone(),
            analyser: Analyser::POCKET,
            plane: known.plane.plane.clone(),
            shorter: None,
        },
        sweeps: Vec::new(),
        warnings: Vec::new(),
        parts: known.plane.parts.clone(),
        judgements: Vec::new(),
        refused: Vec::new(),
    };
    for reading in readings {
        if let Err(error) = gathered.place(reading, reference_ohm) {
            gathered.refused.push(error);
        }
    }
    let judged = std::mem::take(&mut gathered.judgements);
    let judged = judged
        .into_iter()
        .map(|text| Warning::new("far-end-guessed", text));
    gathered.warnings.splice(0..0, judged);
    if gathered.bench.sweeps.is_empty() && gathered.bench.throughs.is_empty() {
        return Err(gathered.refused.pop().unwrap_or(GatherError::NothingLeft));
    }
    Ok(gathered)
}

impl Gathered {
    fn place(&mut self, reading: Reading, first_ohm: f64) -> Result<(), GatherError> {
        let found_ohm = reference_ohm(&reading.network);
        if found_ohm != first_ohm {
            return Err(GatherError::References {
                label: reading.label,
                found_ohm,
                first_ohm,
            });
        }
        match (reading.network, reading.role) {
            (network, Role::Check(standard)) => self.place_check(network, standard, reading.label),
            (network, Role::Part(which)) => self.place_part(network, which, reading.label),
            (Network::OnePort(_), Role::Through) => Err(GatherError::NotTwoPort {
                label: reading.label,
            }),
            (Network::TwoPort(through), Role::Through | Role::Judge) => {
                self.place_through(through, reading.label)
            }
            (Network::TwoPort(through), role) => {
                let sweep = port_one(&through)?;
                self.warnings.push(Warning::new(
                    "second-port-ignored",
                    format!(
                        "`{}` has two ports; only the reflection at port 1 is used",
                        reading.label
                    ),
                ));
                self.place_reflection(sweep, role, reading.label)
            }
            (Network::OnePort(sweep), role) => self.place_reflection(sweep, role, reading.label),
        }
    }

    fn place_check(
        &mut self,
        network: Network,
        standard: FarEnd,
        label: String,
    ) -> Result<(), GatherError> {
        let sweep = match network {
            Network::OnePort(sweep) => sweep,
            Network::TwoPort(through) => port_one(&through)?,
        };
        let rms = off_by(&sweep, standard);
        if rms > LARGEST_CHECK {
            return Err(GatherError::NotTheStandard {
                label,
                standard,
                rms,
            });
        }
        let what = format!("{standard} at the plane");
        let mut used = used(&label, what, false, sweep.freq_hz());
        used.off_rms = Some(rms);
        self.sweeps.push(used);
        let sweep = sweep.with_reference(self.bench.kit_load.ohm.value)?;
        self.bench.plane.checks.push(EndedSweep {
            far_end: standard,
            sweep,
            label,
        });
        Ok(())
    }

    fn place_part(
        &mut self,
        network: Network,
        which: usize,
        label: String,
    ) -> Result<(), GatherError> {
        let Some((name, part)) = self.parts.get(which).cloned() else {
            return Err(GatherError::NotDescribed { label });
        };
        let sweep = match network {
            Network::OnePort(sweep) => sweep,
            Network::TwoPort(through) => port_one(&through)?,
        };
        let sweep = sweep.with_reference(self.bench.kit_load.ohm.value)?;
        let squares = sweep
            .freq_hz()
            .iter()
            .zip(sweep.reflection())
            .map(|(&f, g)| {
                let said = part.reflection(f, sweep.z_ref_ohm()).unwrap_or_default();
                (g - said).norm_sqr()
            });
        let rms = (squares.sum::<f64>() / sweep.len() as f64).sqrt();
        if rms > LARGEST_CHECK {
            return Err(GatherError::NotThePart { label, name, rms });
        }
        let mut used = used(
            &label,
            format!("{name} at the plane"),
            false,
            sweep.freq_hz(),
        );
        used.off_rms = Some(rms);
        self.sweeps.push(used);
        self.bench
            .plane
            .parts
            .push(KnownPart { part, sweep, label });
        Ok(())
    }

    fn place_through(&mut self, through: ThroughSweep, label: String) -> Result<(), GatherError> {
        let through = through.with_reference(self.bench.kit_load.ohm.value)?;
        let grid = through.freq_hz();
        self.sweeps
            .push(used(&label, "through".to_owned(), false, grid));
        self.bench.throughs.push((through, label));
        Ok(())
    }

    fn place_reflection(
        &mut self,
        sweep: Sweep,
        role: Role,
        label: String,
    ) -> Result<(), GatherError> {
        let far_end = match role {
            Role::Open => self.declared(&sweep, FarEnd::Open, &label),
            Role::Short => self.declared(&sweep, FarEnd::Short, &label),
            Role::Load => self.declared(&sweep, FarEnd::Load, &label),
            Role::Through | Role::Judge | Role::Check(_) | Role::Part(_) => {
                self.judged(&sweep, &label)?
            }
        };
        let sweep = sweep.with_reference(self.bench.kit_load.ohm.value)?;
        let guessed = role == Role::Judge;
        self.sweeps
            .push(used(&label, far_end.to_string(), guessed, sweep.freq_hz()));
        self.bench.sweeps.push(EndedSweep {
            far_end,
            sweep,
            label,
        });
        Ok(())
    }

    fn declared(&mut self, sweep: &Sweep, declared: FarEnd, label: &str) -> FarEnd {
        if let Some(seen) = far_end::contradiction(sweep, declared) {
            self.warnings.push(Warning::new(
                "far-end-mismatch",
                format!(
                    "`{label}` was given as {declared} and looks like {seen}: {}",
                    mismatch_cause(seen)
                ),
            ));
        }
        declared
    }

    fn judged(&mut self, sweep: &Sweep, label: &str) -> Result<FarEnd, GatherError> {
        let judgement = far_end::judge(sweep, label)?;
        self.judgements.push(judgement.sentence);
        if let Some(name) = judgement.name_says {
            self.warnings.push(Warning::new(
                "far-end-mismatch",
                format!(
                    "the name `{label}` says {name}, the data say {}: the data were believed",
                    judgement.far_end
                ),
            ));
        }
        Ok(judgement.far_end)
    }
}

fn mismatch_cause(seen: FarEnd) -> &'static str {
    match seen {
        FarEnd::Open => "the wrong file, or the cable is broken on the way",
        FarEnd::Short => "the wrong file, or the cable is shorted on the way",
        FarEnd::Load => "the wrong file, or a load was left on",
    }
}

/// rms difference from what the analyser took its standard for.
fn off_by(sweep: &Sweep, standard: FarEnd) -> f64 {
    let ideal = match standard {
        FarEnd::Open => 1.0,
        FarEnd::Short => -1.0,
        FarEnd::Load => 0.0,
    };
    let squares = sweep.reflection().iter().map(|g| (g - ideal).norm_sqr());
    (squares.sum::<f64>() / sweep.len() as f64).sqrt()
}

fn reference_ohm(network: &Network) -> f64 {
    match network {
        Network::OnePort(sweep) => sweep.z_ref_ohm(),
        Network::TwoPort(through) => through.z_ref_ohm(),
    }
}

/// Reflection at port 1 of a two-port file whose far end was declared.
fn port_one(through: &ThroughSweep) -> Result<Sweep, SweepError> {
    Sweep::new(
        through.freq_hz().to_vec(),
        through.s11().to_vec(),
        through.z_ref_ohm(),
    )
}

fn used(label: &str, far_end: String, guessed: bool, freq_hz: &[f64]) -> SweepUsed {
    SweepUsed {
        file: label.to_owned(),
        far_end,
        guessed,
        points: freq_hz.len(),
        start_hz: freq_hz[0],
        stop_hz: freq_hz[freq_hz.len() - 1],
        off_rms: None,
    }
}
