//! A kit file's text to its kit.
//!
//! `docs/kits.md` of the repository has the format for people; what is not in it is refused. A standard that
//! another file describes is handed in as its sweep: [`KitFile::tables`] names the files, [`KitFile::kit`]
//! takes what they hold.

use std::collections::BTreeMap;

use serde::Deserialize;
use thiserror::Error;

use super::kit::{Kind, Kit, KitStandard};
use super::standard::{Cubic, Definition, End, Offset, Standard};
use super::tabulated::Tabulated;
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::sweep::Sweep;
use crate::uncertain::Uncertain;

/// The text of a kit file, understood as far as it goes without other files.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KitFile {
    name: Option<String>,
    reference_ohm: Option<f64>,
    standards: BTreeMap<String, StandardFile>,
}

/// Why a text is no kit.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum KitError {
    /// The text is not of the format.
    #[error("not a kit file: {message}")]
    Format {
        /// What is wrong, with the line.
        message: String,
    },
    /// A standard is described in a way that makes no sense.
    #[error("standard `{name}`: {message}")]
    Standard {
        /// The standard.
        name: String,
        /// What is wrong.
        message: String,
    },
}

/// One standard.
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
    file: Option<String>,
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

impl KitFile {
    /// Reads the text.
    ///
    /// # Errors
    /// [`KitError::Format`] with the line.
    pub fn parse(text: &str) -> Result<Self, KitError> {
        let file: Self = toml::from_str(text).map_err(|error| KitError::Format {
            message: located(text, &error),
        })?;
        let reference_ohm = file.reference_ohm();
        if reference_ohm.is_finite() && reference_ohm > 0.0 {
            return Ok(file);
        }
        Err(KitError::Format {
            message: format!("reference_ohm of {reference_ohm} is not a positive number"),
        })
    }

    /// The standards that other files describe: name and file, as the text has it.
    ///
    /// # Errors
    /// [`KitError::Standard`] for one without a file.
    pub fn tables(&self) -> Result<Vec<(&str, &str)>, KitError> {
        let tables = self.standards.iter().filter(|(_, s)| s.kind == Kind::Table);
        tables
            .map(|(name, standard)| {
                let file = standard
                    .table_file()
                    .map_err(|message| wrong(name, message))?;
                Ok((name.as_str(), file))
            })
            .collect()
    }

    /// The kit, called `unnamed` if the text does not name it, with the sweeps of its tables by the names of the
    /// standards. A table without a sweep is passed over.
    ///
    /// # Errors
    /// [`KitError::Standard`] with what is wrong.
    pub fn kit(&self, unnamed: &str, tables: &BTreeMap<String, Sweep>) -> Result<Kit, KitError> {
        let z_ohm = self.reference_ohm();
        let mut standards = Vec::new();
        for (name, standard) in &self.standards {
            let definition = match (standard.kind, tables.get(name)) {
                (Kind::Table, None) => continue,
                (Kind::Table, Some(sweep)) => standard.tabulated(sweep),
                _ => standard.described(z_ohm),
            };
            let kind = standard.kind;
            let definition = definition.map_err(|message| wrong(name, message))?;
            standards.push((name.clone(), KitStandard { kind, definition }));
        }
        Ok(Kit {
            name: self.name.clone().unwrap_or_else(|| unnamed.to_owned()),
            reference_ohm: z_ohm,
            standards,
        })
    }

    fn reference_ohm(&self) -> f64 {
        self.reference_ohm.unwrap_or(50.0)
    }
}

fn wrong(name: &str, message: String) -> KitError {
    KitError::Standard {
        name: name.to_owned(),
        message,
    }
}

impl StandardFile {
    fn described(&self, z_ohm: f64) -> Result<Definition, String> {
        self.check_keys()?;
        let end = self.end(z_ohm)?;
        let offset = match &self.offset {
            Some(offset) => offset.offset(z_ohm)?,
            None => Offset::none(z_ohm),
        };
        Ok(Definition::Described(Standard { end, offset }))
    }

    /// The file of a table.
    fn table_file(&self) -> Result<&str, String> {
        self.check_keys()?;
        let file = self.file.as_deref();
        file.ok_or_else(|| "kind `table` needs `file`".to_owned())
    }

    fn tabulated(&self, sweep: &Sweep) -> Result<Definition, String> {
        let u = within(0.0, self.within)?.u;
        Ok(Definition::Tabulated(Tabulated::new(sweep.clone(), u)))
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
            return Err(format!(
                "an offset of {} s is impossible: expected zero or more",
                delay.value
            ));
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
        return Err(format!("{value} within {limit} is not a value with limits"));
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
    use super::*;

    fn read(text: &str) -> Result<Kit, KitError> {
        let file = KitFile::parse(text)?;
        file.tables()?;
        file.kit("unnamed", &BTreeMap::new())
    }

    #[test]
    fn a_kit_is_read_with_its_limits() {
        let kit = read(
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
            let message = read(text).unwrap_err().to_string();
            assert!(message.contains(wanted), "{name}: {message}");
        }
    }
}
