//! A calibration kit from its file: what the standards are, with the limits they lie within.
//!
//! The format is our own and stands in `docs/kits.md`. `within` beside a value means that the truth
//! lies anywhere within that of it (rectangular distribution, JCGM 100:2008, 4.3.7).

use std::path::{Path, PathBuf};

use lineproof_core::calibration::standard::End;
use lineproof_core::calibration::{Definition, Standard};
use lineproof_core::uncertain::Uncertain;
use serde::Deserialize;
use thiserror::Error;

use super::attached::Attached;
use super::kit_file::{KitFile, StandardFile};
use super::load::{LoadError, shown};

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

/// Why a kit can't be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum KitError {
    /// The file can't be read.
    #[error(transparent)]
    Load(#[from] LoadError),
    /// The file is not of the format.
    #[error("`{}` is not a kit file: {message}", shown(path))]
    Format {
        /// Where it is.
        path: PathBuf,
        /// What is wrong, with the line.
        message: String,
    },
    /// A standard is described in a way that makes no sense.
    #[error("standard `{name}` of `{}`: {message}", shown(path))]
    Standard {
        /// Where the kit is.
        path: PathBuf,
        /// The standard.
        name: String,
        /// What is wrong.
        message: String,
    },
    /// The table of a standard can't be read.
    #[error("standard `{name}`")]
    Table {
        /// The standard.
        name: String,
        /// Why.
        source: Box<LoadError>,
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

/// Reads a kit and the tables it names.
///
/// # Errors
/// [`KitError`] with the file, the standard and what is wrong.
pub fn read(path: &Path) -> Result<Kit, KitError> {
    kit(path, Attached::at(path.to_owned()).bytes(), |_| true)
}

/// Reads what a kit describes and passes over its tables, so that the file is all that it needs.
///
/// # Errors
/// [`KitError`] with the file, the standard and what is wrong.
pub fn described(file: &Attached) -> Result<Kit, KitError> {
    kit(file.path(), file.bytes(), |standard| !standard.is_table())
}

fn kit(
    path: &Path,
    bytes: Result<Vec<u8>, LoadError>,
    wanted: impl Fn(&StandardFile) -> bool,
) -> Result<Kit, KitError> {
    let text = text(path, bytes?)?;
    let file: KitFile = toml::from_str(&text).map_err(|error| KitError::Format {
        path: path.to_owned(),
        message: located(&text, &error),
    })?;
    let reference_ohm = file.reference_ohm.unwrap_or(50.0);
    if !(reference_ohm.is_finite() && reference_ohm > 0.0) {
        return Err(KitError::Format {
            path: path.to_owned(),
            message: format!("reference_ohm of {reference_ohm} is not a positive number"),
        });
    }
    let standards = file.standards.into_iter().filter(|(_, s)| wanted(s));
    let standards = standards.map(|(name, s)| {
        let standard = s.standard(path, &name, reference_ohm)?;
        Ok((name, standard))
    });
    Ok(Kit {
        name: file.name.unwrap_or_else(|| shown(path)),
        reference_ohm,
        standards: standards.collect::<Result<_, KitError>>()?,
    })
}

fn text(path: &Path, bytes: Vec<u8>) -> Result<String, KitError> {
    String::from_utf8(bytes).map_err(|error| KitError::Format {
        path: path.to_owned(),
        message: error.to_string(),
    })
}

impl Kit {
    /// The standard with this name.
    pub fn standard(&self, name: &str) -> Option<&KitStandard> {
        let found = self.standards.iter().find(|(n, _)| n == name);
        found.map(|(_, standard)| standard)
    }

    /// The kit's one standard of this kind, or of several the one with this name: an offset short is
    /// not the short. Otherwise how many there are.
    pub(crate) fn the_one(&self, kind: Kind, name: &str) -> Result<&(String, KitStandard), usize> {
        let of_kind: Vec<_> = self
            .standards
            .iter()
            .filter(|(_, s)| s.kind == kind)
            .collect();
        let named = of_kind.iter().find(|(n, _)| n == name);
        match (named, of_kind.as_slice()) {
            (Some(named), _) => Ok(named),
            (None, [only]) => Ok(only),
            (None, several) => Err(several.len()),
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

fn located(text: &str, error: &toml::de::Error) -> String {
    let message = error.message().replace('\n', "; ");
    match error.span() {
        Some(span) => {
            let line = text[..span.start.min(text.len())].matches('\n').count() + 1;
            format!("line {line}: {message}")
        }
        None => message,
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    fn read_text(name: &str, text: &str) -> Result<Kit, KitError> {
        let folder = std::env::temp_dir().join(format!("lineproof-kit-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let path = folder.join(name);
        fs::write(&path, text).unwrap();
        read(&path)
    }

    #[test]
    fn a_kit_is_read_with_its_limits() {
        let kit = read_text(
            "good.toml",
            "name = \"N\"\n[standards.open]\nkind = \"open\"\ncapacitance_f = [90e-15, 2500e-27]\n\
             capacitance_within_f = 9e-15\n[standards.open.offset]\nlength_m = 12e-3\nloss_db = 0.003\n\
             [standards.load]\nkind = \"load\"\nresistance_ohm = 49.9\n",
        )
        .unwrap();
        let Definition::Described(open) = &kit.standard("open").unwrap().definition else {
            panic!("described");
        };
        let End::Open(c) = open.end else {
            panic!("an open")
        };
        assert_eq!(c.coefficients, [90e-15, 2500e-27, 0.0, 0.0]);
        // Rectangular: a/√3 (JCGM 100:2008, 4.3.7).
        assert!((c.u / 9e-15 - 1.0 / 3f64.sqrt()).abs() < 1e-12);
        assert!((open.offset.one_way_delay_s.value - 40.03e-12).abs() < 0.01e-12);
        assert_eq!(kit.exact(), ["load"]);
    }

    #[test]
    fn what_is_wrong_is_named_with_its_line() {
        let cases = [
            ("kind", "[standards.a]\nkind = \"opn\"\n", "line 2"),
            ("key", "[standards.a]\nkind = \"open\"\ncap = 1\n", "line 3"),
            (
                "use",
                "[standards.a]\nkind = \"open\"\nresistance_ohm = 50\n",
                "`resistance_ohm` has no meaning",
            ),
            (
                "sign",
                "[standards.a]\nkind = \"load\"\nresistance_ohm = -50\n",
                "not a positive number",
            ),
            (
                "both",
                "[standards.a]\nkind = \"short\"\noffset = { delay_s = 1e-12, length_m = 1e-3 }\n",
                "either `delay_s` or `length_m`",
            ),
            ("file", "[standards.a]\nkind = \"table\"\n", "needs `file`"),
        ];
        for (name, text, wanted) in cases {
            let message = read_text(name, text).unwrap_err().to_string();
            assert!(message.contains(wanted), "{name}: {message}");
        }
    }
}
