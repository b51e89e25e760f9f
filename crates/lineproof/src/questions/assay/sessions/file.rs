//! One file of an assay, and what was made of it.

use std::error::Error;

use lineproof_core::sweep::ThroughSweep;
use serde::Serialize;
use utoipa::ToSchema;

use crate::diagnostics;
use crate::facts::Ended;
use crate::facts::Surface;
use crate::finding::SweepUsed;
use crate::workflow::load::{LoadError, Loaded};
use crate::workflow::plane::PlaneError;
use crate::workflow::worded::AssayError;

/// One file and what was made of it.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct FileAnswer {
    /// Its name.
    pub name: String,
    /// What was said to have ended the cable.
    pub said: Ended,
    /// What it was taken as, if it was used: `open`, `short`, `load` or `through`; of what was swept at the
    /// plane what it is there, such as `75ohm at the plane`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub taken_as: Option<String>,
    /// Number of points.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub points: Option<usize>,
    /// Lowest frequency, Hz.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start_hz: Option<f64>,
    /// Highest frequency, Hz.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stop_hz: Option<f64>,
    /// Why it is not used.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub error: Option<FileError>,
}

/// Why a file is not used.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct FileError {
    /// What is wrong.
    pub error: String,
    /// Line of the file, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// The line with the place marked.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub report: Option<String>,
    /// One next step.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub help: Option<String>,
}

impl FileAnswer {
    /// A file of which nothing is known, or that is left out.
    pub fn unused(name: &str, said: Ended) -> Self {
        Self {
            name: name.to_owned(),
            said,
            taken_as: None,
            points: None,
            start_hz: None,
            stop_hz: None,
            error: None,
        }
    }

    /// A file that was read, or was not.
    pub fn read(name: &str, said: Ended, read: &Result<Loaded, LoadError>) -> Self {
        Self {
            error: read.as_ref().err().map(FileError::of),
            ..Self::unused(name, said)
        }
    }

    /// A two-port that is taken out of the sweeps, if it can be.
    pub fn de_embedded(name: &str, said: Ended, read: &Result<ThroughSweep, PlaneError>) -> Self {
        let plain = Self::unused(name, said);
        match read {
            Ok(two_port) => Self {
                taken_as: Some("two-port, de-embedded".to_owned()),
                points: Some(two_port.freq_hz().len()),
                start_hz: two_port.freq_hz().first().copied(),
                stop_hz: two_port.freq_hz().last().copied(),
                ..plain
            },
            Err(PlaneError::Load(error)) => Self {
                error: Some(FileError::of(error)),
                ..plain
            },
            Err(error) => Self {
                error: Some(FileError::plain(error)),
                ..plain
            },
        }
    }

    /// Notes where the finding has it, or why not.
    pub fn place(&mut self, used: &[SweepUsed], refused: &[AssayError]) {
        if let Some(used) = used.iter().find(|s| s.file == self.name) {
            self.taken_as = Some(used.far_end.clone());
            self.points = Some(used.points);
            self.start_hz = Some(used.start_hz);
            self.stop_hz = Some(used.stop_hz);
        }
        for error in refused {
            self.refuse(error);
        }
    }

    /// Notes the error if it is about this file.
    pub fn refuse(&mut self, error: &AssayError) {
        if error.label() == Some(&self.name) {
            self.error.get_or_insert_with(|| FileError {
                help: error.help(Surface::Page),
                ..FileError::plain(error)
            });
        }
    }
}

impl FileError {
    /// An error with its cause.
    fn plain(error: &dyn Error) -> Self {
        Self {
            error: match error.source() {
                Some(cause) => format!("{error}: {cause}"),
                None => error.to_string(),
            },
            line: None,
            report: None,
            help: None,
        }
    }

    fn of(error: &LoadError) -> Self {
        let LoadError::Read { source, .. } = error else {
            return Self::plain(error);
        };
        Self {
            error: source.to_string(),
            line: source.position().map(|at| at.line),
            report: Some(diagnostics::load_error(error)),
            help: source.help(),
        }
    }
}
