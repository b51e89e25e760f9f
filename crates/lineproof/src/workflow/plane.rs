//! What is said of the calibrated plane, resolved: adapters from words or files, the kit from its file.

use lineproof_core::bench::{KnownStandards, Load, Plane};
use lineproof_core::calibration::equivalent::equivalent_line;
use lineproof_core::calibration::fixture::Adapter;
use lineproof_core::calibration::standard::{End, Offset};
use lineproof_core::calibration::{Definition, Standard};
use lineproof_core::formats::{Network, ReadOptions};
use lineproof_core::sweep::ThroughSweep;
use lineproof_core::uncertain::Uncertain;
use thiserror::Error;

use super::adapter::{self, AdapterError, Fixture};
use super::attached::Attached;
use super::kit::{Kind, Kit, KitError};
use super::kit_reader;
use super::load::{self, LoadError};
use crate::facts::{About, table};

/// What is said of the plane, as typed.
#[derive(Clone, Debug, Default)]
pub struct PlaneSaid {
    /// Adapter between the plane and the near plug.
    pub near: Option<Fixture>,
    /// Adapter between the far plug and what ends the cable.
    pub far: Option<Fixture>,
    /// File of the kit that the analyser was calibrated with.
    pub kit: Option<Attached>,
    /// Whether the sweeps were corrected for what that kit is.
    pub corrected: bool,
    /// Parts at the plane besides the calibration's own: a standard of the kit by its name, or a resistor
    /// such as `75ohm` or `25ohm+-0.05ohm`.
    pub parts: Vec<String>,
    /// Two-ports between the plane and the cable to be taken out of the sweeps, from the analyser outwards.
    pub de_embed: Vec<Attached>,
}

/// The plane with the calibration load that the kit names.
#[derive(Clone, Debug, Default)]
pub struct Resolved {
    /// What the core makes use of.
    pub plane: Plane,
    /// The kit's load.
    pub load: Option<Load>,
    /// The parts that were named, in their order.
    pub parts: Vec<(String, Standard)>,
    /// The two-ports to de-embed.
    pub de_embed: Vec<ThroughSweep>,
}

/// Why what is said can't be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PlaneError {
    /// The kit.
    #[error(transparent)]
    Kit(#[from] KitError),
    /// A standard of the kit that is known in a form which the estimate can't use.
    #[error("the kit's {kind} is known by a table")]
    Table {
        /// Which.
        kind: &'static str,
    },
    /// The kit lacks one of the three that an analyser calls ideal, or has two.
    #[error("an analyser takes one {kind} for ideal; the kit has {found}")]
    NotOneOf {
        /// Which.
        kind: &'static str,
        /// How many there are.
        found: usize,
    },
    /// A part of the kit that is known in a form which the estimate can't use.
    #[error("the kit's `{name}` is known by a table: the estimate takes described parts only")]
    TablePart {
        /// Its name.
        name: String,
    },
    /// A part that nothing is known of.
    #[error(
        "`{name}` is not a known part: expected open, short, load, a standard of the kit by its \
         name, or a resistor such as `75ohm` or `25ohm+-0.05ohm`"
    )]
    NoPart {
        /// As typed.
        name: String,
    },
    /// A file that cannot be de-embedded.
    #[error("cannot de-embed `{label}`: expected a two-port with all four S-parameters")]
    NotAllFour {
        /// The file.
        label: String,
    },
    /// A kit whose values can't be made use of behind a two-port.
    #[error("a kit cannot be combined with a two-port to de-embed")]
    KitBefore,
    /// An adapter in words.
    #[error(transparent)]
    Adapter(#[from] AdapterError),
    /// An adapter's file.
    #[error(transparent)]
    Load(#[from] LoadError),
    /// A file that is no adapter.
    #[error("`{label}` is not an adapter: expected a two-port with transmission")]
    NoAdapter {
        /// The file.
        label: String,
    },
}

/// What is said of the plane and can't be used.
#[derive(Debug)]
pub struct PlaneRefused {
    /// The fact that says it, unless a file does.
    pub fact: Option<&'static About>,
    /// Why.
    pub error: PlaneError,
}

impl From<PlaneError> for PlaneRefused {
    fn from(error: PlaneError) -> Self {
        Self { fact: None, error }
    }
}

/// Names the fact that an error is about.
fn of(fact: &'static About) -> impl Fn(PlaneError) -> PlaneRefused {
    move |error| PlaneRefused {
        fact: Some(fact),
        error,
    }
}

/// Reads kit and adapters. Sweeps refer to `reference_ohm`.
///
/// # Errors
/// [`PlaneRefused`] with what can't be used.
pub fn resolve(
    said: &PlaneSaid,
    reference_ohm: f64,
    read: &ReadOptions,
) -> Result<Resolved, PlaneRefused> {
    let adapter = |what: &Option<Fixture>, fact: &'static About| {
        let adapter = what.as_ref().map(|w| adapter_of(w, reference_ohm, read));
        adapter.transpose().map_err(of(fact))
    };
    let de_embedded = said
        .de_embed
        .iter()
        .map(|file| two_port(file, read))
        .collect::<Result<_, PlaneError>>();
    let mut resolved = Resolved {
        plane: Plane {
            near: adapter(&said.near, &table::NEAR_ADAPTER.about)?,
            far: adapter(&said.far, &table::FAR_ADAPTER.about)?,
            ..Plane::default()
        },
        load: None,
        parts: Vec::new(),
        de_embed: de_embedded?,
    };
    resolved.plane.de_embedded = !resolved.de_embed.is_empty();
    if resolved.plane.de_embedded && said.kit.is_some() {
        return Err(of(&table::KIT.about)(PlaneError::KitBefore));
    }
    let mut kit_of_plane = None;
    if let Some(file) = &said.kit {
        let of_kit = of(&table::KIT.about);
        let kit = kit_reader::described(file).map_err(|error| of_kit(error.into()))?;
        let (standards, load) = known_standards(&kit, said.corrected).map_err(&of_kit)?;
        resolved.plane.standards = Some(standards);
        resolved.load = Some(load);
        kit_of_plane = Some(kit);
    }
    for name in &said.parts {
        let part = part_of(name, kit_of_plane.as_ref())?;
        resolved.parts.push((name.clone(), part));
    }
    Ok(resolved)
}

