//! An assay in WebAssembly, for a page or for Node: texts go in, a finding comes out as JSON.
//!
//! No generator of bindings is needed. The caller asks for a [`buffer`] of as many bytes as a text has, writes the text
//! there, and hands the buffer in by its address; an answer is read at [`answer`], as many bytes as [`answer_length`]
//! says. All texts are UTF-8, but a file may have any encoding that the core reads. `assay.mjs` is the caller's side.
//!
//! A buffer serves once. An address that [`buffer`] did not give is refused, so a mistake of the caller is an error and
//! never another text.

mod assay;
mod problem;
mod session;

use std::sync::{Mutex, MutexGuard, PoisonError};

use problem::Problem;
use session::Session;

/// What functions return that did what they were asked.
const DONE: u32 = 0;
/// What they return if they did not; the answer then says why.
const REFUSED: u32 = 1;

static SESSION: Mutex<Session> = Mutex::new(Session::new());

/// Memory for a text of so many bytes. It stays where it is until it is handed in.
#[expect(unsafe_code, reason = "an export by its name")]
#[unsafe(no_mangle)]
pub extern "C" fn buffer(length: usize) -> *mut u8 {
    session().buffer(length)
}

/// Puts a sweep on the bench: the file's name for messages, its text, and what was at the far end (`open`, `short`,
/// `load`, `through`; `judge` if nobody knows). Returns 0, or 1 with the reason as the answer.
#[expect(unsafe_code, reason = "an export by its name")]
#[unsafe(no_mangle)]
pub extern "C" fn add_sweep(name: usize, text: usize, far_end: usize) -> u32 {
    answered(|session| session.add_sweep(name, text, far_end))
}

/// States a fact besides the sweeps, as on the command line: `length` `2.4m`, `load-ohms` `50.05`, `marked` `RG-58`,
/// `marked-impedance` `75`, `marked-velocity-factor` `0.66`. Returns 0, or 1 with the reason as the answer.
#[expect(unsafe_code, reason = "an export by its name")]
#[unsafe(no_mangle)]
pub extern "C" fn add_fact(name: usize, value: usize) -> u32 {
    answered(|session| session.add_fact(name, value))
}

/// Assays what is on the bench and clears it. Returns 0 with the finding's JSON as the answer, or 1 with the reason.
#[expect(unsafe_code, reason = "an export by its name")]
#[unsafe(no_mangle)]
pub extern "C" fn assay() -> u32 {
    answered(Session::assay)
}

/// Clears the bench: sweeps, facts, buffers and the answer.
#[expect(unsafe_code, reason = "an export by its name")]
#[unsafe(no_mangle)]
pub extern "C" fn clear() {
    *session() = Session::new();
}

/// Where the last answer is: a finding as JSON, a reason, or nothing. It is there until the next function is called.
#[expect(unsafe_code, reason = "an export by its name")]
#[unsafe(no_mangle)]
pub extern "C" fn answer() -> *const u8 {
    session().answer.as_ptr()
}

/// How many bytes the last answer has.
#[expect(unsafe_code, reason = "an export by its name")]
#[unsafe(no_mangle)]
pub extern "C" fn answer_length() -> usize {
    session().answer.len()
}

fn answered(ask: impl FnOnce(&mut Session) -> Result<String, Problem>) -> u32 {
    let mut session = session();
    let (answer, status) = match ask(&mut session) {
        Ok(answer) => (answer, DONE),
        Err(problem) => (problem.to_string(), REFUSED),
    };
    session.answer = answer;
    status
}

fn session() -> MutexGuard<'static, Session> {
    SESSION.lock().unwrap_or_else(PoisonError::into_inner)
}
