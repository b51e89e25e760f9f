//! From raw sweeps, or sweeps corrected with standards called ideal, to corrected files.

use std::io;
use std::path::{Path, PathBuf};

use lineproof_core::calibration::correction::{Between, Port, StatedAccuracy};
use lineproof_core::calibration::in_words::{self, AdapterError};
use lineproof_core::calibration::kit::{self, Kit, StandardsError};
use lineproof_core::calibration::ripple::{RippleError, residuals};
use lineproof_core::calibration::{Calibration, CalibrationError, Corrected, StandardReading};
use lineproof_core::finding::judge::corrected::warnings;
use lineproof_core::formats::{Network, ReadOptions};
use lineproof_core::gather::{KnowledgeError, Stated, measured_load};
use lineproof_core::quantity::Reading;
use lineproof_core::sweep::{Sweep, SweepError};
use serde::{Serialize, Serializer};
use thiserror::Error;

use crate::facts::{Surface, table};
use crate::finding::{CalibrationFound, Warning};
use crate::workflow::fixture::Fixture;
use crate::workflow::kit_reader::{self, KitError};
use crate::workflow::load::{self, LoadError, shown};
use crate::workflow::worded::knowledge_help;
use crate::workflow::written::Target;

/// Everything that a correction is asked.
#[derive(Clone, Debug)]
pub struct CorrectRequest {
    /// Sweeps to correct.
    pub files: Vec<PathBuf>,
    /// The kit's file.
    pub kit: Option<PathBuf>,
    /// Raw sweeps of standards by name.
    pub standards: Vec<(String, PathBuf)>,
    /// Whether the sweeps were corrected with standards called ideal.
    pub called_ideal: bool,
    /// Resistance of the load by ohmmeter, ohm.
    pub load_ohm: Option<Reading>,
    /// Sweeps of long lines at the plane, for their ripple.
    pub ripple: Vec<PathBuf>,
    /// Two-ports to de-embed, from the analyser outwards.
    pub de_embed: Vec<Fixture>,
    /// What is stated of readings and connections.
    pub accuracy: StatedAccuracy,
    /// Reference of the results, ohm.
    pub result_ohm: Option<f64>,
    /// Folder for the results.
    pub out: PathBuf,
    /// Whether files that are there may be replaced.
    pub overwrite: bool,
    /// How files are read.
    pub read: ReadOptions,
}

