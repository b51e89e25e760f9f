//! From files and facts to a finding, as the program does it.

use lineproof_core::Finding;
use lineproof_core::finding::Warning;
use lineproof_core::finding::judge::{Asked, find};
use lineproof_core::gather::{self, Knowledge, Reading, Resolved};

use crate::problem::Problem;
use crate::session::File;

/// What the files say. A sweep that can't be placed is an error here: nobody would see it beside the finding.
pub(crate) fn assay(files: Vec<File>, known: &Knowledge) -> Result<Finding, Problem> {
    let notices = |file: &File| gather::notices(&file.name, &file.measurement);
    let notices: Vec<Warning> = files.iter().flat_map(notices).collect();
    let readings = files.into_iter().map(|file| Reading {
        label: file.name,
        role: file.role,
        network: file.measurement.network,
    });
    let gathered = gather::gather(readings.collect(), known, Resolved::default())?;
    if !gathered.refused.is_empty() {
        let refused = gathered.refused;
        return Err(Problem::Refused { refused });
    }
    let mut finding = find(&gathered.bench, gathered.sweeps, &Asked::default());
    finding.warnings.splice(0..0, gathered.warnings);
    finding.warnings.extend(notices);
    finding.calibration = gathered.calibration;
    Ok(finding)
}
