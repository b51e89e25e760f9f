//! Adapters and resistors in words: `120ps`, `50ohm,120ps,0.03dB`, `sma-bnc`.
//!
//! A value's limits may stand behind it (`120ps+-15ps`); without them a value is as good as common
//! practice has it: a delay 10 %, an impedance 2 %, a loss half of itself.

use thiserror::Error;

use super::fixture::Adapter;
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::quantity;
use crate::uncertain::Uncertain;

/// Limits of a stated delay, impedance and loss without limits of their own, relative.
const DELAY_REL: f64 = 0.1;
const IMPEDANCE_REL: f64 = 0.02;
const LOSS_REL: f64 = 0.5;

/// Half of an adapter for each family of connectors: impedance with its limits, ohm, and length from
/// the plane to the middle of the adapter, m, filled with a velocity factor of 0.75. Common practice.
const FAMILIES: [(&str, f64, f64, f64); 7] = [
    ("sma", 50.0, 1.0, 9e-3),
    ("bnc", 50.0, 2.0, 18e-3),
    ("n", 50.0, 1.0, 18e-3),
    ("tnc", 50.0, 2.0, 16e-3),
    ("uhf", 38.0, 6.0, 18e-3),
    ("f", 72.0, 4.0, 12e-3),
    ("bnc75", 75.0, 2.0, 18e-3),
];
/// Velocity factor inside, and limits of an adapter's length, relative: makes differ that much.
const VELOCITY_FACTOR: f64 = 0.75;
const LENGTH_REL: f64 = 0.4;
/// Loss of an ordinary adapter at 1 GHz, dB, within itself.
const FAMILY_LOSS_DB: f64 = 0.03;

/// Why a text describes no adapter.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum AdapterError {
    /// A pair of connectors that nothing is known of.
    #[error("unknown adapter `{text}`: expected connectors among {}", families())]
    Family {
        /// As typed.
        text: String,
    },
    /// A part that is no impedance, delay or loss.
    #[error(
        "`{part}` in adapter `{text}` is not a delay, impedance or loss: expected for example \
         `50ohm,120ps,0.03dB` or `sma-bnc`"
    )]
    Part {
        /// The part.
        part: String,
        /// The whole.
        text: String,
    },
    /// No delay.
    #[error("adapter `{text}` has no delay: write for example `{text},120ps`")]
    NoDelay {
        /// As typed.
        text: String,
    },
    /// The same thing twice.
    #[error("adapter `{text}` states its {what} twice")]
    Twice {
        /// What.
        what: &'static str,
        /// As typed.
        text: String,
    },
}

fn families() -> String {
    FAMILIES.map(|(name, ..)| name).join(", ")
}

/// An adapter from its description. Without an impedance of its own it has `z_ref_ohm` exactly, which
/// makes it a port extension.
///
/// # Errors
/// [`AdapterError`] with the part that makes no sense.
pub fn parse(text: &str, z_ref_ohm: f64) -> Result<Adapter, AdapterError> {
    if let Some(adapter) = between_families(text)? {
        return Ok(adapter);
    }
    let (mut impedance, mut delay, mut loss) = (None, None, None);
    for part in text.split(',').map(str::trim) {
        let (slot, what, value) = if let Some(v) = limited(part, DELAY_REL, delay_s) {
            (&mut delay, "delay", v)
        } else if let Some(v) = limited(part, IMPEDANCE_REL, resistance_ohm) {
            (&mut impedance, "impedance", v)
        } else if let Some(v) = limited(part, LOSS_REL, loss_db) {
            (&mut loss, "loss", v)
        } else {
            return Err(AdapterError::Part {
                part: part.to_owned(),
                text: text.to_owned(),
            });
        };
        if slot.replace(value).is_some() {
            let text = text.to_owned();
            return Err(AdapterError::Twice { what, text });
        }
    }
    Ok(Adapter {
        impedance_ohm: impedance.unwrap_or(Uncertain::exact(z_ref_ohm)),
        one_way_delay_s: delay.ok_or_else(|| AdapterError::NoDelay {
            text: text.to_owned(),
        })?,
        loss_db: loss.unwrap_or(Uncertain::exact(0.0)),
    })
}

