//! A cable of which impedance, delay and loss are known: a type of the catalogue, or a piece by its finding.
//!
//! It answers what later questions ask at any frequency and for any length: a run ([`KnownCable::line`]), a
//! metre to cut from ([`KnownCable::to_cut`]). A piece has the fitted law of its finding, straight in the
//! logarithm of frequency between two rows; a finding without a law has its rows of loss, with k1√f + k2·f
//! through them. Beyond the sweeps the interval grows in proportion to how far, and a loss ends at a
//! factor of four. [`two_port_file`] writes a run as Touchstone, [`removed`] takes it off a sweep of what is behind it.

mod faults;
mod line_file;

use crate::catalogue::{CableType, OutOfData};
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::finding::{Finding, LawRow, from_u95};
use crate::fitness::Line;
use crate::line::loss_law::{self, LossLaw, Terms};
use crate::quantity::format_frequency;
use crate::sections::Cable;
use crate::uncertain::{Uncertain, propagate};
use thiserror::Error;

pub use faults::Faults;
pub use line_file::{
    BehindRow, LineFileError, Removed, TwoPortAsked, TwoPortFile, far_end_file, removed,
    two_port_file,
};

/// A cable of which impedance, delay and loss are known.
///
/// Law and metre are of the sound cable; a piece with a fault has what that costs beside them ([`Faults`]).
#[derive(Clone, Debug)]
pub struct KnownCable {
    /// How a sentence calls it.
    pub name: String,
    /// Characteristic impedance, ohm.
    pub z0_ohm: Uncertain,
    /// Impedance that such cable is sold as, ohm.
    pub nominal_ohm: f64,
    /// One-way delay of the piece that was assayed, s.
    pub piece_delay_s: Option<Uncertain>,
    /// Length of that piece, m.
    pub piece_m: Option<Uncertain>,
    /// Velocity factor; of an assayed piece only with its length.
    pub velocity_factor: Option<Uncertain>,
    /// Type whose ratings hold, if any.
    pub rated_as: Option<CableType>,
    /// Faults of the piece that was assayed.
    pub faults: Option<Faults>,
    loss: Loss,
    /// The fitted law of the piece that was assayed, by rising frequency; empty if it is not known.
    law: Vec<LawPoint>,
}

/// The piece at one frequency.
#[derive(Clone, Copy, Debug)]
struct LawPoint {
    freq_hz: f64,
    z0_ohm: Uncertain,
    delay_s: Uncertain,
    loss_db: Uncertain,
    dielectric_part: f64,
}

impl From<LawPoint> for Line {
    fn from(point: LawPoint) -> Self {
        Self {
            z0_ohm: point.z0_ohm,
            one_way_delay_s: point.delay_s,
            loss_db: point.loss_db,
            dielectric_share: point.dielectric_part,
        }
    }
}

#[derive(Clone, Debug)]
enum Loss {
    /// Of a metre, by the catalogue.
    Catalogue(Box<CableType>),
    /// Of the piece, by rising frequency, and the law through the rows.
    Piece {
        rows: Vec<(f64, Uncertain)>,
        law: Option<LossLaw>,
        dielectric_share: f64,
    },
}

/// Why a cable is not known well enough.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum CableError {
    /// A value that is no finding.
    #[error("not a finding of an assay")]
    NotFinding,
    /// A finding that does not determine its cable.
    #[error("the finding has no {0}; its warnings say why")]
    Absent(&'static str),
    /// A length is needed and not known.
    #[error("the length of the assayed piece is not known, so another length cannot be computed")]
    NoLength,
    /// A catalogue type has no length of its own.
    #[error("a type has no length of its own")]
    NoRun,
    /// A piece with a fault, of which nothing is known to get through.
    #[error("the piece has a fault ({0}), and what gets through it is not known")]
    Faulty(String),
    /// A fault whose cost is not known at this frequency.
    #[error("the piece has a fault ({fault}), and what it costs at {at} is not known",
        at = format_frequency(*.freq_hz))]
    FaultBeyond {
        /// The fault in words.
        fault: String,
        /// Frequency asked for, Hz.
        freq_hz: f64,
    },
    /// No loss at this frequency.
    #[error(transparent)]
    Loss(#[from] OutOfData),
    /// No measured loss near this frequency.
    #[error(
        "{at} lies too far beyond the measured range, {low} to {high}: sweep again to that \
         frequency", at = format_frequency(*.freq_hz), low = format_frequency(*.low_hz),
        high = format_frequency(*.high_hz)
    )]
    Unmeasured {
        /// Frequency asked for, Hz.
        freq_hz: f64,
        /// Lowest frequency with a loss, Hz.
        low_hz: f64,
        /// Highest, Hz.
        high_hz: f64,
    },
}

