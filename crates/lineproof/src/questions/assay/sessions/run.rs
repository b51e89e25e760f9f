//! One run: from files and facts to a finding with everything that a page shows of it.

use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use lineproof_core::estimate::Progress;
use lineproof_core::formats::ReadOptions;
use lineproof_core::gather::GatherError;
use serde::Serialize;
use utoipa::ToSchema;

use crate::facts::Ended;
use crate::facts::{Said, Setup, Surface};
use crate::finding::Finding;
use crate::questions::assay::sessions::facts::{Facts, Use};
use crate::questions::assay::sessions::file::FileAnswer;
use crate::questions::assay::sessions::files::Dropped;
use crate::server::refusal::{Refusal, Refused};
use crate::workflow::assay::{AssayRequest, Outcome, Role, assay_files};
use crate::workflow::attached::Attached;
use crate::workflow::load::{LoadError, Loaded, understand};
use crate::workflow::pictures::{Shown, shown};
use crate::workflow::plane::two_port;
use crate::workflow::worded::AssayError;

/// How far a run is.
#[derive(Clone, Debug)]
pub enum Stage {
    /// It waits for its turn.
    Waiting,
    /// It is computed.
    Working(Arc<Working>),
    /// It has ended.
    Done(Arc<Done>),
    /// It can't begin, or was broken off by a fault.
    Refused(Arc<Refused>),
    /// The person does not want it any more.
    Cancelled,
}

/// A run that is not over yet.
#[derive(Debug)]
pub struct Working {
    /// Since when.
    pub since: Instant,
    /// Its sweeps, once they are read.
    pub sweeps: Vec<Shown>,
    progress: Arc<Progress>,
}

/// What a run is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Step {
    /// Reading the files.
    Read,
    /// Fitting a cable to the sweeps.
    Fit,
    /// They are not those of a good cable: looking for what is wrong, and where.
    SeekFaults,
}

/// What a run gave.
#[derive(Debug)]
pub struct Done {
    /// What the workflow gave.
    pub outcome: Outcome,
    /// What it was asked, for the shelf.
    pub setup: Setup,
    /// Each file, in the order in which they came.
    pub files: Vec<FileAnswer>,
    /// Its sweeps.
    pub sweeps: Vec<Shown>,
}

impl Stage {
    /// Its name in JSON.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Working(_) => "working",
            Self::Done(_) => "done",
            Self::Refused(_) => "refused",
            Self::Cancelled => "cancelled",
        }
    }

    /// Whether nothing more will come.
    pub fn is_over(&self) -> bool {
        !matches!(self, Self::Waiting | Self::Working(_))
    }
}

impl Working {
    /// A run that has just begun.
    pub fn begun() -> Self {
        Self {
            since: Instant::now(),
            sweeps: Vec::new(),
            progress: Arc::default(),
        }
    }

    /// What it is about now.
    pub fn step(&self) -> Step {
        if self.progress.searches_faults() {
            Step::SeekFaults
        } else if self.sweeps.is_empty() {
            Step::Read
        } else {
            Step::Fit
        }
    }
}

impl Done {
    /// The finding.
    ///
    /// # Errors
    /// Why there is none, for a page.
    pub fn finding(&self) -> Result<&Finding, Refusal> {
        self.outcome.finding.as_ref().map_err(nothing)
    }
}

/// Files that were read, each with what is said of it.
pub struct Files {
    answers: Vec<FileAnswer>,
    used: Vec<(Role, Result<Loaded, LoadError>)>,
    de_embed: Vec<Attached>,
    said: Said,
}

impl Files {
    /// Reads them.
    pub fn read(files: &[Dropped], facts: &Facts, options: &ReadOptions) -> Self {
        let mut read = Self {
            answers: Vec::new(),
            used: Vec::new(),
            de_embed: Vec::new(),
            said: facts.said.clone(),
        };
        for (number, file) in files.iter().enumerate() {
            let answer = read.file(file, facts.ended(number), facts.use_of(number), options);
            read.answers.push(answer);
        }
        read
    }

    /// The run that goes on with them.
    pub fn working(&self, progress: &Arc<Progress>) -> Working {
        let read = self.used.iter().filter_map(|(_, file)| file.as_ref().ok());
        Working {
            sweeps: read.map(Shown::unjudged).collect(),
            progress: Arc::clone(progress),
            ..Working::begun()
        }
    }

    /// Finds. This is where the time goes.
    pub fn find(self, mut request: AssayRequest) -> Done {
        request.plane.de_embed.extend(self.de_embed);
        found(self.answers, self.used, &self.said, &request)
    }

    fn file(
        &mut self,
        file: &Dropped,
        ended: Ended,
        use_of: Use,
        options: &ReadOptions,
    ) -> FileAnswer {
        let (label, path) = (&file.label, Path::new(&file.label));
        match use_of {
            Use::LeftOut => FileAnswer::unused(label, ended),
            Use::DeEmbed => {
                let held = Attached::held(path.to_owned(), file.bytes.to_vec());
                let read = two_port(&held, options);
                self.de_embed.push(held);
                FileAnswer::de_embedded(label, ended, &read)
            }
            Use::Sweep(role) => {
                let read = understand(path, file.bytes.to_vec(), options);
                let answer = FileAnswer::read(label, ended, &read);
                self.used.push((role, read));
                answer
            }
        }
    }
}

fn found(
    mut files: Vec<FileAnswer>,
    used: Vec<(Role, Result<Loaded, LoadError>)>,
    said: &Said,
    request: &AssayRequest,
) -> Done {
    let outcome = assay_files(used, request);
    let mut sweeps = Vec::new();
    match &outcome.finding {
        Ok(finding) => {
            sweeps = shown(&outcome.loaded, finding);
            for file in &mut files {
                file.place(&finding.sweeps, &outcome.refused);
            }
        }
        Err(error) => {
            for file in &mut files {
                file.place(&[], &outcome.refused);
                file.refuse(error);
            }
        }
    }
    Done {
        sweeps,
        setup: Setup::of(said, &request.plane),
        outcome,
        files,
    }
}

/// Why there is no finding at all.
fn nothing(error: &AssayError) -> Refusal {
    let refusal = Refusal::bad(match error {
        AssayError::Gather(GatherError::NothingLeft) => "no usable sweep is left".to_owned(),
        other => other.to_string(),
    });
    let refusal = match error.fact() {
        Some(fact) => refusal.in_field(fact.name),
        None => refusal,
    };
    match error.help(Surface::Page) {
        Some(help) => refusal.help(help),
        None => refusal,
    }
}
