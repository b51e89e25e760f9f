//! What is said of the calibrated plane.

use std::path::PathBuf;

use clap::Args;
use lineproof_core::bench::FarEnd;

use crate::workflow::adapter::TakeAway;
use crate::workflow::assay::{Input, Role};
use crate::workflow::attached::Attached;
use crate::workflow::plane::PlaneSaid;

/// Arguments about the calibrated plane.
#[derive(Args, Debug)]
#[command(next_help_heading = "The calibrated plane")]
pub(super) struct PlaneArgs {
    /// Adapter that is no part of the cable, near=… or far=…: 120ps, 50ohm,120ps,0.03dB, sma-bnc or
    /// a two-port file
    #[arg(long, value_name = "END=ADAPTER", value_parser = adapter)]
    adapter: Vec<(End, TakeAway)>,
    /// The calibration's own open, short or load at the plane again, swept after the calibration
    #[arg(long, value_name = "STANDARD=FILE", value_parser = check)]
    check: Vec<(FarEnd, PathBuf)>,
    /// The kit that the analyser was calibrated with
    #[arg(long, value_name = "KIT")]
    kit: Option<PathBuf>,
    /// The sweeps come from `lineproof correct` with that kit
    #[arg(long, requires = "kit")]
    corrected: bool,
}

/// An end of the cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    Near,
    Far,
}

impl PlaneArgs {
    pub(super) fn said(&self) -> PlaneSaid {
        let at = |end: End| {
            let found = self.adapter.iter().rev().find(|(e, _)| *e == end);
            found.map(|(_, adapter)| adapter.clone())
        };
        PlaneSaid {
            near: at(End::Near),
            far: at(End::Far),
            kit: self.kit.clone().map(Attached::at),
            corrected: self.corrected,
        }
    }

    pub(super) fn checks(&self) -> impl Iterator<Item = Input> {
        self.check.iter().map(|(standard, path)| Input {
            path: path.clone(),
            role: Role::Check(*standard),
        })
    }
}

fn adapter(text: &str) -> Result<(End, TakeAway), String> {
    match text.split_once('=') {
        Some(("near", what)) if !what.is_empty() => Ok((End::Near, TakeAway::named(what))),
        Some(("far", what)) if !what.is_empty() => Ok((End::Far, TakeAway::named(what))),
        _ => Err(format!(
            "expected an end and its adapter such as `near=sma-bnc` or `far=120ps`, found `{text}`"
        )),
    }
}

fn check(text: &str) -> Result<(FarEnd, PathBuf), String> {
    let standard = |name: &str| match name {
        "open" => Some(FarEnd::Open),
        "short" => Some(FarEnd::Short),
        "load" => Some(FarEnd::Load),
        _ => None,
    };
    let parts = text.split_once('=');
    match parts.and_then(|(name, file)| standard(name).zip(Some(file))) {
        Some((standard, file)) if !file.is_empty() => Ok((standard, PathBuf::from(file))),
        _ => Err(format!(
            "expected open, short or load and its file such as `open=again.s1p`, found `{text}`"
        )),
    }
}