/// How far beyond the measured frequencies a loss is carried on, as a ratio.
const FARTHEST: f64 = 4.0;

impl KnownCable {
    /// From the catalogue: impedance and velocity factor with the spread between pieces.
    pub fn of_type(t: &CableType) -> Self {
        Self {
            name: t.designation.clone(),
            z0_ohm: Uncertain::new(t.z0_ohm.value, t.z0_spread_ohm()),
            nominal_ohm: t.z0_ohm.value,
            piece_delay_s: None,
            piece_m: None,
            velocity_factor: Some(Uncertain::new(t.velocity_factor.value, t.velocity_spread())),
            rated_as: Some(t.clone()),
            faults: None,
            loss: Loss::Catalogue(Box::new(t.clone())),
            law: Vec::new(),
        }
    }

    /// From a finding.
    ///
    /// # Errors
    /// [`CableError`] if it is none, or lacks impedance, delay or loss.
    pub fn of_finding(finding: &Finding, name: &str) -> Result<Self, CableError> {
        if finding.schema == 0 {
            return Err(CableError::NotFinding);
        }
        let impedance = finding.impedance.ok_or(CableError::Absent("impedance"))?;
        let z0_ohm = impedance.uncertain();
        let delay = finding.delay.ok_or(CableError::Absent("delay"))?;
        let law_points = law_points(&finding.law);
        let rows = if law_points.is_empty() {
            loss_rows(finding)
        } else {
            law_points.iter().map(|p| (p.freq_hz, p.loss_db)).collect()
        };
        if rows.is_empty() {
            return Err(CableError::Absent("loss"));
        }
        let parts = finding.loss_parts.as_ref();
        let parts = parts.and_then(|p| p.dielectric_db.zip(p.conductor_db));
        let velocity_factor = finding.velocity_factor;
        Ok(Self {
            name: name.to_owned(),
            z0_ohm,
            nominal_ohm: nominal(z0_ohm.value),
            piece_delay_s: Some(delay.of_cable()),
            piece_m: finding.length.map(|l| from_u95(l.m, l.u95_m)),
            velocity_factor: velocity_factor.map(|v| from_u95(v.ratio, v.u95)),
            rated_as: None,
            faults: Faults::of(finding, |freq_hz| at(&law_points, freq_hz).map(Line::from)),
            loss: Loss::Piece {
                law: law(&rows),
                rows,
                dielectric_share: parts.map_or(0.1, |(d, c)| (d / (d + c)).clamp(0.0, 1.0)),
            },
            law: law_points,
        })
    }

    /// A run at `freq_hz`, the piece itself if no length is given: then as it lies, with what its faults cost. A run of
    /// another length is of the sound cable.
    ///
    /// # Errors
    /// [`CableError`] if length or loss are not known.
    pub fn line(&self, freq_hz: f64, run_m: Option<f64>) -> Result<Line, CableError> {
        let point = self.law_at(freq_hz);
        let piece_delay_s = point.map(|p| p.delay_s).or(self.piece_delay_s);
        let (one_way_delay_s, loss_db) = match run_m {
            Some(run_m) => (
                self.metre_of(piece_delay_s)?.scaled(run_m),
                self.loss_db_per_m(freq_hz)?.scaled(run_m),
            ),
            None => (
                piece_delay_s.ok_or(CableError::NoRun)?,
                self.piece_as_it_lies_db(freq_hz)?,
            ),
        };
        Ok(Line {
            z0_ohm: point.map_or(self.z0_ohm, |p| p.z0_ohm),
            one_way_delay_s,
            loss_db,
            dielectric_share: self.dielectric_share(freq_hz),
        })
    }

