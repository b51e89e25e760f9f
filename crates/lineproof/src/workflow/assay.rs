//! The main job from files to finding. One bad file does not stop the rest.

use std::path::PathBuf;

use lineproof_core::formats::{Network, NoticeCode, ReadOptions};

use super::find::{Asked, find};
use super::gather::{self, GatherError, Gathered};
use super::knowledge::Knowledge;
use super::load::{self, LoadError, Loaded};
use crate::finding::{Finding, Warning};

pub use super::gather::Role;

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
    /// What is asked besides the usual.
    pub asked: Asked,
}

/// What an assay gave, with what happened to the files.
#[derive(Debug)]
pub struct Outcome {
    /// The finding; absent if no sweep was left to work with.
    pub finding: Result<Finding, GatherError>,
    /// Files as they were read, with their notices.
    pub loaded: Vec<Loaded>,
    /// What each of them was said to be.
    pub roles: Vec<Role>,
    /// Files that could not be read.
    pub unread: Vec<LoadError>,
    /// Sweeps that were read and could not be placed.
    pub refused: Vec<GatherError>,
}

/// Reads the files, sets up the bench, finds.
pub fn assay(request: &AssayRequest) -> Outcome {
    let read = |input: &Input| load::load(&input.path, &request.read);
    let files = request.inputs.iter().map(|i| (i.role, read(i)));
    assay_files(files.collect(), request)
}

/// The same from files that were read already, each with what it was said to be.
pub fn assay_files(
    files: Vec<(Role, Result<Loaded, LoadError>)>,
    request: &AssayRequest,
) -> Outcome {
    let mut readings = Vec::new();
    let (mut loaded, mut roles, mut unread) = (Vec::new(), Vec::new(), Vec::new());
    for (role, file) in files {
        match file {
            Ok(file) => {
                readings.push(gather::Reading {
                    label: file.label.clone(),
                    role,
                    network: file.measurement.network.clone(),
                });
                loaded.push(file);
                roles.push(role);
            }
            Err(error) => unread.push(error),
        }
    }
    let (finding, refused) = match gather::gather(readings, &request.knowledge) {
        Ok(gathered) => {
            let (mut finding, refused) = finding_of(gathered, &request.asked);
            finding.warnings.extend(loaded.iter().flat_map(notices));
            (Ok(finding), refused)
        }
        Err(error) => (Err(error), Vec::new()),
    };
    Outcome {
        finding,
        loaded,
        roles,
        unread,
        refused,
    }
}

fn finding_of(gathered: Gathered, asked: &Asked) -> (Finding, Vec<GatherError>) {
    let mut finding = find(&gathered.bench, gathered.sweeps, asked);
    let mut warnings = gathered.warnings;
    warnings.append(&mut finding.warnings);
    finding.warnings = warnings;
    (finding, gathered.refused)
}

/// What was odd about a file that was read all the same. Reflections above one are left to the
/// check that knows the analyser's errors.
fn notices(file: &Loaded) -> Vec<Warning> {
    let one_port = matches!(file.measurement.network, Network::OnePort(_));
    let notices = file.measurement.notices.iter();
    notices
        .filter(|notice| !(one_port && notice.code == NoticeCode::AboveOne))
        .map(|notice| {
            let at = notice.line.map_or_else(String::new, |n| format!(":{n}"));
            let text = format!("{}{at}: {}", file.label, notice.text);
            Warning::new(notice.code.as_str(), text)
        })
        .collect()
}
