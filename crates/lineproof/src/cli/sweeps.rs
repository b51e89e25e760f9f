//! Files of a cable's sweeps, each by the option that says what ended it.

use std::path::PathBuf;

use clap::Args;

use crate::facts::ends;
use crate::workflow::assay::{Input, Role};

/// Sweeps whose far end is said.
#[derive(Args, Debug)]
pub(crate) struct SweepArgs {
    #[arg(long, value_name = "FILE", help = ends::OPEN)]
    open: Vec<PathBuf>,
    #[arg(long, value_name = "FILE", help = ends::SHORT)]
    short: Vec<PathBuf>,
    #[arg(long, value_name = "FILE", help = ends::LOAD)]
    load: Vec<PathBuf>,
    #[arg(long, value_name = "FILE", help = ends::ANTENNA)]
    antenna: Vec<PathBuf>,
    #[arg(long, value_name = "FILE", help = ends::THROUGH)]
    through: Vec<PathBuf>,
}

impl SweepArgs {
    /// The files, each with what it was said to be.
    pub(crate) fn inputs(&self) -> impl Iterator<Item = Input> {
        let roles = [
            (&self.open, Role::Open),
            (&self.short, Role::Short),
            (&self.load, Role::Load),
            (&self.antenna, Role::Antenna),
            (&self.through, Role::Through),
        ];
        roles
            .into_iter()
            .flat_map(|(paths, role)| inputs(paths, role))
    }
}

/// The files as what they were said to be.
pub(crate) fn inputs<'a>(
    paths: impl IntoIterator<Item = &'a PathBuf>,
    role: Role,
) -> impl Iterator<Item = Input> {
    let input = move |path: &PathBuf| Input {
        path: path.clone(),
        role,
    };
    paths.into_iter().map(input)
}
