//! From sweeps and finding to what the pictures show.

use lineproof_core::formats::Network;
use lineproof_core::quantity::format_frequency;
use lineproof_draw::{
    Curve, LossPicture, Mark, ProfilePicture, ProfilePoint, SmithMark, SmithPicture, SmithTrace,
};
use num_complex::Complex64;
use serde_json::Value;

use super::catalogue_loss;
use super::load::Loaded;
use crate::kept::Kept;

/// A sweep with what ended the cable, as the finding says.
#[derive(Clone, Debug)]
pub struct Shown {
    /// `open`, `short`, `load` or `through`.
    pub far_end: String,
    freq_hz: Vec<f64>,
    reflection: Vec<Complex64>,
    z_ref_ohm: f64,
}

/// The methods that look at one point of a sweep, with the far end of that sweep.
const MARKED: [(&str, &str); 3] = [
    ("quarter wave", "load"),
    ("eighth wave, open", "open"),
    ("eighth wave, short", "short"),
];

/// The sweeps of a finding, in its order.
pub fn shown(files: &[Loaded], kept: &Kept) -> Vec<Shown> {
    let used = kept.sweeps.iter();
    used.filter_map(|used| {
        let file = files.iter().find(|f| f.label == used.file)?;
        Some(Shown::of(&file.measurement.network, &used.far_end))
    })
    .collect()
}

impl Shown {
    fn of(network: &Network, far_end: &str) -> Self {
        let (freq_hz, reflection, z_ref_ohm) = match network {
            Network::OnePort(sweep) => (sweep.freq_hz(), sweep.reflection(), sweep.z_ref_ohm()),
            Network::TwoPort(through) => (through.freq_hz(), through.s11(), through.z_ref_ohm()),
        };
        Self {
            far_end: far_end.to_owned(),
            freq_hz: freq_hz.to_vec(),
            reflection: reflection.to_vec(),
            z_ref_ohm,
        }
    }

    /// Frequencies, Hz, rising.
    pub fn freq_hz(&self) -> &[f64] {
        &self.freq_hz
    }

    /// Reflection at each of them.
    pub fn reflection(&self) -> &[Complex64] {
        &self.reflection
    }

    /// Reflection at a frequency, on the straight line between its neighbours.
    fn at(&self, freq_hz: f64) -> Option<Complex64> {
        let next = self.freq_hz.iter().position(|&f| f >= freq_hz)?;
        if next == 0 {
            return (self.freq_hz[0] == freq_hz).then(|| self.reflection[0]);
        }
        let (low, high) = (self.freq_hz[next - 1], self.freq_hz[next]);
        let part = (freq_hz - low) / (high - low);
        Some(self.reflection[next - 1] * (1.0 - part) + self.reflection[next] * part)
    }
}

/// Reflections, with the points that methods used.
pub fn smith(shown: &[Shown], kept: &Kept) -> SmithPicture {
    let marks = MARKED.iter().filter_map(|(name, far_end)| {
        let method = kept.methods.iter().find(|m| m.name == *name)?;
        let sweep = shown.iter().find(|s| s.far_end == *far_end)?;
        let (at_hz, _) = (method.at_hz?, method.ohm?);
        Some(SmithMark {
            name: format!("{name}, {}", format_frequency((at_hz / 1e4).round() * 1e4)),
            reflection: sweep.at(at_hz)?,
        })
    });
    SmithPicture {
        z_ref_ohm: shown.first().map_or(50.0, |s| s.z_ref_ohm),
        marks: marks.collect(),
        traces: shown
            .iter()
            .map(|s| SmithTrace {
                name: s.far_end.clone(),
                reflection: s.reflection.clone(),
            })
            .collect(),
    }
}

/// Return loss of every sweep, dB.
pub fn return_loss(shown: &[Shown]) -> Vec<Curve> {
    let curve = |s: &Shown| Curve {
        name: s.far_end.clone(),
        points: s
            .freq_hz
            .iter()
            .zip(&s.reflection)
            .map(|(&f, g)| (f, (-20.0 * g.norm().max(1e-6).log10()).max(0.0)))
            .collect(),
    };
    shown.iter().map(curve).collect()
}

/// The loss that was found.
pub fn loss(kept: &Kept) -> LossPicture {
    LossPicture {
        found: kept
            .loss
            .iter()
            .map(|row| (row.at_hz, row.db, row.u95_db))
            .collect(),
        others: catalogue_loss::curves(kept),
    }
}

/// Impedance along the cable, if the finding has it.
pub fn profile(kept: &Kept) -> Option<ProfilePicture> {
    let profile = kept.profile.as_ref()?;
    let rows = profile["points"].as_array()?;
    let points: Vec<ProfilePoint> = rows.iter().filter_map(point).collect();
    let events = kept.events.iter().filter_map(|event| {
        Some(Mark {
            at: event.at_m?,
            name: event.kind.clone(),
        })
    });
    (points.len() > 1).then(|| ProfilePicture {
        points,
        events: events.collect(),
    })
}

fn point(row: &Value) -> Option<ProfilePoint> {
    Some(ProfilePoint {
        at_m: row["at_m"].as_f64()?,
        ohm: row["ohm"].as_f64()?,
        u95_ohm: row["u95_ohm"].as_f64().unwrap_or(0.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_profile_is_read_with_its_events() {
        let json = r#"{"profile":{"resolution_m":0.2,"points":[{"at_m":0,"ohm":50,"u95_ohm":1},
            {"at_m":1,"ohm":51,"u95_ohm":1}]},"events":[{"kind":"dent","at_m":0.5}]}"#;
        let picture = profile(&Kept::read(json)).unwrap();
        assert_eq!((picture.points[1].at_m, picture.points[1].ohm), (1.0, 51.0));
        assert_eq!(picture.events[0].name, "dent");
        assert!(profile(&Kept::read(r#"{"profile":"later"}"#)).is_none());
    }

    #[test]
    fn reflections_between_points_are_interpolated() {
        let sweep = Shown {
            far_end: "open".to_owned(),
            freq_hz: vec![1e6, 2e6],
            reflection: vec![Complex64::new(1.0, 0.0), Complex64::new(0.0, 1.0)],
            z_ref_ohm: 50.0,
        };
        assert_eq!(sweep.at(1.5e6), Some(Complex64::new(0.5, 0.5)));
        assert_eq!(
            (sweep.at(1e6), sweep.at(3e6)),
            (Some(Complex64::new(1.0, 0.0)), None)
        );
    }
}
