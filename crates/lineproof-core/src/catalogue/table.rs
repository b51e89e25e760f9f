//! The tables of `data/catalogue` to types.

use std::collections::HashMap;

use serde::Deserialize;
use serde::de::DeserializeOwned;

use super::loss::Law;
use super::{
    CableType, CatalogueError, Figure, Filling, LossCurve, LossKind, LossPoint, PowerPoint,
    PowerRating,
};
use crate::line::loss_law::LossLaw;

/// The five tables as texts.
pub(super) struct Texts {
    pub(super) types: &'static str,
    pub(super) attenuation: &'static str,
    pub(super) loss: &'static str,
    pub(super) power: &'static str,
    pub(super) sources: &'static str,
}

impl Texts {
    pub(super) const BUILT_IN: Self = Self {
        types: include_str!("../../data/catalogue/types.csv"),
        attenuation: include_str!("../../data/catalogue/attenuation.csv"),
        loss: include_str!("../../data/catalogue/loss.csv"),
        power: include_str!("../../data/catalogue/power.csv"),
        sources: include_str!("../../data/catalogue/sources.csv"),
    };
}

const MM: f64 = 1e-3;
const MHZ: f64 = 1e6;
const PF: f64 = 1e-12;

#[derive(Deserialize)]
struct TypeRow {
    designation: String,
    aliases: String,
    spec_no: String,
    class: String,
    z0_ohm: f64,
    z0_src: String,
    z0_tol_ohm: Option<f64>,
    z0_tol_src: String,
    vf: f64,
    vf_src: String,
    vf_lo: f64,
    vf_hi: f64,
    c_pf_m: Option<f64>,
    c_src: String,
    inner_d_mm: Option<f64>,
    inner_strands: Option<u32>,
    inner_material: String,
    inner_src: String,
    dielectric: String,
    dielectric_d_mm: Option<f64>,
    dielectric_src: String,
    shield: String,
    jacket_d_mm: Option<f64>,
    jacket_src: String,
    v_rms_max: Option<f64>,
    v_src: String,
    notes: String,
}

#[derive(Deserialize)]
struct AttenuationRow {
    designation: String,
    freq_mhz: f64,
    db_per_100m: f64,
    kind: String,
    source: String,
}

#[derive(Deserialize)]
struct LawRow {
    designation: String,
    f_min_mhz: f64,
    f_max_mhz: f64,
    k1: f64,
    k2: f64,
    worst_pct: f64,
    kind: String,
    source: String,
}

#[derive(Deserialize)]
struct PowerRow {
    designation: String,
    freq_mhz: f64,
    average_w: f64,
    ambient_c: Option<f64>,
    source: String,
}

#[derive(Deserialize)]
struct SourceRow {
    id: String,
    document: String,
}

/// What the tables hold.
#[derive(Debug)]
pub(super) struct Contents {
    /// All types.
    pub(super) types: Vec<CableType>,
    /// Documents by their ids.
    pub(super) sources: Vec<(String, String)>,
}

/// All types of the tables.
pub(super) fn read(texts: &Texts) -> Result<Contents, CatalogueError> {
    let mut curves: HashMap<String, LossCurve> = HashMap::new();
    let attenuation = rows::<AttenuationRow>("attenuation.csv", texts.attenuation)?;
    for (designation, points) in by_designation(attenuation, |r| r.designation.clone()) {
        let points = points.into_iter().map(point).collect();
        curves.insert(designation, LossCurve::of_points(points));
    }
    for row in rows::<LawRow>("loss.csv", texts.loss)? {
        curves.entry(row.designation.clone()).or_default().law = Some(law(&row));
    }
    let power = rows::<PowerRow>("power.csv", texts.power)?;
    let mut ratings: HashMap<String, PowerRating> =
        by_designation(power, |r| r.designation.clone())
            .into_iter()
            .filter_map(|(designation, rows)| {
                let points = rows.into_iter().map(power_point).collect();
                PowerRating::of_points(points).map(|rating| (designation, rating))
            })
            .collect();
    let mut types = Vec::new();
    for row in rows::<TypeRow>("types.csv", texts.types)? {
        let loss = curves.remove(&row.designation).unwrap_or_default();
        let power = ratings.remove(&row.designation);
        types.push(cable_type(row, loss, power)?);
    }
    let sources = rows::<SourceRow>("sources.csv", texts.sources)?;
    Ok(Contents {
        types,
        sources: sources.into_iter().map(|r| (r.id, r.document)).collect(),
    })
}

