//! Coaxial line theory, sweep readers and estimation: values in, values out.
//!
//! The nouns and how they relate: a [`sweep::Sweep`] is what the analyser recorded; a
//! [`bench::Bench`] holds the sweeps of one cable with what ended its far end and what else is
//! known; every method of [`method`] and the estimate of [`estimate`] go from a bench to numbers
//! with uncertainty ([`uncertain::Uncertain`]). [`formats`] turn text into sweeps, [`quantity`]
//! turns `1.5m` into metres, [`mod@line`] and [`network`] hold the physics.
//!
//! Nothing here reads a file, opens a connection, looks at a clock or prints.

pub mod bench;
pub mod calibration;
pub mod catalogue;
pub mod constants;
pub mod correlated;
pub mod difference;
pub mod estimate;
pub mod far_end;
pub mod finding;
pub mod fitness;
pub mod formats;
pub mod identify;
pub mod line;
pub mod method;
pub mod mistake;
pub mod network;
mod parallel;
pub mod plan;
pub mod quantity;
pub mod sections;
pub mod sweep;
pub mod time_domain;
pub mod uncertain;
