//! Types of coaxial cable: what makers and standards say about them, each figure with its source.
//!
//! [`Catalogue::built_in`] is read from the data files in `data/catalogue`; a person's own types
//! come beside it from TOML ([`Catalogue::with_own`]). A designation is a size more than a
//! specification: pieces sold under one name differ by some 10 % in loss and 2 % in velocity
//! factor, see [`crate::identify`].

mod loss;
mod names;
mod own;
mod power;
mod table;

use std::sync::OnceLock;

use thiserror::Error;

pub use loss::{CONDUCTOR_SPREAD, DIELECTRIC_SPREAD, LossCurve, LossKind, LossPoint, OutOfData};
pub use names::Unknown;
pub use own::OwnTypeError;
pub use power::{PowerPoint, PowerRating, USUAL_AMBIENT_C};

/// A figure and where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The value, in the unit that the field's name gives.
    pub value: f64,
    /// Ids of [`Catalogue::source`], separated by `;`.
    pub source: String,
}

impl Figure {
    /// Whether the figure, or part of it, was written down without a document at hand.
    pub fn is_from_memory(&self) -> bool {
        self.source.contains("memory")
    }
}

/// What lies between the conductors, as far as an eye or a knife can tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Filling {
    /// Solid polyethylene.
    SolidPolyethylene,
    /// Foamed polyethylene.
    FoamedPolyethylene,
    /// PTFE, solid.
    Ptfe,
    /// Much air: a tube, a thread, discs or cells.
    AirSpaced,
}

impl Filling {
    /// As people call it.
    pub fn name(self) -> &'static str {
        match self {
            Self::SolidPolyethylene => "solid polyethylene",
            Self::FoamedPolyethylene => "foamed polyethylene",
            Self::Ptfe => "PTFE",
            Self::AirSpaced => "air-spaced polyethylene",
        }
    }

    /// Highest temperature of the inner conductor that such cable is usually rated for, °C: 80 for
    /// polyethylene, 200 for PTFE. Common practice, from memory.
    pub fn highest_c(self) -> f64 {
        if self == Self::Ptfe { 200.0 } else { 80.0 }
    }
}

/// One type of cable. Diameters and impedance are nominal.
#[derive(Clone, Debug, PartialEq)]
pub struct CableType {
    /// Name under which it is known.
    pub designation: String,
    /// Further names.
    pub aliases: Vec<String>,
    /// Specification that defines it.
    pub spec: Option<String>,
    /// Impedance, dielectric and build in a word or two, for lists.
    pub class: String,
    /// Characteristic impedance, ohm.
    pub z0_ohm: Figure,
    /// Tolerance of the impedance, ± ohm.
    pub z0_tolerance_ohm: Option<Figure>,
    /// Velocity factor.
    pub velocity_factor: Figure,
    /// Velocity factors that a good piece can show: lowest, highest.
    pub velocity_range: (f64, f64),
    /// Capacitance, F/m.
    pub capacitance_f_m: Option<Figure>,
    /// Diameter of the inner conductor, m.
    pub inner_diameter_m: Option<Figure>,
    /// Wires of the inner conductor; 1 is a solid one.
    pub strands: Option<u32>,
    /// Material of the inner conductor.
    pub inner_material: String,
    /// Dielectric.
    pub filling: Filling,
    /// Diameter over the dielectric, m.
    pub dielectric_diameter_m: Option<Figure>,
    /// Shield in words.
    pub shield: String,
    /// Outside diameter, m.
    pub jacket_diameter_m: Option<Figure>,
    /// Voltage rating as printed, V; usually meant as rms.
    pub voltage_v: Option<Figure>,
    /// Attenuation.
    pub loss: LossCurve,
    /// Average power.
    pub power: Option<PowerRating>,
    /// Remarks.
    pub notes: String,
    /// Whether it is a class whose figures are medians of other types.
    pub is_class: bool,
}

impl CableType {
    /// Whether the inner conductor has a steel core.
    pub fn has_steel_core(&self) -> bool {
        self.inner_material.contains("steel")
    }

    /// Standard spread of the impedance between pieces, ohm: half the stated tolerance, 1 ohm where
    /// none is stated (tolerances of 2 ohm are usual, `Figure::source` of those that have one).
    pub fn z0_spread_ohm(&self) -> f64 {
        self.z0_tolerance_ohm
            .as_ref()
            .map_or(1.0, |t| 0.5 * t.value)
    }

    /// Standard spread of the velocity factor between pieces: 1 % (the trade's ±2 %) and the range
    /// that good cable of the type shows, taken as four of them.
    pub fn velocity_spread(&self) -> f64 {
        let (low, high) = self.velocity_range;
        (0.01 * self.velocity_factor.value).max(0.25 * (high - low))
    }
}

/// All types that are known, and the documents behind them.
#[derive(Clone, Debug, PartialEq)]
pub struct Catalogue {
    types: Vec<CableType>,
    sources: Vec<(String, String)>,
}

