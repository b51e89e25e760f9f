//! What is said of the calibrated plane, resolved: adapters from words or files, the kit from its file.

use lineproof_core::bench::Plane;
use lineproof_core::calibration::Standard;
use lineproof_core::calibration::equivalent::equivalent_line;
use lineproof_core::calibration::fixture::Adapter;
use lineproof_core::calibration::in_words::{self, AdapterError};
use lineproof_core::calibration::kit::StandardsError;
use lineproof_core::formats::{Network, ReadOptions};
use lineproof_core::gather::{self, PartError, Resolved, known_standards};
use lineproof_core::sweep::ThroughSweep;
use thiserror::Error;

use super::attached::Attached;
use super::fixture::Fixture;
use super::kit_reader::{self, KitError};
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

/// Why what is said can't be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PlaneError {
    /// The kit.
    #[error(transparent)]
    Kit(#[from] KitError),
    /// What the kit says of the standards that the analyser called ideal.
    #[error(transparent)]
    Standards(#[from] StandardsError),
    /// A part at the plane.
    #[error(transparent)]
    Part(#[from] PartError),
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
        let (standards, load) =
            known_standards(&kit, said.corrected).map_err(|error| of_kit(error.into()))?;
        resolved.plane.standards = Some(standards);
        resolved.load = Some(load);
        kit_of_plane = Some(kit);
    }
    for name in &said.parts {
        let part = gather::part(name, kit_of_plane.as_ref()).map_err(PlaneError::from)?;
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
    Ok(gather::part(name, kit.as_ref())?)
}

fn adapter_of(
    what: &Fixture,
    reference_ohm: f64,
    read: &ReadOptions,
) -> Result<Adapter, PlaneError> {
    let file = match what {
        Fixture::Described(text) => return Ok(in_words::parse(text, reference_ohm)?),
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
