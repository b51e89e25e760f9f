//! From a bench to a finding.
//!
//! [`find()`] asks every method and the estimate. [`events`] turns delays into places, with the [`cause`] that
//! physics names; [`doubt`] says when no number may be believed; [`loss`] and [`in_system`] state what the line
//! loses and what it does to a system; [`checks`], [`mistakes`] and [`disagreement`] give warnings;
//! [`marking`], [`geometry`] and [`types`] compare with the jacket, the caliper and the catalogue;
//! [`condition`] and [`verdict`] conclude by the [`criteria`]; [`helps`] and [`advice`] say what to measure
//! next. [`repair`] says which stretches of a faulty cable go, [`history`] what changed between two assays.
//!
//! For who asks otherwise: [`along`] shows the sweeps against time, [`beside`] the types that the loss is drawn
//! beside; [`grade`] and [`sorted`] say how good a cable is among others,
//! [`readings`] what values say that somebody read off a screen, [`corrected`] what must be known of corrected sweeps.

pub mod advice;
pub mod along;
pub mod as_it_lies;
pub mod asked;
pub mod beside;
pub mod cause;
pub mod checks;
pub mod condition;
pub mod corrected;
pub mod criteria;
pub mod disagreement;
pub mod doubt;
pub mod events;
mod find;
pub mod geometry;
pub mod grade;
pub mod helps;
pub mod history;
pub mod in_system;
pub mod loss;
pub mod marking;
pub mod mistakes;
pub mod readings;
pub mod repair;
pub mod sorted;
pub mod stated;
pub mod types;
pub mod verdict;

pub use asked::{Asked, Purpose};
pub use find::{find, method_found};
