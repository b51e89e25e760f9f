//! Sessions: an open assay each, with its runs.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use lineproof_core::estimate::Progress;
use tokio::sync::watch;
use tokio::task::AbortHandle;
use uuid::Uuid;

use crate::questions::assay::sessions::facts::Facts;
use crate::questions::assay::sessions::file::FileAnswer;
use crate::questions::assay::sessions::files::{Dropped, distinct};
use crate::questions::assay::sessions::run::{Files, Stage, Working};
use crate::server::refusal::{FieldRefused, Refusal, Refused};
use crate::server::shared::Shared;

/// Most sessions that are kept.
const MOST: usize = 200;
/// Most bytes of files in all of them; read and found they take some four times as much.
const MOST_BYTES: usize = 64 << 20;

/// All assays, the one that was asked for last at the back.
#[derive(Debug, Default)]
pub struct Sessions(Mutex<VecDeque<Arc<Session>>>);

/// One open assay.
#[derive(Debug)]
pub struct Session {
    id: String,
    name: String,
    now: Mutex<Now>,
    stage: watch::Sender<Stage>,
}

/// What an assay is made of now.
#[derive(Clone, Debug)]
pub struct Now {
    /// Its files.
    pub files: Vec<Dropped>,
    /// What was said besides.
    pub facts: Facts,
    /// How far the last run is.
    pub stage: Stage,
    run: usize,
    task: Option<AbortHandle>,
}

impl Sessions {
    /// Opens a session for a new assay; it is not run yet.
    pub fn open(&self, files: Vec<Dropped>, facts: Facts) -> Arc<Session> {
        self.open_named("", files, facts)
    }

    /// The same for a cable that goes by a name already.
    pub fn open_named(&self, name: &str, files: Vec<Dropped>, facts: Facts) -> Arc<Session> {
        let session = Arc::new(Session {
            id: Uuid::new_v4().simple().to_string(),
            name: name.to_owned(),
            now: Mutex::new(Now {
                files: distinct(&[], files),
                facts,
                stage: Stage::Waiting,
                run: 0,
                task: None,
            }),
            stage: watch::Sender::new(Stage::Waiting),
        });
        let mut all = locked(&self.0);
        all.push_back(Arc::clone(&session));
        let mut bytes: usize = all.iter().map(|h| h.bytes()).sum();
        while all.len() > 1 && (all.len() > MOST || bytes > MOST_BYTES) {
            if let Some(oldest) = all.pop_front() {
                bytes -= oldest.bytes();
                oldest.cancel();
            }
        }
        session
    }

    /// The assay with this id.
    ///
    /// # Errors
    /// [`Refusal`] if it has gone.
    pub fn find(&self, id: &str) -> Result<Arc<Session>, Refusal> {
        let mut all = locked(&self.0);
        let found = all.iter().position(|session| session.id == id);
        let found = found.and_then(|at| all.remove(at)).ok_or_else(|| {
            Refusal::missing("this assay is no longer open").help("drop its sweeps again")
        })?;
        all.push_back(Arc::clone(&found));
        Ok(found)
    }
}

impl Session {
    /// Its id.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// What the cable is called where its sweeps come from; may be empty.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What it is made of now.
    pub fn now(&self) -> Now {
        locked(&self.now).clone()
    }

    /// How far it is, now and later.
    pub fn watch(&self) -> watch::Receiver<Stage> {
        self.stage.subscribe()
    }

    /// Waits until the run is over.
    pub async fn over(&self) {
        let mut stage = self.watch();
        let _it_lives_as_long_as_we = stage.wait_for(Stage::is_over).await;
    }

    /// Adds files and starts again.
    pub fn add(self: &Arc<Self>, shared: &Shared, files: Vec<Dropped>) {
        {
            let mut now = locked(&self.now);
            let files = distinct(&now.files, files);
            now.files.extend(files);
        }
        self.start(shared);
    }

    /// Adds files, replaces what is known, and starts again.
    pub fn change(self: &Arc<Self>, shared: &Shared, files: Vec<Dropped>, facts: Facts) {
        locked(&self.now).facts = facts;
        self.add(shared, files);
    }

    /// Replaces what is known and starts again.
    pub fn say(self: &Arc<Self>, shared: &Shared, facts: Facts) {
        locked(&self.now).facts = facts;
        self.start(shared);
    }

    /// Starts a run; it replaces one that is going on.
    pub fn start(self: &Arc<Self>, shared: &Shared) {
        let (number, now) = {
            let mut now = locked(&self.now);
            if let Some(task) = now.task.take() {
                task.abort();
            }
            now.run += 1;
            (now.run, now.clone())
        };
        let mut request = match now.facts.request() {
            Ok(request) => request,
            Err(fields) => return self.become_stage(number, not_understood(fields)),
        };
        self.become_stage(number, Stage::Waiting);
        let (session, shared) = (Arc::clone(self), shared.clone());
        let task = tokio::spawn(async move {
            let is_working = |working| Stage::Working(Arc::new(working));
            let begun = || session.become_stage(number, is_working(Working::begun()));
            let same = Arc::clone(&session);
            let work = move |stop| {
                request.asked.progress = Arc::new(Progress::cancelled_by(stop));
                let files = Files::read(&now.files, &now.facts, &request.read);
                let working = files.working(&request.asked.progress);
                same.become_stage(number, is_working(working));
                files.find(request)
            };
            let stage = match shared.work().run_unless(begun, work).await {
                Ok(done) => Stage::Done(Arc::new(done)),
                Err(refusal) => Stage::Refused(Arc::new(refusal.said)),
            };
            session.become_stage(number, stage);
        });
        locked(&self.now).task = Some(task.abort_handle());
    }

    /// Ends the run if it is not over.
    pub fn cancel(&self) {
        let number = {
            let mut now = locked(&self.now);
            if now.stage.is_over() {
                return;
            }
            if let Some(task) = now.task.take() {
                task.abort();
            }
            now.run
        };
        self.become_stage(number, Stage::Cancelled);
    }

    /// Ignores a stage of a run that has been superseded.
    fn become_stage(&self, run: usize, stage: Stage) {
        let mut now = locked(&self.now);
        if now.run == run {
            now.stage = stage.clone();
            self.stage.send_replace(stage);
        }
    }

    fn bytes(&self) -> usize {
        locked(&self.now).files.iter().map(|f| f.bytes.len()).sum()
    }
}

impl Now {
    /// The files before anything is known of them.
    pub fn plain_files(&self) -> Vec<FileAnswer> {
        let files = self.files.iter().enumerate();
        files
            .map(|(i, file)| FileAnswer::unused(&file.label, self.facts.ended(i)))
            .collect()
    }
}

fn not_understood(fields: Vec<FieldRefused>) -> Stage {
    Stage::Refused(Arc::new(Refused {
        error: "a field cannot be read".to_owned(),
        help: None,
        fields,
    }))
}

/// Nothing that holds a lock here can panic half done.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
