//! What several questions need, from a request to a finding: plain functions that the command line
//! calls, and whoever else asks the same question.
//!
//! [`load`] reads a file; [`plane`] reads what is said of the calibrated plane, [`kit_reader`] a kit.
//! [`gather`](lineproof_core::gather) puts sweeps, far ends and what is known on one bench, which
//! [`judge`](lineproof_core::finding::judge) takes to a finding; [`assay`] is
//! all of it, and [`worded`] says why there is none.
//!
//! [`Setup`](crate::facts::Setup) and [`shelf`] keep an assay for next year, with what was [`attached`] to it.

pub mod assay;
pub mod attached;
pub mod fixture;
pub mod kit_reader;
pub mod load;
pub mod pictures;
pub mod plane;
pub mod shelf;
pub mod worded;
pub mod write;
pub(crate) mod written;
