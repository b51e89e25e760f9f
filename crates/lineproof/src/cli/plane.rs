//! Files that belong to the calibrated plane.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::bench::FarEnd;

use crate::facts::ends;
use crate::workflow::assay::{AssayRequest, Input, Role};
use crate::workflow::attached::Attached;

/// Sweeps at the calibrated plane, and two-ports before the cable.
#[derive(Args, Debug)]
#[command(next_help_heading = "The calibrated plane")]
pub(crate) struct PlaneArgs {
    #[arg(long, value_name = "PART=FILE", value_parser = check, help = ends::CHECK)]
    check: Vec<(Checked, PathBuf)>,
    #[arg(long, value_name = "FILE", help = ends::RIPPLE)]
    ripple: Option<PathBuf>,
    #[arg(long, value_name = "FILE", help = ends::DE_EMBED)]
    de_embed: Vec<PathBuf>,
}

/// A part at the plane.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Checked {
    /// One of the three that the analyser was calibrated with.
    Own(FarEnd),
    /// Another, by its name.
    Part(String),
}

impl PlaneArgs {
    /// Adds its files to what is asked.
    pub(crate) fn add_to(&self, request: &mut AssayRequest) {
        request.inputs.extend(self.sweeps());
        request.plane.parts = self.parts().cloned().collect();
        let files = self.de_embed.iter().cloned();
        request.plane.de_embed = files.map(Attached::read).collect();
    }

    /// Sweeps at the plane.
    fn sweeps(&self) -> impl Iterator<Item = Input> {
        let mut parts = 0..;
        let line = self.ripple.iter().map(|path| Input {
            path: path.clone(),
            role: Role::Line,
        });
        let checks = self.check.iter().map(move |(checked, path)| Input {
            path: path.clone(),
            role: match checked {
                Checked::Own(standard) => Role::Check(*standard),
                Checked::Part(_) => Role::Part(parts.next().unwrap_or_default()),
            },
        });
        checks.chain(line)
    }

    fn parts(&self) -> impl Iterator<Item = &String> {
        self.check.iter().filter_map(|(checked, _)| match checked {
            Checked::Own(_) => None,
            Checked::Part(name) => Some(name),
        })
    }
}

/// The part of this name.
pub(crate) fn checked(name: &str) -> Checked {
    match name {
        "open" => Checked::Own(FarEnd::Open),
        "short" => Checked::Own(FarEnd::Short),
        "load" => Checked::Own(FarEnd::Load),
        other => Checked::Part(other.to_owned()),
    }
}

fn check(text: &str) -> Result<(Checked, PathBuf), String> {
    match text.split_once('=') {
        Some((name, file)) if !file.is_empty() && !name.is_empty() => {
            Ok((checked(name), PathBuf::from(file)))
        }
        _ => Err(format!(
            "expected a part and its file such as `open=again.s1p` or `75ohm=again.s1p`, found `{text}`"
        )),
    }
}
