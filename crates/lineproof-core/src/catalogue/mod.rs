//! Types of coaxial cable: what makers and standards say about them, each figure with its source.
//!
//! [`Catalogue::built_in`] is read from the data files in `data/catalogue`; a person's own types
//! come beside it from TOML ([`Catalogue::with_own`]). A designation is a size more than a
//! specification: pieces sold under one name differ by some 10 % in loss and 2 % in velocity
//! factor, see [`crate::identify`].

mod cable_type;
mod claim;
mod error;
mod filter;
mod loss;
mod names;
mod own;
mod power;
mod printed;
mod table;

use std::sync::OnceLock;

pub use cable_type::{CableType, Figure, Filling};
pub use claim::{Claim, Claimed};
pub use error::CatalogueError;
pub use filter::Filter;
pub use loss::{CONDUCTOR_SPREAD, DIELECTRIC_SPREAD, LossCurve, LossKind, LossPoint, OutOfData};
pub use names::Unknown;
pub use own::OwnTypeError;
pub use power::{PowerPoint, PowerRating, USUAL_AMBIENT_C};
pub use printed::{LossPrinted, PowerPrinted, SHOWN_HZ, SourcedFigure, TypeKnown, loss_points};

/// All types that are known, and the documents behind them.
#[derive(Clone, Debug, PartialEq)]
pub struct Catalogue {
    types: Vec<CableType>,
    sources: Vec<(String, String)>,
}

impl Catalogue {
    /// The types that come with the program.
    pub fn built_in() -> &'static Self {
        static BUILT_IN: OnceLock<Catalogue> = OnceLock::new();
        BUILT_IN.get_or_init(|| {
            let table::Contents { types, sources } =
                table::read(&table::Texts::BUILT_IN).expect("a test reads the tables of the crate");
            Self { types, sources }
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

    /// The documents behind the figures of a type: id and document.
    pub fn documents_of(&self, t: &CableType) -> Vec<(String, String)> {
        let figures = [
            Some(&t.z0_ohm),
            t.z0_tolerance_ohm.as_ref(),
            Some(&t.velocity_factor),
            t.capacitance_f_m.as_ref(),
            t.inner_diameter_m.as_ref(),
            t.dielectric_diameter_m.as_ref(),
            t.jacket_diameter_m.as_ref(),
            t.voltage_v.as_ref(),
        ];
        let of_figures = figures.into_iter().flatten().map(|f| f.source.as_str());
        let power = t
            .power
            .iter()
            .flat_map(PowerRating::points)
            .map(|p| p.source.as_str());
        let mut ids: Vec<&str> = of_figures
            .chain(t.loss.source())
            .chain(power)
            .flat_map(|s| s.split(';'))
            .map(|id| id.split(" (").next().unwrap_or(id).trim())
            .collect();
        ids.sort_unstable();
        ids.dedup();
        let document = |id: &str| {
            self.source(id)
                .unwrap_or("given in your own file")
                .to_owned()
        };
        ids.into_iter()
            .map(|id| (id.to_owned(), document(id)))
            .collect()
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