    /// Loss of the piece with what its faults cost.
    fn piece_as_it_lies_db(&self, freq_hz: f64) -> Result<Uncertain, CableError> {
        let sound = self.piece_loss_db(freq_hz)?;
        let Some(faults) = &self.faults else {
            return Ok(sound);
        };
        if !faults.let_through() {
            return Err(CableError::Faulty(faults.text.clone()));
        }
        let beyond = || CableError::FaultBeyond {
            fault: faults.text.clone(),
            freq_hz,
        };
        let cost = faults.cost_db(freq_hz).ok_or_else(beyond)?;
        Ok(Uncertain::new(
            sound.value + cost.value,
            sound.u.hypot(cost.u),
        ))
    }

    /// The cable as pieces are cut from it; the loss is zero where it is not known.
    ///
    /// # Errors
    /// [`CableError::NoLength`].
    pub fn to_cut(&self, freq_hz: f64) -> Result<Cable, CableError> {
        let point = self.law_at(freq_hz);
        Ok(Cable {
            z0_ohm: point.map_or(self.z0_ohm, |p| p.z0_ohm),
            delay_s_per_m: self.metre_of(point.map(|p| p.delay_s).or(self.piece_delay_s))?,
            loss_db_per_m: self.loss_db_per_m(freq_hz).map_or(0.0, |l| l.value),
        })
    }

    /// One-way delay of a metre, s/m.
    ///
    /// # Errors
    /// [`CableError::NoLength`].
    pub fn delay_s_per_m(&self) -> Result<Uncertain, CableError> {
        self.metre_of(self.piece_delay_s)
    }

    fn metre_of(&self, piece_delay_s: Option<Uncertain>) -> Result<Uncertain, CableError> {
        match (piece_delay_s, self.piece_m, self.velocity_factor) {
            (Some(delay), Some(length), _) => Ok(propagate([delay, length], |[d, l]| d / l)),
            (None, _, Some(vf)) => Ok(propagate([vf], |[v]| 1.0 / (v * SPEED_OF_LIGHT_M_S))),
            _ => Err(CableError::NoLength),
        }
    }

    /// Loss of a metre at `freq_hz`, dB/m.
    ///
    /// # Errors
    /// [`CableError`] if length or loss are not known.
    pub fn loss_db_per_m(&self, freq_hz: f64) -> Result<Uncertain, CableError> {
        match &self.loss {
            Loss::Catalogue(t) => Ok(t.loss.typical_db_m(freq_hz)?),
            Loss::Piece { .. } => {
                let length = self.piece_m.ok_or(CableError::NoLength)?;
                let piece = self.piece_loss_db(freq_hz)?;
                Ok(propagate([piece, length], |[db, m]| db / m))
            }
        }
    }

    /// Frequencies with a loss, Hz.
    pub fn covered_hz(&self) -> Option<(f64, f64)> {
        match &self.loss {
            Loss::Catalogue(t) => t.loss.known_hz(),
            Loss::Piece { rows, .. } => Some((rows.first()?.0, rows.last()?.0)),
        }
    }

    fn law_at(&self, freq_hz: f64) -> Option<LawPoint> {
        at(&self.law, freq_hz)
    }

    /// Part of the loss at `freq_hz` that the dielectric causes, 0 to 1.
    pub fn dielectric_share(&self, freq_hz: f64) -> f64 {
        if let Some(point) = self.law_at(freq_hz) {
            return point.dielectric_part;
        }
        match &self.loss {
            Loss::Catalogue(t) => t.loss.dielectric_share(freq_hz),
            Loss::Piece {
                dielectric_share, ..
            } => *dielectric_share,
        }
    }

