//! A person's own types, in TOML.
//!
//! ```toml
//! [[type]]
//! designation = "Lamp house 7"
//! impedance = "50ohm"
//! velocity_factor = 0.83
//! loss = ["9.1dB/100m@100MHz", "18.9dB/100m@400MHz"]
//! # as far as they are known:
//! aliases = ["LH7"]
//! impedance_tolerance = "2ohm"
//! dielectric = "foam PE"
//! inner_diameter = "1.85mm"
//! strands = 19
//! dielectric_diameter = "5mm"
//! jacket_diameter = "7.3mm"
//! voltage = 1300
//! power = ["500W@100MHz"]
//! source = "maker's sheet of 2019"
//! notes = "the reel in the oil store"
//! ```
//!
//! Two losses or more make a law k1√f + k2·f; one alone is carried on as √f over a decade either
//! way.

use serde::Deserialize;
use thiserror::Error;

use super::loss::Law;
use super::table::filling;
use super::{CableType, Figure, Filling, LossCurve, LossKind, LossPoint, PowerPoint, PowerRating};
use crate::line::loss_law::{self, LossLaw, Terms};
use crate::quantity::{self, QuantityError, Reading};

/// Why a file of own types can't be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum OwnTypeError {
    /// No TOML, or keys that are not known.
    #[error("not a file of cable types: {0}")]
    Toml(#[from] Box<toml::de::Error>),
    /// No type in it.
    #[error("no `[[type]]` in the file")]
    Empty,
    /// A value that is no quantity.
    #[error("type `{designation}`: {key}: {source}")]
    Quantity {
        /// Type that it belongs to.
        designation: String,
        /// Key of the value.
        key: &'static str,
        /// What is wrong with it.
        source: Box<QuantityError>,
    },
    /// A value that can't be.
    #[error("type `{designation}`: {what}")]
    Value {
        /// Type that it belongs to.
        designation: String,
        /// What is wrong, and what was expected.
        what: String,
    },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default, rename = "type")]
    types: Vec<Own>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Own {
    designation: String,
    #[serde(default)]
    aliases: Vec<String>,
    impedance: String,
    impedance_tolerance: Option<String>,
    velocity_factor: f64,
    #[serde(default)]
    loss: Vec<String>,
    dielectric: Option<String>,
    inner_diameter: Option<String>,
    strands: Option<u32>,
    #[serde(default)]
    inner_material: String,
    dielectric_diameter: Option<String>,
    #[serde(default)]
    shield: String,
    jacket_diameter: Option<String>,
    voltage: Option<f64>,
    #[serde(default)]
    power: Vec<String>,
    #[serde(default = "own_source")]
    source: String,
    #[serde(default)]
    notes: String,
}

fn own_source() -> String {
    "own".to_owned()
}

/// The types of the file.
pub(super) fn read(toml: &str) -> Result<Vec<CableType>, OwnTypeError> {
    let file: File = toml::from_str(toml).map_err(Box::new)?;
    if file.types.is_empty() {
        return Err(OwnTypeError::Empty);
    }
    file.types.iter().map(cable_type).collect()
}

fn cable_type(own: &Own) -> Result<CableType, OwnTypeError> {
    let figure = |value: f64| Figure {
        value,
        source: own.source.clone(),
    };
    let length = |key, text: &Option<String>| {
        let read = text.as_deref().map(quantity::parse_length_m);
        own.value(key, read.transpose())
            .map(|r| r.map(|r| figure(r.value)))
    };
    let vf = own.velocity_factor;
    if !(0.2..=1.0).contains(&vf) {
        return Err(own.wrong(format!(
            "velocity_factor {vf} is impossible: expected 0.2 to 1"
        )));
    }
    let z0 = own.value("impedance", quantity::parse_resistance_ohm(&own.impedance))?;
    if z0.value < 1.0 {
        return Err(own.wrong(format!(
            "impedance `{}` is too small for a cable",
            own.impedance
        )));
    }
    let tolerance = own
        .impedance_tolerance
        .as_deref()
        .map(quantity::parse_resistance_ohm);
    let tolerance = own.value("impedance_tolerance", tolerance.transpose())?;
    Ok(CableType {
        designation: own.designation.clone(),
        aliases: own.aliases.clone(),
        spec: None,
        class: format!("{} own", z0.value),
        z0_ohm: figure(z0.value),
        z0_tolerance_ohm: tolerance.map(|t| figure(t.value)),
        velocity_factor: figure(vf),
        velocity_range: ((vf - 0.01).max(0.0), (vf + 0.01).min(1.0)),
        capacitance_f_m: None,
        inner_diameter_m: length("inner_diameter", &own.inner_diameter)?,
        strands: own.strands,
        inner_material: own.inner_material.clone(),
        filling: own.filling()?,
        dielectric_diameter_m: length("dielectric_diameter", &own.dielectric_diameter)?,
        shield: own.shield.clone(),
        jacket_diameter_m: length("jacket_diameter", &own.jacket_diameter)?,
        voltage_v: own.voltage.map(figure),
        loss: own.curve()?,
        power: own.rating()?,
        notes: own.notes.clone(),
        is_class: false,
    })
}

