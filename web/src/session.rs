//! What was handed in so far, and the last answer.

use std::collections::BTreeMap;

use lineproof_core::formats::{Measurement, ReadOptions, read};
use lineproof_core::gather::{Knowledge, Role};
use lineproof_core::quantity::{parse_length_m, stated};

use crate::assay;
use crate::problem::Problem;

/// A file that was read.
pub(crate) struct File {
    /// Its name, for messages.
    pub(crate) name: String,
    /// What was at the far end.
    pub(crate) role: Role,
    /// What it holds.
    pub(crate) measurement: Measurement,
}

/// What was handed in so far, and the last answer.
pub(crate) struct Session {
    /// Places for texts by their address, until they are handed in.
    buffers: BTreeMap<usize, Vec<u8>>,
    files: Vec<File>,
    known: Option<Knowledge>,
    /// The last answer.
    pub(crate) answer: String,
}

impl Session {
    /// Nothing yet.
    pub(crate) const fn new() -> Self {
        Self {
            buffers: BTreeMap::new(),
            files: Vec::new(),
            known: None,
            answer: String::new(),
        }
    }

    /// A new place for so many bytes.
    pub(crate) fn buffer(&mut self, length: usize) -> *mut u8 {
        // one byte at least, since all empty places would have one address
        let mut buffer = Vec::with_capacity(length.max(1));
        buffer.resize(length, 0);
        let start = buffer.as_mut_ptr();
        self.buffers.insert(start.addr(), buffer);
        start
    }

    /// Reads a file and keeps it.
    pub(crate) fn add_sweep(
        &mut self,
        name: usize,
        text: usize,
        far_end: usize,
    ) -> Result<String, Problem> {
        let (name, text, far_end) = (
            self.text("the file's name", name),
            self.bytes("the file's text", text),
            self.text("the far end", far_end),
        );
        let (name, text, far_end) = (name?, text?, far_end?);
        let role = match far_end.as_str() {
            "judge" => Some(Role::Judge),
            word => Role::of_far_end(word),
        };
        let Some(role) = role else {
            return Err(Problem::FarEnd { name, far_end });
        };
        let measurement = match read(&text, &name, &ReadOptions::default()) {
            Ok(measurement) => measurement,
            Err(source) => {
                let source = Box::new(source);
                return Err(Problem::Read { name, source });
            }
        };
        self.files.push(File {
            name,
            role,
            measurement,
        });
        Ok(String::new())
    }

    /// Understands a fact and keeps it.
    pub(crate) fn add_fact(&mut self, name: usize, value: usize) -> Result<String, Problem> {
        let (name, value) = (
            self.text("the fact's name", name),
            self.text("the fact's value", value),
        );
        let (name, value) = (name?, value?);
        let known = self.known.get_or_insert_default();
        match stated_in(known, &name, &value) {
            Some(Ok(())) => Ok(String::new()),
            Some(Err(why)) => Err(Problem::Fact { name, why }),
            None => Err(Problem::UnknownFact { name }),
        }
    }

    /// Assays what was handed in; nothing of it is left for the next.
    pub(crate) fn assay(&mut self) -> Result<String, Problem> {
        let files = std::mem::take(&mut self.files);
        let known = self.known.take().unwrap_or_default();
        let finding = assay::assay(files, &known)?;
        Ok(serde_json::to_string(&finding)?)
    }

    fn bytes(&mut self, what: &'static str, address: usize) -> Result<Vec<u8>, Problem> {
        let buffer = self.buffers.remove(&address);
        buffer.ok_or(Problem::NoBuffer { what, address })
    }

    fn text(&mut self, what: &'static str, address: usize) -> Result<String, Problem> {
        let bytes = self.bytes(what, address)?;
        String::from_utf8(bytes).map_err(|_| Problem::NotUtf8 { what })
    }
}

/// Fills the field that a fact is of; `None` if there is no such fact.
fn stated_in(known: &mut Knowledge, name: &str, value: &str) -> Option<Result<(), String>> {
    let marking = &mut known.marking;
    Some(match name {
        "length" => set(&mut known.length_m, parse_length_m(value)),
        "load-ohms" => set(&mut known.load_ohm, stated::ohms(value)),
        "marked" => set(&mut marking.designation, Ok::<_, String>(value.to_owned())),
        "marked-impedance" => {
            let ohm = stated::ohms(value).map(|r| r.value);
            set(&mut marking.impedance_ohm, ohm)
        }
        "marked-velocity-factor" => {
            let factor = stated::velocity_factor(value).map(|r| r.value);
            set(&mut marking.velocity_factor, factor)
        }
        _ => return None,
    })
}

fn set<T, E: ToString>(field: &mut Option<T>, read: Result<T, E>) -> Result<(), String> {
    *field = Some(read.map_err(|e| e.to_string())?);
    Ok(())
}
