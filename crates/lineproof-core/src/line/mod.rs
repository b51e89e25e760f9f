//! Coaxial line theory.