    /// Loss of the piece: a row, between two rows straight in logarithms, or near them by the law
    /// with an interval that grows.
    fn piece_loss_db(&self, freq_hz: f64) -> Result<Uncertain, CableError> {
        let Loss::Piece { rows, law, .. } = &self.loss else {
            return Err(CableError::NoRun);
        };
        let (first, last) = (rows[0], rows[rows.len() - 1]);
        if (first.0..=last.0).contains(&freq_hz) {
            return Ok(between(rows, freq_hz));
        }
        let nearest = if freq_hz < first.0 { first } else { last };
        let ratio = (freq_hz / nearest.0).max(nearest.0 / freq_hz);
        let unmeasured = CableError::Unmeasured {
            freq_hz,
            low_hz: first.0,
            high_hz: last.0,
        };
        let law = law.filter(|_| ratio <= FARTHEST).ok_or(unmeasured)?;
        let value = nearest.1.value * law.db_m(freq_hz) / law.db_m(nearest.0);
        Ok(Uncertain::new(value, value * nearest.1.relative() * ratio))
    }
}

/// The fitted law at `freq_hz`: between two rows straight in the logarithm of frequency; beyond
/// them the nearest, with an interval that grows.
fn at(law: &[LawPoint], freq_hz: f64) -> Option<LawPoint> {
    let (first, last) = (law.first()?, law.last()?);
    if !(first.freq_hz..=last.freq_hz).contains(&freq_hz) {
        let nearest = if freq_hz < first.freq_hz { first } else { last };
        let ratio = (freq_hz / nearest.freq_hz).max(nearest.freq_hz / freq_hz);
        let wider = |q: Uncertain| Uncertain::new(q.value, q.u * ratio);
        return Some(LawPoint {
            freq_hz,
            z0_ohm: wider(nearest.z0_ohm),
            delay_s: wider(nearest.delay_s),
            ..*nearest
        });
    }
    let above = law.iter().position(|p| p.freq_hz >= freq_hz)?;
    let (high, low) = (law[above], law[above.saturating_sub(1)]);
    if high.freq_hz <= freq_hz {
        return Some(high);
    }
    let t = (freq_hz / low.freq_hz).ln() / (high.freq_hz / low.freq_hz).ln();
    let mix = |a: f64, b: f64| a * (1.0 - t) + b * t;
    let both = |a: Uncertain, b: Uncertain| Uncertain::new(mix(a.value, b.value), mix(a.u, b.u));
    Some(LawPoint {
        freq_hz,
        z0_ohm: both(low.z0_ohm, high.z0_ohm),
        delay_s: both(low.delay_s, high.delay_s),
        loss_db: both(low.loss_db, high.loss_db),
        dielectric_part: mix(low.dielectric_part, high.dielectric_part),
    })
}

/// Impedances that cable is sold as, ohm.
const SOLD_OHM: [f64; 4] = [50.0, 75.0, 93.0, 125.0];

/// The impedance that a found one is meant to be, if it is near one; else itself.
fn nominal(z0_ohm: f64) -> f64 {
    let near = |sold: &&f64| (z0_ohm / **sold - 1.0).abs() < 0.1;
    SOLD_OHM.iter().find(near).copied().unwrap_or(z0_ohm)
}

/// Rows of loss that show, by rising frequency.
fn loss_rows(finding: &Finding) -> Vec<(f64, Uncertain)> {
    let rows = finding.loss.iter().map(|row| (row.at_hz, row.uncertain()));
    let mut rows: Vec<_> = rows
        .filter(|(f, loss)| *f > 0.0 && loss.value > 0.0)
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    rows
}

/// The fitted law by rising frequency.
fn law_points(rows: &[LawRow]) -> Vec<LawPoint> {
    let point = |row: &LawRow| LawPoint {
        freq_hz: row.at_hz,
        z0_ohm: from_u95(row.ohm, row.u95_ohm),
        delay_s: from_u95(row.one_way_s, row.u95_s),
        loss_db: from_u95(row.db, row.u95_db),
        dielectric_part: row.dielectric_part,
    };
    let mut points: Vec<LawPoint> = rows.iter().map(point).collect();
    points.sort_by(|a, b| a.freq_hz.total_cmp(&b.freq_hz));
    points
}

