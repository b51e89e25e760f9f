//! From files and facts to a finding, as the program does it.

use lineproof_core::Finding;
use lineproof_core::finding::Warning;
use lineproof_core::finding::judge::{Asked, find};
use lineproof_core::formats::{Network, NoticeCode};
use lineproof_core::gather::{Knowledge, Reading, Resolved, gather};

use crate::problem::Problem;
use crate::session::File;

/// What the files say. A sweep that can't be placed is an error here: nobody would see it beside the finding.
pub(crate) fn assay(files: Vec<File>, known: &Knowledge) -> Result<Finding, Problem> {
    let notices: Vec<Warning> = files.iter().flat_map(notices).collect();
    let readings = files.into_iter().map(|file| Reading {
        label: file.name,
        role: file.role,
        network: file.measurement.network,
    });
    let gathered = gather(readings.collect(), known, Resolved::default())?;
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

/// What was odd about a file that was read all the same. Reflections above one are left to the check that knows the
/// analyser's errors.
fn notices(file: &File) -> Vec<Warning> {
    let one_port = matches!(file.measurement.network, Network::OnePort(_));
    let notices = file.measurement.notices.iter();
    notices
        .filter(|notice| !(one_port && notice.code == NoticeCode::AboveOne))
        .map(|notice| {
            let at = notice.line.map_or_else(String::new, |n| format!(":{n}"));
            let text = format!("{}{at}: {}", file.name, notice.text);
            Warning::new(notice.code, text)
        })
        .collect()
}
