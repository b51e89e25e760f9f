//! Why something that was asked could not be done.

use lineproof_core::formats::ReadError;
use lineproof_core::gather::GatherError;
use thiserror::Error;

/// Why something that was asked could not be done.
#[derive(Debug, Error)]
pub(crate) enum Problem {
    #[error("{what}: no buffer at {address}: expected what `buffer` returned, and each once")]
    NoBuffer { what: &'static str, address: usize },
    #[error("{what}: expected UTF-8")]
    NotUtf8 { what: &'static str },
    #[error("`{name}`: unknown far end `{far_end}`: expected open, short, load, through or judge")]
    FarEnd { name: String, far_end: String },
    #[error("cannot read `{name}`: {source}")]
    Read {
        name: String,
        source: Box<ReadError>,
    },
    #[error(
        "unknown fact `{name}`: expected length, load-ohms, marked, marked-impedance or marked-velocity-factor"
    )]
    UnknownFact { name: String },
    #[error("{name}: {why}")]
    Fact { name: String, why: String },
    #[error(transparent)]
    Gather(#[from] GatherError),
    #[error("{}", refused.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Refused { refused: Vec<GatherError> },
    #[error("the finding can't be written as JSON: {0}")]
    Json(#[from] serde_json::Error),
}