/// `a-b` with two known families; `None` if the text looks otherwise.
fn between_families(text: &str) -> Result<Option<Adapter>, AdapterError> {
    let Some((first, second)) = text.split_once('-') else {
        return Ok(None);
    };
    let looks_so = |s: &str| s.starts_with(|c: char| c.is_ascii_alphabetic());
    if !looks_so(first) || !looks_so(second) {
        return Ok(None);
    }
    let find = |name: &str| {
        let name = name.trim().to_ascii_lowercase();
        FAMILIES.into_iter().find(|(known, ..)| *known == name)
    };
    let (Some(a), Some(b)) = (find(first), find(second)) else {
        return Err(AdapterError::Family {
            text: text.to_owned(),
        });
    };
    let length_m = a.3 + b.3;
    let delay_s = length_m / (VELOCITY_FACTOR * SPEED_OF_LIGHT_M_S);
    let ohm = (a.1 * a.3 + b.1 * b.3) / length_m;
    // One line stands for two halves: what they differ by is a limit too.
    let limit_ohm = a.2.max(b.2) + 0.5 * (a.1 - b.1).abs();
    Ok(Some(Adapter {
        impedance_ohm: Uncertain::within(ohm, limit_ohm),
        one_way_delay_s: Uncertain::within(delay_s, LENGTH_REL * delay_s),
        loss_db: Uncertain::within(FAMILY_LOSS_DB, FAMILY_LOSS_DB),
    }))
}

/// A value that may have its limits behind it.
fn limited(part: &str, usual_rel: f64, read: fn(&str) -> Option<f64>) -> Option<Uncertain> {
    let (value, limit) = match part.split_once("+-").or_else(|| part.split_once('±')) {
        Some((value, limit)) => (read(value)?, read(limit)?),
        None => (read(part)?, usual_rel * read(part)?),
    };
    (value > 0.0 && limit >= 0.0).then(|| Uncertain::within(value, limit))
}

/// A resistor, ohm, that may have its limits behind it (`25ohm+-0.05ohm`); without them it is as good as an
/// ohmmeter reads it, 0.1 % (common practice).
pub fn resistance(text: &str) -> Option<Uncertain> {
    limited(text.trim(), OHMMETER_REL, resistance_ohm)
}

/// Limits of a resistor without limits of its own, relative.
const OHMMETER_REL: f64 = 1e-3;

fn delay_s(text: &str) -> Option<f64> {
    quantity::parse_delay_s(text).ok().map(|r| r.value)
}

fn resistance_ohm(text: &str) -> Option<f64> {
    quantity::parse_resistance_ohm(text).ok().map(|r| r.value)
}

fn loss_db(text: &str) -> Option<f64> {
    quantity::parse_loss_db(text).ok().map(|r| r.value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_delay_alone_is_a_port_extension() {
        let adapter = parse("120ps", 75.0).unwrap();
        assert_eq!(adapter.impedance_ohm, Uncertain::exact(75.0));
        assert_eq!(adapter.one_way_delay_s, Uncertain::within(120e-12, 12e-12));
    }

    #[test]
    fn parts_come_in_any_order_with_limits_or_without() {
        let adapter = parse("0.03dB, 110ps+-5ps, 52ohm", 50.0).unwrap();
        assert!((adapter.one_way_delay_s.u - 5e-12 / 3f64.sqrt()).abs() < 1e-20);
        assert_eq!(adapter.impedance_ohm.value, 52.0);
        assert_eq!(adapter.loss_db.value, 0.03);
    }

    #[test]
    fn families_are_known_in_either_order() {
        let [there, back] = ["sma-bnc", "BNC-SMA"].map(|t| parse(t, 50.0).unwrap());
        assert_eq!(there, back);
        // 27 mm at 0.75 of the speed of light.
        assert!((there.one_way_delay_s.value / 120.1e-12 - 1.0).abs() < 1e-3);
    }

    #[test]
    fn what_makes_no_sense_is_named() {
        let cases = [
            ("sma-foo", "connectors among sma"),
            ("50ohm", "has no delay"),
            ("10ps,20ps", "delay twice"),
            ("3kg", "`3kg`"),
        ];
        for (text, wanted) in cases {
            let message = parse(text, 50.0).unwrap_err().to_string();
            assert!(message.contains(wanted), "{text}: {message}");
        }
    }
}
