//! The main job from files to finding. One bad file does not stop the rest.

use std::path::PathBuf;

use lineproof_core::finding::judge::along::{self, SweepViews};
use lineproof_core::formats::ReadOptions;
use lineproof_core::gather::{self, Gathered, Knowledge, Resolved};

use super::load::{self, LoadError, Loaded};
use super::plane::{self, PlaneSaid};
use super::worded::AssayError;
use crate::finding::Finding;
use lineproof_core::finding::judge::{Asked, find};

pub use lineproof_core::gather::Role;

/// One file and what it was said to be.
#[derive(Clone, Debug)]
pub struct Input {
    /// Where it is.
    pub path: PathBuf,
    /// What it was said to be.
    pub role: Role,
}

/// Everything that an assay is asked.
#[derive(Clone, Debug)]
pub struct AssayRequest {
    /// The files, in the order in which they are used.
    pub inputs: Vec<Input>,
    /// How files are read.
    pub read: ReadOptions,
    /// What is known besides.
    pub knowledge: Knowledge,
    /// What is said of the calibrated plane.
    pub plane: PlaneSaid,
    /// What is asked besides the usual.
    pub asked: Asked,
}

/// What an assay gave, with what happened to the files.
#[derive(Debug)]
pub struct Outcome {
    /// The finding; absent if no sweep was left to work with.
    pub finding: Result<Finding, AssayError>,
    /// The reflection sweeps against time, if they were asked for.
    pub views: Vec<SweepViews>,
    /// Files as they were read, with their notices.
    pub loaded: Vec<Loaded>,
    /// What each of them was said to be.
    pub roles: Vec<Role>,
    /// Files that could not be read.
    pub unread: Vec<LoadError>,
    /// Sweeps that were read and could not be placed.
    pub refused: Vec<AssayError>,
}

/// Files that somebody else has read, each with what it was said to be.
pub type Files = Vec<(Role, Result<Loaded, LoadError>)>;

/// Files that were read, and those that were not.
#[derive(Debug, Default)]
pub struct Read {
    /// Readings by file.
    pub readings: Vec<gather::Reading>,
    /// The files with their notices.
    pub loaded: Vec<Loaded>,
    /// What each of them was said to be.
    pub roles: Vec<Role>,
    /// Files that could not be read.
    pub unread: Vec<LoadError>,
}

/// Reads every file that can be read.
pub fn read_all(inputs: &[Input], options: &ReadOptions) -> Read {
    let read = |input: &Input| load::load(&input.path, options);
    sorted_out(inputs.iter().map(|i| (i.role, read(i))))
}

pub(crate) fn sorted_out(
    files: impl IntoIterator<Item = (Role, Result<Loaded, LoadError>)>,
) -> Read {
    let mut read = Read::default();
    for (role, file) in files {
        match file {
            Ok(file) => {
                read.readings.push(gather::Reading {
                    label: file.label.clone(),
                    role,
                    network: file.measurement.network.clone(),
                });
                read.loaded.push(file);
                read.roles.push(role);
            }
            Err(error) => read.unread.push(error),
        }
    }
    read
}

/// Reads the files, sets up the bench, finds.
pub fn assay(request: &AssayRequest) -> Outcome {
    assay_read(read_all(&request.inputs, &request.read), request, false)
}

/// The same with each reflection sweep against time.
pub fn assay_with_views(request: &AssayRequest) -> Outcome {
    assay_read(read_all(&request.inputs, &request.read), request, true)
}

/// The same from files that were read already, each with what it was said to be.
pub fn assay_files(files: Files, request: &AssayRequest) -> Outcome {
    assay_read(sorted_out(files), request, false)
}

fn assay_read(read: Read, request: &AssayRequest, with_views: bool) -> Outcome {
    let Read {
        readings,
        loaded,
        roles,
        unread,
    } = read;
    let mut views = Vec::new();
    let plane = resolved(request, &readings);
    let gathered = plane.and_then(|plane| Ok(gather::gather(readings, &request.knowledge, plane)?));
    let (finding, refused) = match gathered {
        Ok(gathered) => {
            let bench = with_views.then(|| gathered.bench.clone());
            let (mut finding, refused) = finding_of(gathered, &request.asked);
            let notices = |file: &Loaded| gather::notices(&file.label, &file.measurement);
            finding.warnings.extend(loaded.iter().flat_map(notices));
            views.extend(bench.iter().flat_map(|bench| along::of(bench, &finding)));
            (Ok(finding), refused)
        }
        Err(error) => (Err(error), Vec::new()),
    };
    Outcome {
        finding,
        views,
        loaded,
        roles,
        unread,
        refused,
    }
}

/// The calibrated plane, with its files read.
fn resolved(request: &AssayRequest, readings: &[gather::Reading]) -> Result<Resolved, AssayError> {
    let reference_ohm = readings
        .first()
        .map_or(50.0, gather::Reading::reference_ohm);
    let plane = plane::resolve(&request.plane, reference_ohm, &request.read);
    Ok(plane?)
}

fn finding_of(gathered: Gathered, asked: &Asked) -> (Finding, Vec<AssayError>) {
    let mut finding = find(&gathered.bench, gathered.sweeps, asked);
    let mut warnings = gathered.warnings;
    warnings.append(&mut finding.warnings);
    finding.warnings = warnings;
    finding.calibration = gathered.calibration;
    let refused = gathered.refused.into_iter();
    (finding, refused.map(AssayError::from).collect())
}
