//! Texts to the values of rows, each with what is wrong in words for a person.

use std::fmt::Display;

use lineproof_core::bench::MarkedLoss;
use lineproof_core::quantity::{self, AttenuationReading, QuantityError, Reading};
use lineproof_core::uncertain::Uncertain;

use super::values;

/// An error in words.
pub(super) fn said<T, E: Display>(read: Result<T, E>) -> Result<T, String> {
    read.map_err(|error| error.to_string())
}

pub(super) fn metres(text: &str) -> Result<Reading, String> {
    said(quantity::parse_length_m(text))
}

pub(super) fn plain_metres(text: &str) -> Result<f64, String> {
    metres(text).map(|r| r.value)
}

pub(super) fn ohms(text: &str) -> Result<Reading, String> {
    said(values::ohms(text))
}

pub(super) fn plain_ohms(text: &str) -> Result<f64, String> {
    ohms(text).map(|r| r.value)
}

pub(super) fn frequency(text: &str) -> Result<Reading, String> {
    said(quantity::parse_frequency_hz(text))
}

pub(super) fn hertz(text: &str) -> Result<f64, String> {
    frequency(text).map(|r| r.value)
}

pub(super) fn delay(text: &str) -> Result<Reading, String> {
    said(quantity::parse_delay_s(text))
}

pub(super) fn frequencies(text: &str) -> Result<Vec<f64>, String> {
    values::several(text).map(hertz).collect()
}

pub(super) fn marked_loss(text: &str) -> Result<MarkedLoss, String> {
    let AttenuationReading { db_per_100m, at_hz } = values::attenuation_at(text)?;
    let at_hz = at_hz.expect("it was read with its frequency");
    Ok(MarkedLoss {
        db_per_100m: db_per_100m.value,
        at_hz: at_hz.value,
    })
}

pub(super) fn seen_metres(text: &str) -> Result<Uncertain, String> {
    seen(quantity::parse_length_m(text))
}

pub(super) fn seen(reading: Result<Reading, QuantityError>) -> Result<Uncertain, String> {
    said(reading.map(values::by_instrument))
}
