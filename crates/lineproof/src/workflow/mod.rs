//! What several questions need, from a request to a finding: plain functions that the command line
//! calls, and whoever else asks the same question.
//!
//! [`load`] reads a file; [`gather`] puts sweeps, far ends and what is known on one bench, which
//! [`judge`](lineproof_core::finding::judge) takes to a finding; [`views`] shows sweeps against time; [`assay`] is
//! all of it.
//!
//! [`Setup`](crate::facts::Setup) and [`shelf`] keep an assay for next year, with what was [`attached`] to it.
//!
//! [`kit`] and [`adapter`] describe what a calibration rests on.

pub mod adapter;
pub mod assay;
pub mod attached;
pub mod gather;
pub mod kit;
mod kit_file;
pub mod kit_reader;
pub mod knowledge;
pub mod load;
pub mod pictures;
pub mod plane;
pub mod shelf;
pub mod views;
pub mod write;
pub(crate) mod written;
