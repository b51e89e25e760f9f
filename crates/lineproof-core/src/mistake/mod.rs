//! Mistakes of measurement that the readings themselves show: each check is a pure function that
//! gives what it saw, or nothing.
//!
//! [`bare_port`]: nothing connected.
//! [`outliers`]: single points and stretches that no cable makes (transmitters, a loose joint).
//! [`dips`]: an antenna that was left on. [`far_load`]: another resistor at the far end than stated.
//! [`residual`]: what the joint fit cannot explain in one band (common mode), and reflections that
//! repeat along the cable. [`through`]: jumpers and ports of a two-port sweep. [`slips`]: figures that
//! differ by a unit. Limits were set on simulated good cables, of which none may be accused; each
//! module has its own.

pub mod bare_port;
pub mod dips;
pub mod far_load;
pub mod outliers;
pub mod residual;
pub mod slips;
pub mod tape;
pub mod through;
