//! From a request to a finding: plain functions that the command line calls, and whoever else
//! asks the same question.
//!
//! [`load`] reads a file; [`gather`] puts sweeps, far ends and what is known on one bench;
//! [`find`] takes the bench to a [`Finding`](crate::finding::Finding), with [`events`],
//! [`condition`], [`verdict`] by [`criteria`], [`loss`], [`doubt`], [`checks`], [`mistakes`],
//! [`disagreement`], [`marking`], [`in_system`], [`helps`] and [`advice`] for its parts; [`types`] says which type it
//! may be, [`views`] shows sweeps against time; [`assay`] is all of it. [`compare`] sets two benches of
//! one cable side by side. [`cable`] and [`source`] take a cable, found or from the catalogue, to the
//! questions that come after; [`repair`] says which stretches of a faulty one go.
//!
//! [`setup`], [`shelf`] and [`history`] keep an assay for next year, with what was [`attached`] to it;
//! [`label`] says what goes onto the cable; [`sort`] does a whole box.
//!
//! [`correct`] takes raw sweeps to corrected ones with a [`kit`] and [`adapter`]s.

pub mod adapter;
pub mod advice;
pub mod assay;
pub mod attached;
pub mod cable;
pub mod cause;
pub mod checks;
pub mod compare;
pub mod condition;
pub mod correct;
pub mod criteria;
pub mod cut;
pub mod disagreement;
pub mod doubt;
pub mod events;
pub mod fault_cut;
pub mod find;
pub mod fitness;
pub mod gather;
pub mod geometry;
pub mod helps;
pub mod history;
pub mod in_system;
pub mod kit;
mod kit_file;
pub mod knowledge;
pub mod label;
pub mod line_files;
pub mod load;
pub mod loss;
pub mod marking;
pub mod mistakes;
pub mod pictures;
pub mod plane;
pub mod repair;
pub mod setup;
pub mod shelf;
pub mod sort;
pub mod source;
pub mod types;
pub mod verdict;
pub mod views;
pub mod write;
mod written;