/// The two-port in a file, to be de-embedded.
///
/// # Errors
/// [`PlaneError`] if it can't be read, or lacks some of the four.
pub fn two_port(file: &Attached, read: &ReadOptions) -> Result<ThroughSweep, PlaneError> {
    let loaded = load::understand(file.path(), file.bytes()?, read)?;
    match loaded.measurement.network {
        Network::TwoPort(sweep) if sweep.reverse().is_some() => Ok(sweep),
        _ => Err(PlaneError::NotAllFour {
            label: loaded.label,
        }),
    }
}

/// What the part at the plane is that goes by this name.
///
/// # Errors
/// [`PlaneError`] if nothing is known of it.
pub fn part(name: &str, kit: Option<&Attached>) -> Result<Standard, PlaneError> {
    let kit = kit.map(kit_reader::described).transpose()?;
    part_of(name, kit.as_ref())
}

/// A part by its name in the kit, or a resistor in words.
fn part_of(name: &str, kit: Option<&Kit>) -> Result<Standard, PlaneError> {
    let of_kit = kit.and_then(|kit| kit.standards.iter().find(|(n, _)| n == name));
    match of_kit.map(|(_, standard)| &standard.definition) {
        Some(Definition::Described(standard)) => return Ok(*standard),
        Some(Definition::Tabulated(_)) => {
            return Err(PlaneError::TablePart {
                name: name.to_owned(),
            });
        }
        None => {}
    }
    let resistance_ohm = adapter::resistance(name).ok_or_else(|| PlaneError::NoPart {
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

fn adapter_of(
    what: &Fixture,
    reference_ohm: f64,
    read: &ReadOptions,
) -> Result<Adapter, PlaneError> {
    let file = match what {
        Fixture::Described(text) => return Ok(adapter::parse(text, reference_ohm)?),
        Fixture::File(file) => file,
    };
    let loaded = load::understand(file.path(), file.bytes()?, read)?;
    let line = match &loaded.measurement.network {
        Network::TwoPort(sweep) => equivalent_line(sweep),
        Network::OnePort(_) => None,
    };
    line.ok_or(PlaneError::NoAdapter {
        label: loaded.label,
    })
}

fn known_standards(kit: &Kit, corrected: bool) -> Result<(KnownStandards, Load), PlaneError> {
    let described = |kind, name: &'static str| {
        let (_, standard) = kit
            .the_one(kind, name)
            .map_err(|found| PlaneError::NotOneOf { kind: name, found })?;
        match standard.definition {
            Definition::Described(standard) => Ok(standard),
            Definition::Tabulated(_) => Err(PlaneError::Table { kind: name }),
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
        return Err(PlaneError::NotOneOf {
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
