//! A calibration kit: what the standards are, with the limits they lie within.
//!
//! The format is our own and stands in `docs/kits.md`. `within` beside a value means that the truth
//! lies anywhere within that of it (rectangular distribution, JCGM 100:2008, 4.3.7).

use serde::Deserialize;
use thiserror::Error;

use super::standard::{Definition, End, Standard};
use crate::uncertain::Uncertain;

/// A kit: its standards by name.
#[derive(Clone, Debug)]
pub struct Kit {
    /// What the file calls it.
    pub name: String,
    /// Impedance that the kit is made for, ohm.
    pub reference_ohm: f64,
    /// The standards in the order of their names.
    pub standards: Vec<(String, KitStandard)>,
}

/// One standard of a kit.
#[derive(Clone, Debug)]
pub struct KitStandard {
    /// What sort it is.
    pub kind: Kind,
    /// What it is.
    pub definition: Definition,
}

/// What sort of standard it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// An open.
    Open,
    /// A short, offset or not.
    Short,
    /// A resistor.
    Load,
    /// Anything that is known by a file.
    Table,
}

/// Why a kit says nothing of the standards that an analyser called ideal.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum StandardsError {
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
}

/// A kit that nobody described: open, short and load as they come with a pocket analyser. The sizes
/// are common practice and the same that the estimator believes in.
pub fn ordinary(reference_ohm: f64) -> Kit {
    let flush = |kind, standard| KitStandard {
        kind,
        definition: Definition::Described(standard),
    };
    let mut load = Standard::load(Uncertain::new(reference_ohm, 0.01 * reference_ohm));
    load.end = End::Load {
        resistance_ohm: Uncertain::new(reference_ohm, 0.01 * reference_ohm),
        inductance_h: Uncertain::new(0.08e-9, 0.09e-9),
        capacitance_f: Uncertain::new(15e-15, 15e-15),
    };
    let open = Standard::open(Uncertain::new(35e-15, 18e-15));
    let short = Standard::short(Uncertain::new(18e-12, 14e-12));
    Kit {
        name: "an ordinary kit, not described".to_owned(),
        reference_ohm,
        standards: vec![
            ("load".to_owned(), flush(Kind::Load, load)),
            ("open".to_owned(), flush(Kind::Open, open)),
            ("short".to_owned(), flush(Kind::Short, short)),
        ],
    }
}

impl Kit {
    /// The standard with this name.
    pub fn standard(&self, name: &str) -> Option<&KitStandard> {
        let found = self.standards.iter().find(|(n, _)| n == name);
        found.map(|(_, standard)| standard)
    }

    /// The kit's one standard of this kind, or of several the one with this name: an offset short is
    /// not the short.
    ///
    /// # Errors
    /// [`StandardsError::NotOneOf`], which calls it `name`.
    pub fn the_one(
        &self,
        kind: Kind,
        name: &'static str,
    ) -> Result<&(String, KitStandard), StandardsError> {
        let of_kind: Vec<_> = self
            .standards
            .iter()
            .filter(|(_, s)| s.kind == kind)
            .collect();
        let named = of_kind.iter().find(|(n, _)| n == name);
        match (named, of_kind.as_slice()) {
            (Some(named), _) => Ok(named),
            (None, [only]) => Ok(only),
            (None, several) => Err(StandardsError::NotOneOf {
                kind: name,
                found: several.len(),
            }),
        }
    }

    /// Sets the resistance of every described load; `false` if there is none.
    pub fn set_load(&mut self, ohm: Uncertain) -> bool {
        let mut any = false;
        for (_, standard) in &mut self.standards {
            if let Definition::Described(Standard {
                end: End::Load { resistance_ohm, .. },
                ..
            }) = &mut standard.definition
            {
                *resistance_ohm = ohm;
                any = true;
            }
        }
        any
    }

    /// Standards of which no limits are stated, so that they count as exact.
    pub fn exact(&self) -> Vec<&str> {
        let exact = |s: &KitStandard| s.definition.spread(1e9, self.reference_ohm).is_empty();
        self.standards
            .iter()
            .filter(|(_, s)| exact(s))
            .map(|(name, _)| name.as_str())
            .collect()
    }
}
