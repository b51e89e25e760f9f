//! A bench whose truth is known, for tests and examples. Never part of the program.
//!
//! A [`Cable`] is built from its geometry and materials, a [`Body`] strings pieces of cable and
//! faults together, and a [`Scenario`] puts plugs on it, a calibration kit and an [`Instrument`]
//! in front of it. [`Scenario::simulate`] gives the sweeps that such an instrument would record,
//! with the [`Truth`] beside them:
//!
//! ```
//! use lineproof_core::bench::FarEnd;
//! use lineproof_simulator::{Cable, Instrument, Scenario, linear_grid};
//!
//! let scenario = Scenario::new(Cable::solid_pe_75(), 2.0)
//!     .on_grid(linear_grid(1e6, 300e6, 401))
//!     .ended_by(&[FarEnd::Open, FarEnd::Load])
//!     .measured_with(Instrument::POCKET);
//! let result = scenario.simulate(7)?;
//! assert_eq!(result.sweeps.len(), 2);
//! assert!((result.truth.impedance_ohm(100e6) - 74.0).abs() < 1.0);
//! # Ok::<(), lineproof_core::sweep::SweepError>(())
//! ```
//!
//! [`Scenario::simulate_raw`] gives the same bench before correction, standards included;
//! [`Scenario::simulate_checks`] measures standards again after the calibration.
//!
//! [`Scenario::departing`] switches on what real benches have and the usual one has not, one
//! [`Departure`] or several.
//!
//! It is a source of truth only while it is independent: of the core it uses what a sweep is, what
//! a far end is, and the physical constants. Line theory is written here a second time on purpose.
//!
//! Conventions: time dependence e^(+jωt); reflections look into the near end against 50 ohm;
//! pieces are listed from the near end; losses are positive.

mod assembly;
mod body;
mod cable;
mod chain;
mod conductor;
mod connector;
mod departure;
mod echoes;
mod example_file;
mod example_files;
pub mod examples;
mod instrument;
mod kit;
mod population;
mod raw;
mod raw_example;
mod scenario;
mod simulation;
mod stories;
pub mod touchstone;
mod truth;
mod wander;

pub use body::{Body, BodyEnd, Piece, Resonance, Water};
pub use cable::{Cable, Dielectric};
pub use chain::{Chain, Terminal};
pub use conductor::{round_wire_ohm_m, tube_ohm_m};
pub use connector::Connector;
pub use departure::Departure;
pub use example_files::all_files;
pub use instrument::Instrument;
pub use kit::Kit;
pub use raw::{Check, RawSimulation};
pub use scenario::{Scenario, linear_grid};
pub use simulation::Simulation;
pub use truth::Truth;

/// Reference impedance of the simulated analysers, ohm.
pub const REFERENCE_OHM: f64 = 50.0;
