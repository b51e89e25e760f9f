//! What the interactive charts show, as columns of numbers; the server's own pictures show the same.

use lineproof_core::constants::SPEED_OF_LIGHT_M_S;
use lineproof_core::quantity::Units;
use serde::Serialize;
use utoipa::ToSchema;

use crate::finding::Finding;
use crate::questions::assay::sessions::run::Done;
use crate::workflow::pictures::{self, Shown};

/// Data of all charts of an assay.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Charts {
    /// Reflections on a Smith chart.
    pub smith: SmithData,
    /// Impedance along the cable; absent without a length.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub profile: Option<ProfileData>,
    /// Events, in the order of the finding.
    pub events: Vec<EventData>,
    /// Loss of the piece.
    pub loss: LossData,
    /// Curves of the catalogue for a piece as long.
    pub catalogue: Vec<CurveData>,
}

/// A Smith chart.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SmithData {
    /// What it is normalised to, ohm.
    pub z_ref_ohm: f64,
    /// Circles of the grid.
    pub grid: Vec<Line>,
    /// Total reflection.
    pub rim: Line,
    /// Texts of the grid, ohm.
    pub labels: Vec<Label>,
    /// Sweeps.
    pub sweeps: Vec<SweepData>,
    /// Points that methods read.
    pub marks: Vec<Label>,
}

/// A line in the plane of Γ.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Line {
    /// Real parts.
    pub re: Vec<f64>,
    /// Imaginary parts.
    pub im: Vec<f64>,
}

/// A text at a point of the plane of Γ.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Label {
    /// The text.
    pub text: String,
    /// Real part.
    pub re: f64,
    /// Imaginary part.
    pub im: f64,
}

/// One sweep.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SweepData {
    /// What ended the cable.
    pub far_end: String,
    /// Frequencies, Hz.
    pub freq_hz: Vec<f64>,
    /// Real part of the reflection.
    pub re: Vec<f64>,
    /// Imaginary part.
    pub im: Vec<f64>,
}

/// Impedance along the cable.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ProfileData {
    /// Distances from the near end, m.
    pub at_m: Vec<f64>,
    /// Impedance there, ohm.
    pub ohm: Vec<f64>,
    /// 95 % half-width, ohm.
    pub u95_ohm: Vec<f64>,
}

/// An event.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct EventData {
    /// What it is.
    pub kind: String,
    /// Distance from the near end, m; absent if the length that would say so can't be believed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_m: Option<f64>,
    /// 95 % half-width, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_m: Option<f64>,
    /// Step of frequency in which what it sends back goes once round, Hz: it has no point on a picture
    /// against frequency, but this period.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ripple_hz: Option<f64>,
}

/// Loss of the piece.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct LossData {
    /// Frequencies, Hz.
    pub at_hz: Vec<f64>,
    /// Loss, dB.
    pub db: Vec<f64>,
    /// 95 % half-width, dB.
    pub u95_db: Vec<f64>,
}

/// A curve against frequency.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CurveData {
    /// Its name.
    pub name: String,
    /// Frequencies, Hz.
    pub at_hz: Vec<f64>,
    /// Values, dB.
    pub db: Vec<f64>,
}

impl Charts {
    /// The charts of an assay that is done.
    pub fn of(done: &Done, finding: &Finding) -> Self {
        let loss = pictures::loss(finding);
        let profile = pictures::profile(finding, Units::Metres).map(|picture| {
            let column = |of: fn(&lineproof_draw::ProfilePoint) -> f64| {
                picture.points.iter().map(of).collect()
            };
            ProfileData {
                at_m: column(|p| p.at),
                ohm: column(|p| p.ohm),
                u95_ohm: column(|p| p.u95_ohm),
            }
        });
        let events = finding.events.iter().map(|event| EventData {
            kind: event.kind.name().to_owned(),
            at_m: event.at_m,
            u95_m: event.u95_m,
            ripple_hz: event.at_m.and_then(|at_m| ripple_hz(finding, at_m)),
        });
        Self {
            smith: smith(done, finding),
            profile,
            events: events.collect(),
            loss: LossData {
                at_hz: loss.found.iter().map(|row| row.0).collect(),
                db: loss.found.iter().map(|row| row.1).collect(),
                u95_db: loss.found.iter().map(|row| row.2).collect(),
            },
            catalogue: loss.others.into_iter().map(curve).collect(),
        }
    }
}

/// There and back takes the time in which the phase goes once round.
fn ripple_hz(finding: &Finding, at_m: f64) -> Option<f64> {
    let velocity_factor = finding.velocity_factor.filter(|_| at_m > 0.0)?.ratio;
    Some(velocity_factor * SPEED_OF_LIGHT_M_S / (2.0 * at_m))
}

fn smith(done: &Done, finding: &Finding) -> SmithData {
    let picture = pictures::smith(&done.sweeps, finding);
    let grid = lineproof_draw::smith_grid(picture.z_ref_ohm);
    let label = |(text, (re, im)): (String, (f64, f64))| Label { text, re, im };
    let marks = picture.marks.into_iter();
    SmithData {
        z_ref_ohm: picture.z_ref_ohm,
        grid: grid.lines.iter().map(|points| line(points)).collect(),
        rim: line(&grid.rim),
        labels: grid.labels.into_iter().map(label).collect(),
        sweeps: done.sweeps.iter().map(sweep).collect(),
        marks: marks
            .map(|m| label((m.name, (m.reflection.re, m.reflection.im))))
            .collect(),
    }
}

fn line(points: &[(f64, f64)]) -> Line {
    Line {
        re: points.iter().map(|p| p.0).collect(),
        im: points.iter().map(|p| p.1).collect(),
    }
}

fn sweep(shown: &Shown) -> SweepData {
    SweepData {
        far_end: shown.far_end.clone(),
        freq_hz: shown.freq_hz().to_vec(),
        re: shown.reflection().iter().map(|g| g.re).collect(),
        im: shown.reflection().iter().map(|g| g.im).collect(),
    }
}

fn curve(curve: lineproof_draw::Curve) -> CurveData {
    CurveData {
        name: curve.name,
        at_hz: curve.points.iter().map(|p| p.0).collect(),
        db: curve.points.iter().map(|p| p.1).collect(),
    }
}