impl Own {
    fn value<T>(
        &self,
        key: &'static str,
        read: Result<T, QuantityError>,
    ) -> Result<T, OwnTypeError> {
        read.map_err(|source| OwnTypeError::Quantity {
            designation: self.designation.clone(),
            key,
            source: Box::new(source),
        })
    }

    fn wrong(&self, what: String) -> OwnTypeError {
        OwnTypeError::Value {
            designation: self.designation.clone(),
            what,
        }
    }

    /// As written; else by the velocity factor (solid polyethylene 0.66, PTFE 0.70).
    fn filling(&self) -> Result<Filling, OwnTypeError> {
        match &self.dielectric {
            Some(text) => filling(text).ok_or_else(|| {
                self.wrong(format!(
                    "dielectric `{text}` is not known: expected PE, foam PE, PTFE or air-spaced PE"
                ))
            }),
            None if self.velocity_factor < 0.68 => Ok(Filling::SolidPolyethylene),
            None if self.velocity_factor < 0.73 => Ok(Filling::Ptfe),
            None => Ok(Filling::FoamedPolyethylene),
        }
    }

    fn curve(&self) -> Result<LossCurve, OwnTypeError> {
        let mut points = Vec::new();
        for text in &self.loss {
            let reading = self.value("loss", quantity::parse_attenuation(text))?;
            let at = reading.at_hz.ok_or_else(|| {
                self.wrong(format!(
                    "loss `{text}` names no frequency: write `{text}@100MHz`"
                ))
            })?;
            points.push(LossPoint {
                freq_hz: at.value,
                db_m: reading.db_per_100m.value / 100.0,
                kind: LossKind::Nominal,
                source: self.source.clone(),
            });
        }
        let mut curve = LossCurve::of_points(points);
        curve.law = self.law(&curve.points)?;
        Ok(curve)
    }

    fn law(&self, points: &[LossPoint]) -> Result<Option<Law>, OwnTypeError> {
        let pairs: Vec<(f64, f64)> = points.iter().map(|p| (p.freq_hz, p.db_m)).collect();
        let (terms, band_hz) = match pairs.as_slice() {
            [] => return Ok(None),
            [(f, _)] => (Terms::Conductor, (f / 10.0, f * 10.0)),
            [(low, _), .., (high, _)] => (Terms::ConductorAndDielectric, (*low, *high)),
        };
        let fitted = loss_law::fit(&pairs, terms).map_err(|e| self.wrong(format!("loss: {e}")))?;
        let off = |law: LossLaw, &(f, db): &(f64, f64)| (law.db_m(f) / db - 1.0).abs();
        Ok(Some(Law {
            curve: fitted.law,
            band_hz,
            worst: pairs.iter().map(|p| off(fitted.law, p)).fold(0.0, f64::max),
            kind: LossKind::Nominal,
            source: self.source.clone(),
        }))
    }

    fn rating(&self) -> Result<Option<PowerRating>, OwnTypeError> {
        let mut points = Vec::new();
        for text in &self.power {
            let (power, at) = text.split_once('@').ok_or_else(|| {
                self.wrong(format!(
                    "power `{text}` names no frequency: write `{text}@100MHz`"
                ))
            })?;
            let power: Reading = self.value("power", quantity::parse_power_w(power))?;
            points.push(PowerPoint {
                freq_hz: self.value("power", quantity::parse_frequency_hz(at))?.value,
                average_w: power.value,
                ambient_c: None,
                source: self.source.clone(),
            });
        }
        Ok(PowerRating::of_points(points))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with(lines: &str) -> Result<Vec<CableType>, OwnTypeError> {
        read(&format!(
            "[[type]]\ndesignation = \"X\"\nimpedance = \"50ohm\"\nvelocity_factor = 0.83\n{lines}"
        ))
    }

    #[test]
    fn mistakes_are_named_with_type_and_key() {
        let cases = [
            (
                "loss = [\"9.1dB/100m\"]",
                "type `X`: loss `9.1dB/100m` names no frequency",
            ),
            ("loss = [\"9.1@100MHz\"]", "type `X`: loss: "),
            (
                "jacket_diameter = \"7.3\"",
                "type `X`: jacket_diameter: length `7.3` has no unit",
            ),
            ("colour = \"black\"", "not a file of cable types"),
            ("dielectric = \"jam\"", "dielectric `jam` is not known"),
            ("power = [\"500W\"]", "power `500W` names no frequency"),
        ];
        for (lines, wanted) in cases {
            let error = with(lines).unwrap_err().to_string();
            assert!(error.contains(wanted), "{lines}: {error}");
        }
        assert!(matches!(read(""), Err(OwnTypeError::Empty)));
    }

    #[test]
    fn two_losses_make_a_law_that_meets_both() {
        let types = with("loss = [\"9.1dB/100m@100MHz\", \"18.9dB/100m@400MHz\"]").unwrap();
        let loss = &types[0].loss;
        assert!((loss.printed_db_m(400e6).unwrap() - 0.189).abs() < 1e-9);
        assert!(loss.printed_db_m(1e9).is_err());
        assert_eq!(types[0].filling, Filling::FoamedPolyethylene);
    }
}
