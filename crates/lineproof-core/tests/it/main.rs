//! Integration tests of the core: what it computes against sources outside the project.

mod antenna;
mod arbitrary_bytes;
mod bound;
mod calibration;
mod check_values_calibration;
mod check_values_line;
mod check_values_methods;
mod delimited;
mod estimate;
mod identification;
mod line_properties;
mod line_referee;
mod practice;
mod quantities;
mod read_referee;
mod recovery;
mod ripple;
mod table;
mod time_domain;
mod touchstone;
