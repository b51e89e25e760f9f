//! From sweeps and finding to what the pictures show.

use lineproof_core::finding::judge::beside::beside;
use lineproof_core::formats::Network;
use lineproof_core::quantity::{Units, format_frequency};
use lineproof_draw::{
    Curve, LossPicture, Mark, ProfilePicture, ProfilePoint, SmithMark, SmithPicture, SmithTrace,
};
use num_complex::Complex64;

use super::load::Loaded;
use crate::finding::{Finding, ProfilePointFound};

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
pub fn shown(files: &[Loaded], finding: &Finding) -> Vec<Shown> {
    let used = finding.sweeps.iter();
    used.filter_map(|used| {
        let file = files.iter().find(|f| f.label == used.file)?;
        Some(Shown::of(&file.measurement.network, &used.far_end))
    })
    .collect()
}

impl Shown {
    /// A sweep under its own name, while nobody knows what ended the cable.
    pub fn unjudged(file: &Loaded) -> Self {
        Self::of(&file.measurement.network, &file.label)
    }

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
pub fn smith(shown: &[Shown], finding: &Finding) -> SmithPicture {
    let marks = MARKED.iter().filter_map(|(name, far_end)| {
        let method = finding.methods.iter().find(|m| m.name == *name)?;
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

/// The loss that was found, and the catalogue's beside it.
pub fn loss(finding: &Finding) -> LossPicture {
    LossPicture {
        found: finding
            .loss
            .iter()
            .map(|row| (row.at_hz, row.db, row.u95_db))
            .collect(),
        others: beside(finding)
            .iter()
            .filter_map(|b| {
                Some(Curve {
                    name: b.name(),
                    points: b.curve(finding)?,
                })
            })
            .collect(),
    }
}

/// Impedance along the cable, if the finding has it.
pub fn profile(finding: &Finding, units: Units) -> Option<ProfilePicture> {
    let found = &finding.profile.as_ref()?.points;
    let events = finding.events.iter().filter_map(|event| {
        Some(Mark {
            at: units.of_m(event.at_m?),
            name: event.kind.name().to_owned(),
        })
    });
    let point = |found: &ProfilePointFound| ProfilePoint {
        at: units.of_m(found.at_m),
        ohm: found.ohm,
        u95_ohm: found.u95_ohm,
    };
    (found.len() > 1).then(|| ProfilePicture {
        unit: units.length(),
        points: found.iter().map(point).collect(),
        events: events.collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stored;

    /// The Belden 8263 sheet behind RG-59B/U prints 11.2 dB/100m at 100 MHz (the type's page in this
    /// program shows it), so 2.4 m have 0.27 dB.
    #[test]
    fn the_catalogue_stands_beside_what_was_found() {
        let finding = stored::finding(
            r#"{"length":{"m":2.4,"u95_m":0.01,"basis":"tape"},"loss":[{"at_hz":1e7,"db":0.08,"u95_db":0.01},
                {"at_hz":1e8,"db":0.26,"u95_db":0.01}],"marking":{"designation":"RG-58C/U","differences":[]},
                "types":[{"designation":"RG-59B/U","probability":0.8},
                {"designation":"none of these","probability":0.2}]}"#,
        );
        let picture = loss(&finding);
        let names: Vec<&str> = picture.others.iter().map(|c| c.name.as_str()).collect();
        assert_eq!(names.len(), 2, "{names:?}");
        assert_eq!(names[0], "typical RG-59B/U (80 %) [B8263]");
        assert!(
            names[1].starts_with("typical RG-58C/U, as marked ["),
            "{names:?}"
        );
        let (freq_hz, db) = *picture.others[0].points.last().unwrap();
        assert!(
            (freq_hz - 1e8).abs() < 1.0 && (db - 0.27).abs() < 0.005,
            "{db}"
        );
        let (id, document) = beside(&finding)[0].document().unwrap();
        assert!(id == "B8263" && document.contains("8263"), "{document}");
        assert!(loss(&Finding::default()).others.is_empty());
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
