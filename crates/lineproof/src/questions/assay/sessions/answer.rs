//! What the API says of an assay.

use serde::Serialize;
use utoipa::ToSchema;

use crate::finding::Finding;
use crate::questions::assay::sessions::facts::Facts;
use crate::questions::assay::sessions::file::FileAnswer;
use crate::questions::assay::sessions::run::Stage;
use crate::questions::assay::sessions::session::Session;
use crate::server::refusal::Refused;

/// An open assay.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct AssayAnswer {
    /// Its id.
    pub id: String,
    /// `waiting`, `working`, `done`, `refused` or `cancelled`.
    pub stage: &'static str,
    /// What is known besides the sweeps, as typed.
    pub facts: Facts,
    /// The files; what was made of them is known once the assay is done.
    pub files: Vec<FileAnswer>,
    /// The finding.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finding: Option<Finding>,
    /// Why there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub refused: Option<Refused>,
}

impl AssayAnswer {
    /// What is known now.
    pub fn of(session: &Session) -> Self {
        let now = session.now();
        let mut answer = Self {
            id: session.id().to_owned(),
            stage: now.stage.name(),
            files: now.plain_files(),
            facts: now.facts,
            finding: None,
            refused: None,
        };
        match &now.stage {
            Stage::Done(done) => {
                answer.files.clone_from(&done.files);
                match done.finding() {
                    Ok(finding) => answer.finding = Some(finding.clone()),
                    Err(refusal) => answer.refused = Some(refusal.said),
                }
            }
            Stage::Refused(refused) => answer.refused = Some(refused.as_ref().clone()),
            _ => {}
        }
        answer
    }
}
