//! What a reading would be: line, ends, faults and instrument, from unknowns that have names.
//!
//! [`forward`] makes readings and their derivatives from [`mod@line`], [`fault`], [`connectors`] and
//! [`smooth`] errors by way of the [`stack`]; [`parameters`] and [`layout`] say where each unknown
//! stands in the vector that the fit works on.

mod antenna;
mod conductor;
mod connectors;
mod fault;
mod fault_cuts;
mod forward;
mod lanes;
mod layout;
mod line;
mod parameters;
mod reading;
mod smooth;
mod stack;

pub(super) use antenna::{Antenna, BRANCHES, Branch};
pub(super) use conductor::{shield_shape, wire_ohm_metres, wire_shape};
pub(super) use connectors::plug_delay_s;
pub(super) use fault::{Fault, LumpedPoint, OtherLine, StretchPoint, StubEnd};
pub(super) use forward::{Forward, Grid, Prediction};
pub(super) use layout::{
    BAND, BAND_TRACKING, FAR_MATCH, Layout, OFFSET, PROPORTIONAL, QUADRATIC, SOURCE_MATCH,
    TRACKING, node_count, resolved_hz,
};
pub(super) use line::{LineLaw, LinePoint};
pub(super) use parameters::{
    AT, Adapter, FIXED_SD, FarEnd, Line, LineGradient, Normal, PARAMETERS, Parameters, Plug,
    Standards,
};
pub(super) use reading::{
    AtPlane, Kind, Readings, covered, kinds, picked, thin, thinned, with_kinds,
};
pub(super) use smooth::{smooth_basis, smooth_terms, smooth_value};
