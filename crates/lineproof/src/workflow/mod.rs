//! From a request to a finding: plain functions that the command line calls, and whoever else
//! asks the same question.
//!
//! [`load`] reads a file; [`gather`] puts sweeps, far ends and what is known on one bench;
//! [`find`] takes the bench to a [`Finding`](crate::finding::Finding), with [`events`],
//! [`condition`], [`loss`], [`doubt`], [`checks`], [`mistakes`], [`disagreement`], [`marking`], [`helps`] and
//! [`advice`] for its parts; [`views`] shows sweeps against time; [`assay`] is all of it. [`compare`] sets two benches
//! of one cable side by side.

pub mod advice;
pub mod assay;
pub mod checks;
pub mod compare;
pub mod condition;
pub mod disagreement;
pub mod doubt;
pub mod events;
pub mod find;
pub mod gather;
pub mod helps;
pub mod knowledge;
pub mod load;
pub mod loss;
pub mod marking;
pub mod mistakes;
pub mod views;
