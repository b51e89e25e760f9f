//! Coaxial line theory: from copper and dielectric to what an analyser sees, one concept a file.
//!
//! [`skin`] gives what the conductors do; [`primary`] turns resistance, inductance, conductance and
//! capacitance per metre into characteristic impedance and propagation constant;
//! [`input_impedance`] says what a piece of line with something at its far end looks like;
//! [`mismatch`] what a wrong impedance costs.
//!
//! Conventions: time dependence e^(+jωt); γ = α + jβ with α ≥ 0 for a passive line; reflections
//! look towards the load. Frequencies are in Hz and not negative. A result that does not exist
//! (the input impedance of an open line of no length) is `None`, never an infinite number.

pub(crate) mod complex_functions;
pub mod input_impedance;
pub mod mismatch;
pub mod primary;
pub mod skin;
