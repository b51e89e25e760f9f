//! The calibrated plane as the bench takes it, and what a kit says of it.

use thiserror::Error;

use crate::bench::{KnownStandards, Load, Plane};
use crate::calibration::in_words;
use crate::calibration::kit::{Kind, Kit, StandardsError};
use crate::calibration::standard::{End, Offset};
use crate::calibration::{Definition, Standard};
use crate::sweep::ThroughSweep;
use crate::uncertain::Uncertain;

/// The plane with the calibration load that the kit names.
#[derive(Clone, Debug, Default)]
pub struct Resolved {
    /// What the estimate makes use of.
    pub plane: Plane,
    /// The kit's load.
    pub load: Option<Load>,
    /// The parts that were named, in their order.
    pub parts: Vec<(String, Standard)>,
    /// The two-ports to de-embed.
    pub de_embed: Vec<ThroughSweep>,
}

/// Why a part at the plane can't be used.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum PartError {
    /// A part of the kit that is known in a form which the estimate can't use.
    #[error("the kit's `{name}` is known by a table: the estimate takes described parts only")]
    Table {
        /// Its name.
        name: String,
    },
    /// A part that nothing is known of.
    #[error(
        "`{name}` is not a known part: expected open, short, load, a standard of the kit by its \
         name, or a resistor such as `75ohm` or `25ohm+-0.05ohm`"
    )]
    Unknown {
        /// As typed.
        name: String,
    },
}

/// A part at the plane by its name in the kit, or a resistor in words.
///
/// # Errors
/// [`PartError`] if nothing is known of it.
pub fn part(name: &str, kit: Option<&Kit>) -> Result<Standard, PartError> {
    let of_kit = kit.and_then(|kit| kit.standards.iter().find(|(n, _)| n == name));
    match of_kit.map(|(_, standard)| &standard.definition) {
        Some(Definition::Described(standard)) => return Ok(*standard),
        Some(Definition::Tabulated(_)) => {
            return Err(PartError::Table {
                name: name.to_owned(),
            });
        }
        None => {}
    }
    let resistance_ohm = in_words::resistance(name).ok_or_else(|| PartError::Unknown {
        name: name.to_owned(),
    })?;
    Ok(Standard {
        end: End::Load {
            resistance_ohm,
            inductance_h: ORDINARY_RESISTOR.0,
            capacitance_f: ORDINARY_RESISTOR.1,
        },
        ..Standard::load(resistance_ohm)
    })
}

/// Inductance in series, H, and capacitance across a resistor in a plug that nobody describes: as those of an
/// ordinary kit's load. Common practice, no source.
const ORDINARY_RESISTOR: (Uncertain, Uncertain) = (
    Uncertain {
        value: 0.08e-9,
        u: 0.09e-9,
    },
    Uncertain {
        value: 15e-15,
        u: 15e-15,
    },
);

/// What the open, short and load of a kit are that an analyser took for ideal, and the load.
///
/// # Errors
/// [`StandardsError`] if the kit does not describe just one of each.
pub fn known_standards(
    kit: &Kit,
    corrected: bool,
) -> Result<(KnownStandards, Load), StandardsError> {
    let described = |kind, name: &'static str| {
        let (_, standard) = kit.the_one(kind, name)?;
        match standard.definition {
            Definition::Described(standard) => Ok(standard),
            Definition::Tabulated(_) => Err(StandardsError::Table { kind: name }),
        }
    };
    let open = described(Kind::Open, "open")?;
    let short = described(Kind::Short, "short")?;
    let load = described(Kind::Load, "load")?;
    let End::Load {
        resistance_ohm,
        inductance_h: load_h,
        capacitance_f: load_f,
    } = load.end
    else {
        return Err(StandardsError::NotOneOf {
            kind: "load",
            found: 0,
        });
    };
    let standards = KnownStandards {
        open_f: with_offset(&open, |o| 1.0 / o.impedance_ohm.value),
        short_h: with_offset(&short, |o| o.impedance_ohm.value),
        load_h,
        load_f,
        corrected,
    };
    let load = Load {
        ohm: resistance_ohm,
        measured: true,
    };
    Ok((standards, load))
}

/// Capacitance or inductance with what the offset line adds at low frequency, its delay times `per_s`.
fn with_offset(standard: &Standard, per_s: impl Fn(&Offset) -> f64) -> Uncertain {
    let (End::Open(own) | End::Short(own)) = standard.end else {
        return Uncertain::exact(0.0);
    };
    let offset = standard
        .offset
        .one_way_delay_s
        .scaled(per_s(&standard.offset));
    Uncertain::new(own.coefficients[0] + offset.value, own.u.hypot(offset.u))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// C + T/Z: 40 ps of 50 ohm are 0.8 pF.
    #[test]
    fn an_offset_counts_as_capacitance() {
        let mut open = Standard::open(Uncertain::new(50e-15, 3e-15));
        open.offset.one_way_delay_s = Uncertain::new(40e-12, 0.2e-12);
        let got = with_offset(&open, |o| 1.0 / o.impedance_ohm.value);
        assert!((got.value - 0.85e-12).abs() < 1e-18, "got {got}");
        assert!((got.u - 5e-15).abs() < 1e-18, "got {got}");
    }
}
