//! A calibration kit from its file: what the standards are, with the limits they lie within.
//!
//! The format is our own and stands in `docs/kits.md`. `within` beside a value means that the truth
//! lies anywhere within that of it (rectangular distribution, JCGM 100:2008, 4.3.7).

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use lineproof_core::calibration::standard::{Cubic, End, Offset};
use lineproof_core::calibration::{Definition, Standard, Tabulated};
use lineproof_core::constants::SPEED_OF_LIGHT_M_S;
use lineproof_core::formats::{Network, ReadOptions};
use lineproof_core::uncertain::Uncertain;
use serde::Deserialize;
use thiserror::Error;

use super::load::{self, LoadError, shown};

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
    #[error("cannot open `{}`", shown(path))]
    Open {
        /// Where it should be.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The file is not of the format.
    #[error("`{}` is no kit: {message}", shown(path))]
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
    let text = fs::read_to_string(path).map_err(|source| KitError::Open {
        path: path.to_owned(),
        source,
    })?;
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
    let standards = file.standards.into_iter().map(|(name, s)| {
        let standard = s.standard(path, &name, reference_ohm)?;
        Ok((name, standard))
    });
    Ok(Kit {
        name: file.name.unwrap_or_else(|| shown(path)),
        reference_ohm,
        standards: standards.collect::<Result<_, KitError>>()?,
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
    pub(super) fn the_one(&self, kind: Kind, name: &str) -> Result<&(String, KitStandard), usize> {
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

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct KitFile {
    name: Option<String>,
    reference_ohm: Option<f64>,
    standards: BTreeMap<String, StandardFile>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StandardFile {
    kind: Kind,
    capacitance_f: Option<Coefficients>,
    capacitance_within_f: Option<f64>,
    inductance_h: Option<Coefficients>,
    inductance_within_h: Option<f64>,
    resistance_ohm: Option<f64>,
    resistance_within_ohm: Option<f64>,
    file: Option<PathBuf>,
    within: Option<f64>,
    offset: Option<OffsetFile>,
}

/// One number, or up to four for 1, f, f² and f³.
#[derive(Clone, Debug, Deserialize)]
#[serde(untagged)]
enum Coefficients {
    One(f64),
    Several(Vec<f64>),
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct OffsetFile {
    delay_s: Option<f64>,
    delay_within_s: Option<f64>,
    length_m: Option<f64>,
    length_within_m: Option<f64>,
    impedance_ohm: Option<f64>,
    impedance_within_ohm: Option<f64>,
    loss_ohm_per_s: Option<f64>,
    loss_db: Option<f64>,
}

impl StandardFile {
    fn standard(&self, path: &Path, name: &str, z_ohm: f64) -> Result<KitStandard, KitError> {
        let wrong = |message: String| KitError::Standard {
            path: path.to_owned(),
            name: name.to_owned(),
            message,
        };
        self.check_keys().map_err(wrong)?;
        let definition = if self.kind == Kind::Table {
            self.table(path, name)?
        } else {
            let end = self.end(z_ohm).map_err(wrong)?;
            let offset = match &self.offset {
                Some(offset) => offset.offset(z_ohm).map_err(wrong)?,
                None => Offset::none(z_ohm),
            };
            Definition::Described(Standard { end, offset })
        };
        Ok(KitStandard {
            kind: self.kind,
            definition,
        })
    }

    /// A key that the kind has no use for is a mistake, not a remark.
    fn check_keys(&self) -> Result<(), String> {
        let (open, short, load, table) = (
            self.kind == Kind::Open,
            self.kind == Kind::Short,
            self.kind == Kind::Load,
            self.kind == Kind::Table,
        );
        let keys = [
            ("capacitance_f", self.capacitance_f.is_some(), open || load),
            (
                "capacitance_within_f",
                self.capacitance_within_f.is_some(),
                open || load,
            ),
            ("inductance_h", self.inductance_h.is_some(), short || load),
            (
                "inductance_within_h",
                self.inductance_within_h.is_some(),
                short || load,
            ),
            ("resistance_ohm", self.resistance_ohm.is_some(), load),
            (
                "resistance_within_ohm",
                self.resistance_within_ohm.is_some(),
                load,
            ),
            ("file", self.file.is_some(), table),
            ("within", self.within.is_some(), table),
            ("offset", self.offset.is_some(), !table),
        ];
        match keys
            .into_iter()
            .find(|&(_, given, useful)| given && !useful)
        {
            Some((key, ..)) => Err(format!("`{key}` has no meaning for this kind")),
            None => Ok(()),
        }
    }

    fn end(&self, z_ohm: f64) -> Result<End, String> {
        let capacitance = cubic(self.capacitance_f.as_ref(), self.capacitance_within_f)?;
        let inductance = cubic(self.inductance_h.as_ref(), self.inductance_within_h)?;
        Ok(match self.kind {
            Kind::Open => End::Open(capacitance),
            Kind::Short => End::Short(inductance),
            Kind::Load | Kind::Table => {
                let ohm = self.resistance_ohm.unwrap_or(z_ohm);
                End::Load {
                    resistance_ohm: within(
                        positive("resistance_ohm", ohm)?,
                        self.resistance_within_ohm,
                    )?,
                    inductance_h: constant(inductance)?,
                    capacitance_f: constant(capacitance)?,
                }
            }
        })
    }

    fn table(&self, path: &Path, name: &str) -> Result<Definition, KitError> {
        let wrong = |message: String| KitError::Standard {
            path: path.to_owned(),
            name: name.to_owned(),
            message,
        };
        let file = self
            .file
            .as_ref()
            .ok_or_else(|| wrong("kind `table` needs `file`".to_owned()))?;
        let beside = path.parent().unwrap_or(Path::new("")).join(file);
        let loaded =
            load::load(&beside, &ReadOptions::default()).map_err(|source| KitError::Table {
                name: name.to_owned(),
                source: Box::new(source),
            })?;
        let u = within(0.0, self.within).map_err(wrong)?.u;
        match loaded.measurement.network {
            Network::OnePort(sweep) => Ok(Definition::Tabulated(Tabulated::new(sweep, u))),
            Network::TwoPort(_) => Err(wrong(format!(
                "`{}` has two ports, a standard has one",
                loaded.label
            ))),
        }
    }
}

impl OffsetFile {
    fn offset(&self, z_ohm: f64) -> Result<Offset, String> {
        let delay = match (self.delay_s, self.length_m) {
            (Some(delay_s), None) => within(delay_s, self.delay_within_s)?,
            (None, Some(length_m)) => {
                within(length_m, self.length_within_m)?.scaled(1.0 / SPEED_OF_LIGHT_M_S)
            }
            _ => return Err("an offset has either `delay_s` or `length_m` (in air)".to_owned()),
        };
        if delay.value < 0.0 {
            return Err(format!("an offset of {} s leads nowhere", delay.value));
        }
        let impedance = self.impedance_ohm.unwrap_or(z_ohm);
        let impedance = within(
            positive("impedance_ohm", impedance)?,
            self.impedance_within_ohm,
        )?;
        let loss_ohm_per_s = match (self.loss_ohm_per_s, self.loss_db) {
            (None, None) => 0.0,
            (Some(loss), None) => loss,
            (None, Some(_)) if delay.value == 0.0 => 0.0,
            (None, Some(db)) => Offset::loss_of_db(db, delay.value, impedance.value),
            (Some(_), Some(_)) => {
                return Err("an offset has either `loss_ohm_per_s` or `loss_db`".to_owned());
            }
        };
        if !(loss_ohm_per_s.is_finite() && loss_ohm_per_s >= 0.0) {
            return Err("a loss is a positive number".to_owned());
        }
        Ok(Offset {
            one_way_delay_s: delay,
            impedance_ohm: impedance,
            loss_ohm_per_s,
        })
    }
}

fn cubic(coefficients: Option<&Coefficients>, limit: Option<f64>) -> Result<Cubic, String> {
    let given: &[f64] = match coefficients {
        None => &[],
        Some(Coefficients::One(value)) => std::slice::from_ref(value),
        Some(Coefficients::Several(values)) => values,
    };
    if given.len() > 4 {
        return Err(format!("{} coefficients, at most four", given.len()));
    }
    let mut all = [0.0; 4];
    all[..given.len()].copy_from_slice(given);
    if all.iter().any(|c| !c.is_finite()) {
        return Err("a coefficient is not a finite number".to_owned());
    }
    Ok(Cubic {
        coefficients: all,
        u: within(0.0, limit)?.u,
    })
}

fn constant(cubic: Cubic) -> Result<Uncertain, String> {
    if cubic.coefficients[1..].iter().any(|&c| c != 0.0) {
        return Err("a load's inductance and capacitance are one number each".to_owned());
    }
    Ok(Uncertain::new(cubic.coefficients[0], cubic.u))
}

fn within(value: f64, limit: Option<f64>) -> Result<Uncertain, String> {
    let limit = limit.unwrap_or(0.0);
    if !value.is_finite() || !limit.is_finite() || limit < 0.0 {
        return Err(format!(
            "{value} within {limit} is no value with its limits"
        ));
    }
    Ok(Uncertain::within(value, limit))
}

fn positive(what: &str, value: f64) -> Result<f64, String> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(format!("`{what}` of {value} is not a positive number"))
    }
}

#[cfg(test)]
mod tests {
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
