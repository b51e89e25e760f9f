//! The tables of a kit file, and the standards that they describe.
//!
//! `docs/kits.md` has the format for people; what is not in it is refused.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use lineproof_core::calibration::standard::{Cubic, End, Offset};
use lineproof_core::calibration::{Definition, Standard, Tabulated};
use lineproof_core::constants::SPEED_OF_LIGHT_M_S;
use lineproof_core::formats::{Network, ReadOptions};
use lineproof_core::uncertain::Uncertain;
use serde::Deserialize;

use super::kit::{Kind, KitError, KitStandard};
use super::load;

/// The whole file.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct KitFile {
    pub(super) name: Option<String>,
    pub(super) reference_ohm: Option<f64>,
    pub(super) standards: BTreeMap<String, StandardFile>,
}

/// One standard.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StandardFile {
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
    /// Whether another file says what it is.
    pub(super) fn is_table(&self) -> bool {
        self.kind == Kind::Table
    }

    /// The standard that the table describes, beside the kit file at `path`.
    pub(super) fn standard(
        &self,
        path: &Path,
        name: &str,
        z_ohm: f64,
    ) -> Result<KitStandard, KitError> {
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
                "`{}` has two ports: a standard has one",
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