fn law(rows: &[(f64, Uncertain)]) -> Option<LossLaw> {
    let points: Vec<(f64, f64)> = rows.iter().map(|(f, l)| (*f, l.value)).collect();
    let terms = if points.len() > 1 {
        Terms::ConductorAndDielectric
    } else {
        Terms::Conductor
    };
    loss_law::fit(&points, terms).ok().map(|fit| fit.law)
}

/// Between two rows, value and uncertainty straight in logarithms; `freq_hz` lies within them.
fn between(rows: &[(f64, Uncertain)], freq_hz: f64) -> Uncertain {
    let above = rows
        .iter()
        .position(|(f, _)| *f >= freq_hz)
        .unwrap_or(rows.len() - 1);
    let (high_hz, high) = rows[above];
    if above == 0 || high_hz <= freq_hz {
        return high;
    }
    let (low_hz, low) = rows[above - 1];
    let t = (freq_hz / low_hz).ln() / (high_hz / low_hz).ln();
    let value = (low.value.ln() * (1.0 - t) + high.value.ln() * t).exp();
    Uncertain::new(
        value,
        value * (low.relative() * (1.0 - t) + high.relative() * t),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::{
        DelayFound, ImpedanceFound, LengthBasis, LengthFound, LimitedBy, LossRow, SCHEMA,
    };

    fn finding() -> Finding {
        let row = |at_hz, db| LossRow {
            at_hz,
            db,
            u95_db: 0.002,
            ..LossRow::default()
        };
        Finding {
            schema: SCHEMA,
            impedance: Some(ImpedanceFound {
                ohm: 73.9,
                u95_ohm: 0.1,
                at_hz: 1e8,
                limited_by: LimitedBy::Load,
            }),
            delay: Some(DelayFound {
                one_way_s: 12.3e-9,
                u95_s: 2e-12,
                at_hz: 3e8,
                between_plugs_s: None,
                u95_between_plugs_s: None,
            }),
            length: Some(LengthFound {
                m: 2.4,
                u95_m: 0.01,
                basis: LengthBasis::Tape,
            }),
            loss: vec![row(1e7, 0.083), row(1e8, 0.263)],
            ..Finding::default()
        }
    }

    #[test]
    fn a_finding_gives_runs_of_any_length() {
        let cable = KnownCable::of_finding(&finding(), "x").unwrap();
        assert_eq!(cable.nominal_ohm, 75.0);
        let line = cable.line(1e8, Some(24.0)).unwrap();
        assert!((line.loss_db.value - 2.63).abs() < 1e-9);
        assert!((line.one_way_delay_s.value - 123e-9).abs() < 1e-15);
        // √10 in frequency is a quarter decade in √f.
        let between = cable.line(10f64.powf(7.5), None).unwrap().loss_db.value;
        assert!((between / (0.083f64 * 0.263).sqrt() - 1.0).abs() < 1e-9);
        let beyond = cable.line(2e8, None).unwrap().loss_db;
        assert!(beyond.relative() > 1.5 * cable.line(1e8, None).unwrap().loss_db.relative());
    }

    #[test]
    fn what_a_finding_lacks_is_named() {
        let error = |f: &Finding| KnownCable::of_finding(f, "x").unwrap_err().to_string();
        assert!(error(&Finding::default()).contains("not a finding"));
        let mut without = finding();
        without.impedance = None;
        assert!(error(&without).contains("no impedance"));
        let mut short = finding();
        short.length = None;
        let cable = KnownCable::of_finding(&short, "x").unwrap();
        assert_eq!(
            cable.line(1e8, Some(3.0)).unwrap_err(),
            CableError::NoLength
        );
        assert!(matches!(
            cable.line(5e9, None),
            Err(CableError::Unmeasured { .. })
        ));
    }
}