fn rows<T: DeserializeOwned>(table: &'static str, text: &str) -> Result<Vec<T>, CatalogueError> {
    csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .collect::<Result<_, _>>()
        .map_err(|source| CatalogueError::Table { table, source })
}

fn by_designation<T>(rows: Vec<T>, name: impl Fn(&T) -> String) -> HashMap<String, Vec<T>> {
    let mut sorted: HashMap<String, Vec<T>> = HashMap::new();
    for row in rows {
        sorted.entry(name(&row)).or_default().push(row);
    }
    sorted
}

fn point(row: AttenuationRow) -> LossPoint {
    LossPoint {
        freq_hz: row.freq_mhz * MHZ,
        db_m: row.db_per_100m / 100.0,
        kind: kind(&row.kind),
        source: row.source,
    }
}

fn law(row: &LawRow) -> Law {
    Law {
        curve: LossLaw::of_db_100m_mhz(0.0, row.k1, row.k2),
        band_hz: (row.f_min_mhz * MHZ, row.f_max_mhz * MHZ),
        worst: row.worst_pct / 100.0,
        kind: kind(&row.kind),
        source: row.source.clone(),
    }
}

fn power_point(row: PowerRow) -> PowerPoint {
    PowerPoint {
        freq_hz: row.freq_mhz * MHZ,
        average_w: row.average_w,
        ambient_c: row.ambient_c,
        source: row.source,
    }
}

fn kind(text: &str) -> LossKind {
    match text {
        "max" => LossKind::Maximum,
        "measured" => LossKind::Measured,
        _ => LossKind::Nominal,
    }
}

fn cable_type(
    row: TypeRow,
    loss: LossCurve,
    power: Option<PowerRating>,
) -> Result<CableType, CatalogueError> {
    let wrong = |what: String| CatalogueError::Row {
        table: "types.csv",
        designation: row.designation.clone(),
        what,
    };
    if row.z0_ohm <= 0.0 || !(0.0..=1.0).contains(&row.vf) {
        return Err(wrong(format!(
            "impedance {} ohm, velocity factor {}",
            row.z0_ohm, row.vf
        )));
    }
    let filling = filling(&row.dielectric)
        .ok_or_else(|| wrong(format!("dielectric `{}` is not known", row.dielectric)))?;
    let optional =
        |value: Option<f64>, scale: f64, source: &str| value.map(|v| figure(v * scale, source));
    Ok(CableType {
        aliases: list(&row.aliases),
        spec: (!row.spec_no.is_empty()).then_some(row.spec_no),
        is_class: row.class == "generic class",
        class: row.class,
        z0_ohm: figure(row.z0_ohm, &row.z0_src),
        z0_tolerance_ohm: optional(row.z0_tol_ohm, 1.0, &row.z0_tol_src),
        velocity_factor: figure(row.vf, &row.vf_src),
        velocity_range: (row.vf_lo, row.vf_hi),
        capacitance_f_m: optional(row.c_pf_m, PF, &row.c_src),
        inner_diameter_m: optional(row.inner_d_mm, MM, &row.inner_src),
        strands: row.inner_strands,
        inner_material: row.inner_material,
        filling,
        dielectric_diameter_m: optional(row.dielectric_d_mm, MM, &row.dielectric_src),
        shield: row.shield,
        jacket_diameter_m: optional(row.jacket_d_mm, MM, &row.jacket_src),
        voltage_v: optional(row.v_rms_max, 1.0, &row.v_src),
        loss,
        power,
        notes: row.notes,
        designation: row.designation,
    })
}

fn figure(value: f64, source: &str) -> Figure {
    Figure {
        value,
        source: source.to_owned(),
    }
}

fn list(text: &str) -> Vec<String> {
    text.split(',')
        .map(str::trim)
        .filter(|name| !name.is_empty())
        .map(str::to_owned)
        .collect()
}

/// The dielectric by the word that the tables and a person's own file use.
pub(super) fn filling(text: &str) -> Option<Filling> {
    let text = text.to_lowercase();
    let has = |word: &str| text.contains(word);
    if has("ptfe") {
        Some(Filling::Ptfe)
    } else if has("air") {
        Some(Filling::AirSpaced)
    } else if has("foam") {
        Some(Filling::FoamedPolyethylene)
    } else if has("pe") || has("polyethylene") {
        Some(Filling::SolidPolyethylene)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_that_is_wrong_says_where() {
        let texts = Texts {
            types: "designation,aliases\nx,y\n",
            ..Texts::BUILT_IN
        };
        let error = read(&texts).unwrap_err().to_string();
        assert!(error.starts_with("types.csv: "), "{error}");
    }
}
