//! From a request to a finding: plain functions that the command line calls, and whoever else
//! asks the same question.
//!
//! [`load`] reads a file; [`gather`] puts sweeps, far ends and what is known on one bench;
//! [`find`] takes the bench to a [`Finding`](crate::finding::Finding), with [`loss`], [`doubt`],
//! [`checks`], [`disagreement`], [`marking`], [`helps`] and [`advice`] for its parts; [`assay`] is all of it.
//! [`setup`], [`shelf`] and [`history`] keep it for next year; [`sort`] does a whole box.

pub mod advice;
pub mod assay;
pub mod checks;
pub mod disagreement;
pub mod doubt;
pub mod find;
pub mod gather;
pub mod helps;
pub mod history;
pub mod knowledge;
pub mod load;
pub mod loss;
pub mod marking;
pub mod pictures;
pub mod setup;
pub mod shelf;
pub mod sort;
pub mod write;
