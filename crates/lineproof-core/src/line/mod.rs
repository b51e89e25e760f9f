//! Coaxial line theory: from copper and dielectric to what an analyser sees, one concept a file.
//!
//! [`geometry`] and [`skin`] give resistance, inductance, conductance and capacitance per metre;
//! [`primary`] turns these into characteristic impedance and propagation constant;
//! [`input_impedance`] says what a piece of line with something at its far end looks like,
//! [`far_end`] what that something really is; [`mismatch`] what a wrong impedance costs.
//! [`possible`] says which delays a cable of some loss can have.
//! [`loss_law`], [`velocity`], [`matching`] and [`sampling`] are the relations that people use with
//! a calculator.
//!
//! Conventions: time dependence e^(+jωt); γ = α + jβ with α ≥ 0 for a passive line; reflections
//! look towards the load. Frequencies are in Hz and not negative. A result that does not exist
//! (the input impedance of an open line of no length) is `None`, never an infinite number.

pub(crate) mod complex_functions;
pub mod far_end;
pub mod geometry;
pub mod input_impedance;
pub mod loss_law;
pub mod matching;
pub mod mismatch;
pub mod possible;
pub mod primary;
pub mod sampling;
pub mod skin;
pub mod velocity;