/// Why nothing can be corrected, or one file can't.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CorrectError {
    /// The kit.
    #[error(transparent)]
    Kit(#[from] KitError),
    /// A file that is needed can't be read.
    #[error(transparent)]
    Load(#[from] LoadError),
    /// A standard that the kit does not have.
    #[error("the kit has no standard `{name}`: it has {known}")]
    NoSuchStandard {
        /// As typed.
        name: String,
        /// What there is.
        known: String,
    },
    /// No standards, and the sweeps are not said to be corrected.
    #[error("no sweep of a standard to correct with")]
    NoStandards,
    /// The standards that an analyser called ideal.
    #[error(transparent)]
    Standards(#[from] StandardsError),
    /// A load by ohmmeter for a kit without a described load.
    #[error("the kit describes no load that this could be the resistance of")]
    NoLoad,
    /// The load's value.
    #[error(transparent)]
    Knowledge(#[from] KnowledgeError),
    /// An adapter in words.
    #[error(transparent)]
    Adapter(#[from] AdapterError),
    /// A one-port file as adapter.
    #[error("`{label}` has one port: expected two to de-embed")]
    NotTwoPort {
        /// The file.
        label: String,
    },
    /// The calibration or correction.
    #[error("`{label}`")]
    Calibration {
        /// What was to be corrected.
        label: String,
        /// Why it can't be.
        source: CalibrationError,
    },
    /// A long line that shows no ripple.
    #[error("`{label}` does not show what the calibration left")]
    Ripple {
        /// The file.
        label: String,
        /// Why not.
        source: RippleError,
    },
    /// A two-port file whose first port makes no sweep.
    #[error(transparent)]
    Sweep(#[from] SweepError),
    /// A result can't be written.
    #[error("cannot write `{}`", shown(path))]
    Write {
        /// Where to.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

impl CorrectError {
    /// One next step.
    pub fn help(&self) -> Option<String> {
        match self {
            Self::NoStandards => Some(
                "give the raw sweeps of the standards with `--standard open=FILE` and so on, or \
                 `--called-ideal` if the analyser has corrected the sweeps"
                    .to_owned(),
            ),
            Self::Write { source, .. } if source.kind() == io::ErrorKind::AlreadyExists => Some(
                "choose another folder with `--out`, or replace the file with `--overwrite`"
                    .to_owned(),
            ),
            Self::NoLoad => {
                let stated = Surface::Terminal.name(&table::LOAD_OHMS.about);
                Some(format!("omit {stated}, or describe the load in the kit"))
            }
            Self::Knowledge(e) => knowledge_help(e, Surface::Terminal),
            _ => None,
        }
    }
}

/// What a correction gave.
#[derive(Debug, Serialize)]
pub struct Correction {
    /// Name of the kit.
    pub kit: String,
    /// Names of the standards that were used.
    pub standards: Vec<String>,
    /// Whether an analyser's own calibration was improved.
    pub improved: bool,
    /// The port, as calibrated for the first sweep.
    #[serde(flatten)]
    pub calibration: Calibration,
    /// The corrected sweeps.
    pub sweeps: Vec<CorrectedFile>,
    /// What the calibration left, by the ripple of long lines.
    pub left: Vec<CalibrationFound>,
    /// Files that could not be read or corrected.
    #[serde(serialize_with = "sentences")]
    pub failed: Vec<CorrectError>,
    /// What the reader must know.
    pub warnings: Vec<Warning>,
}

/// One corrected sweep.
#[derive(Debug, Serialize)]
pub struct CorrectedFile {
    /// The file it came from.
    #[serde(rename = "file")]
    pub label: String,
    /// Where the sweep was written.
    #[serde(serialize_with = "path")]
    pub written: PathBuf,
    /// Where its intervals were written.
    #[serde(serialize_with = "path")]
    pub intervals: PathBuf,
    /// The sweep.
    #[serde(flatten)]
    pub corrected: Corrected,
}

fn sentences<S: Serializer>(errors: &[CorrectError], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(errors.iter().map(ToString::to_string))
}

fn path<S: Serializer>(path: &Path, to: S) -> Result<S::Ok, S::Error> {
    to.collect_str(&shown(path))
}

/// Reads kit, standards and sweeps, corrects, writes. One bad file does not stop the rest.
///
/// # Errors
/// [`CorrectError`] if there is no calibration, or no file at all could be corrected.
pub fn correct(request: &CorrectRequest) -> Result<Correction, CorrectError> {
    let (kit, reference_ohm) = kit_of(request)?;
    let port = port_of(request, &kit, reference_ohm)?;
    let between = between(request, reference_ohm)?;
    let (mut sweeps, mut failed, mut calibration) = (Vec::new(), Vec::new(), None);
    for path in &request.files {
        match correct_file(request, path, &port, &between) {
            Ok((file, used)) => {
                sweeps.push(file);
                calibration.get_or_insert(used);
            }
            Err(error) => failed.push(error),
        }
    }
    let Some(calibration) = calibration else {
        return Err(failed.remove(0));
    };
    let mut left = Vec::new();
    for path in &request.ripple {
        match by_ripple(request, path, &port, kit.reference_ohm) {
            Ok(found) => left.push(found),
            Err(error) => failed.push(error),
        }
    }
    let corrected = sweeps
        .iter()
        .map(|file| (file.label.as_str(), &file.corrected));
    let warnings = warnings(&kit, request.kit.is_some(), corrected);
    Ok(Correction {
        left,
        kit: kit.name.clone(),
        standards: port.names(),
        improved: request.called_ideal,
        calibration,
        sweeps,
        failed,
        warnings,
    })
}

fn kit_of(request: &CorrectRequest) -> Result<(Kit, f64), CorrectError> {
    let mut kit = match &request.kit {
        Some(path) => kit_reader::read(path)?,
        None => kit::ordinary(request.read.z_ref_ohm.unwrap_or(50.0)),
    };
    if let Some(reading) = request.load_ohm {
        let load = measured_load(Stated::Load, reading)?;
        if !kit.set_load(load.ohm) {
            return Err(CorrectError::NoLoad);
        }
    }
    let reference_ohm = request.result_ohm.unwrap_or(kit.reference_ohm);
    Ok((kit, reference_ohm))
}

/// How sweeps are corrected.
fn port_of(request: &CorrectRequest, kit: &Kit, reference_ohm: f64) -> Result<Port, CorrectError> {
    let accuracy = request.accuracy;
    if request.called_ideal {
        return Ok(Port::called_ideal(kit, reference_ohm, accuracy)?);
    }
    if request.standards.is_empty() {
        return Err(CorrectError::NoStandards);
    }
    let standards = request.standards.iter();
    let standards = standards
        .map(|(name, path)| reading(request, kit, name, path))
        .collect::<Result<Vec<_>, _>>()?;
    Port::calibrated(standards, reference_ohm, accuracy).map_err(|source| {
        CorrectError::Calibration {
            label: "standards".to_owned(),
            source,
        }
    })
}

fn reading(
    request: &CorrectRequest,
    kit: &Kit,
    name: &str,
    path: &Path,
) -> Result<StandardReading, CorrectError> {
    let standard = kit.standard(name).ok_or_else(|| {
        let known: Vec<&str> = kit.standards.iter().map(|(n, _)| n.as_str()).collect();
        CorrectError::NoSuchStandard {
            name: name.to_owned(),
            known: known.join(", "),
        }
    })?;
    Ok(StandardReading {
        name: name.to_owned(),
        definition: standard.definition.clone(),
        raw: reflection_of(load::load(path, &request.read)?.measurement.network)?,
    })
}

/// Reflection at the first port.
fn reflection_of(network: Network) -> Result<Sweep, SweepError> {
    match network {
        Network::OnePort(sweep) => Ok(sweep),
        Network::TwoPort(t) => Sweep::new(t.freq_hz().to_vec(), t.s11().to_vec(), t.z_ref_ohm()),
    }
}

/// What lies between the calibrated plane and the wanted one.
fn between(request: &CorrectRequest, reference_ohm: f64) -> Result<Vec<Between>, CorrectError> {
    let read = |what: &Fixture| match what {
        Fixture::Described(text) => Ok(Between::Described(in_words::parse(text, reference_ohm)?)),
        Fixture::File(file) => {
            let loaded = load::understand(file.path(), file.bytes()?, &request.read)?;
            match loaded.measurement.network {
                Network::TwoPort(sweep) => Ok(Between::Measured(sweep)),
                Network::OnePort(_) => Err(CorrectError::NotTwoPort {
                    label: loaded.label,
                }),
            }
        }
    };
    request.de_embed.iter().map(read).collect()
}

/// What the calibration left, from a long line at the plane.
fn by_ripple(
    request: &CorrectRequest,
    path: &Path,
    port: &Port,
    line_ohm: f64,
) -> Result<CalibrationFound, CorrectError> {
    let loaded = load::load(path, &request.read)?;
    let raw = reflection_of(loaded.measurement.network)?;
    let label = loaded.label;
    let seen = match port.correct(&raw, &[]) {
        Ok((corrected, _)) => residuals(&corrected.sweep(), line_ohm),
        Err(source) => return Err(CorrectError::Calibration { label, source }),
    };
    match seen {
        Ok(seen) => Ok(CalibrationFound::of(label, &seen)),
        Err(source) => Err(CorrectError::Ripple { label, source }),
    }
}

fn correct_file(
    request: &CorrectRequest,
    path: &Path,
    port: &Port,
    between: &[Between],
) -> Result<(CorrectedFile, Calibration), CorrectError> {
    let loaded = load::load(path, &request.read)?;
    let raw = reflection_of(loaded.measurement.network)?;
    let label = loaded.label;
    let corrected = port.correct(&raw, between);
    let (corrected, calibration) = corrected.map_err(|source| CorrectError::Calibration {
        label: label.clone(),
        source,
    })?;
    let target = Target {
        out: &request.out,
        overwrite: request.overwrite,
    };
    let (written, intervals) = target
        .write(path, &label, &corrected)
        .map_err(|(path, source)| CorrectError::Write { path, source })?;
    let file = CorrectedFile {
        label,
        written,
        intervals,
        corrected,
    };
    Ok((file, calibration))
}