/// Why the data can't be read.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CatalogueError {
    /// A table that is no table.
    #[error("{table}: {source}")]
    Table {
        /// Name of the file.
        table: &'static str,
        /// What the reader says.
        source: csv::Error,
    },
    /// A row that contradicts itself.
    #[error("{table}: {designation}: {what}")]
    Row {
        /// Name of the file.
        table: &'static str,
        /// Type the row is about.
        designation: String,
        /// What is wrong.
        what: String,
    },
}

impl Catalogue {
    /// The types that come with the program.
    pub fn built_in() -> &'static Self {
        static BUILT_IN: OnceLock<Catalogue> = OnceLock::new();
        BUILT_IN.get_or_init(|| {
            table::read(&table::Texts::BUILT_IN).expect("a test reads the tables of the crate")
        })
    }

    /// These types and a person's own from TOML; an own type replaces one of the same name.
    ///
    /// ```
    /// use lineproof_core::catalogue::Catalogue;
    /// let own = "[[type]]\ndesignation = \"Lamp house 7\"\nimpedance = \"50ohm\"\n\
    ///     velocity_factor = 0.83\nloss = [\"9.1dB/100m@100MHz\", \"18.9dB/100m@400MHz\"]\n";
    /// let all = Catalogue::built_in().with_own(own).unwrap();
    /// assert_eq!(all.find("lamp house 7").unwrap().z0_ohm.value, 50.0);
    /// ```
    ///
    /// # Errors
    /// [`OwnTypeError`] names the type and the key.
    pub fn with_own(&self, toml: &str) -> Result<Self, OwnTypeError> {
        let mut types = own::read(toml)?;
        let replaced = |t: &&CableType| !types.iter().any(|o| o.designation == t.designation);
        let kept: Vec<CableType> = self.types.iter().filter(replaced).cloned().collect();
        types.extend(kept);
        Ok(Self {
            types,
            sources: self.sources.clone(),
        })
    }

    /// All types, a person's own first.
    pub fn types(&self) -> &[CableType] {
        &self.types
    }

    /// The type of this name; case, blanks, hyphens and a closing `/U` do not matter.
    ///
    /// # Errors
    /// [`Unknown`] if there is none or more than one, with those that come near.
    pub fn find(&self, name: &str) -> Result<&CableType, Unknown> {
        names::find(&self.types, name)
    }

    /// All types that a marking could mean, none if it means nothing that is known.
    pub fn all_named(&self, name: &str) -> Vec<&CableType> {
        names::all_named(&self.types, name)
    }

    /// The document behind a source id.
    pub fn source(&self, id: &str) -> Option<&str> {
        let found = self.sources.iter().find(|(known, _)| known == id);
        found.map(|(_, document)| document.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_source_of_the_tables_is_known() {
        let all = Catalogue::built_in();
        assert!(all.types().len() > 100);
        for t in all.types() {
            let figures = [Some(&t.z0_ohm), Some(&t.velocity_factor)];
            let optional = [
                &t.z0_tolerance_ohm,
                &t.capacitance_f_m,
                &t.inner_diameter_m,
                &t.dielectric_diameter_m,
                &t.jacket_diameter_m,
                &t.voltage_v,
            ];
            let figures = figures.into_iter().chain(optional.map(Option::as_ref));
            for id in figures.flatten().flat_map(|f| f.source.split(';')) {
                let id = id.split(" (").next().unwrap().trim();
                assert!(all.source(id).is_some(), "{}: `{id}`", t.designation);
            }
        }
    }

    /// Z0·VF·C′·c = 1: the three figures of a sheet must be of one cable. Three per cent covers
    /// their rounding; the rows beyond are named with the reason in their notes or flagged at
    /// their source as printed.
    #[test]
    fn impedance_velocity_and_capacitance_are_of_one_cable() {
        let beyond: Vec<&str> = Catalogue::built_in()
            .types()
            .iter()
            .filter(|t| {
                t.capacitance_f_m.as_ref().is_some_and(|c| {
                    let c0 = crate::constants::SPEED_OF_LIGHT_M_S;
                    (t.z0_ohm.value * t.velocity_factor.value * c.value * c0 - 1.0).abs() > 0.05
                })
            })
            .map(|t| t.designation.as_str())
            .collect();
        let as_printed = ["Ultraflex 7", "Aircell 7", "Aircom Plus"];
        assert_eq!(beyond, as_printed);
    }

    #[test]
    fn own_types_come_first_and_replace() {
        let own = "[[type]]\ndesignation = \"RG-213/U\"\nimpedance = \"51ohm\"\n\
                   velocity_factor = 0.66\nloss = [\"7dB/100m@100MHz\"]\n";
        let all = Catalogue::built_in().with_own(own).unwrap();
        assert_eq!(all.types().len(), Catalogue::built_in().types().len());
        assert_eq!(all.find("RG-213").unwrap().z0_ohm.value, 51.0);
    }
}
