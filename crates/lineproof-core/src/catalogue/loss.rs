//! Attenuation of a type against frequency: a law where one holds, points where none does.

use thiserror::Error;

use crate::line::loss_law::LossLaw;
use crate::quantity::format_frequency;
use crate::uncertain::Uncertain;

/// What a figure of attenuation is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LossKind {
    /// Typical of the type.
    Nominal,
    /// Upper limit.
    Maximum,
    /// Of one sample.
    Measured,
}

/// One printed attenuation.
#[derive(Clone, Debug, PartialEq)]
pub struct LossPoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Attenuation, dB/m.
    pub db_m: f64,
    /// What it is.
    pub kind: LossKind,
    /// Id of its source.
    pub source: String,
}

/// Law of attenuation with the band that it holds in.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Law {
    pub(super) curve: LossLaw,
    pub(super) band_hz: (f64, f64),
    /// Largest deviation from its points, relative.
    pub(super) worst: f64,
    pub(super) kind: LossKind,
    pub(super) source: String,
}

/// Attenuation of a type.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LossCurve {
    pub(super) law: Option<Law>,
    /// By rising frequency.
    pub(super) points: Vec<LossPoint>,
}

/// A frequency that the catalogue's figures do not reach.
#[derive(Clone, Debug, Error, PartialEq)]
#[error("{}", self.text())]
pub struct OutOfData {
    /// Frequency asked for, Hz.
    pub freq_hz: f64,
    /// Frequencies with figures, Hz; absent if there are none at all.
    pub known_hz: Option<(f64, f64)>,
}

impl OutOfData {
    fn text(&self) -> String {
        let at = format_frequency(self.freq_hz);
        match self.known_hz {
            Some((low, high)) => format!(
                "the loss at {at} lies beyond the catalogue's figures: they reach from {} to {}",
                format_frequency(low),
                format_frequency(high)
            ),
            None => format!("the catalogue has no loss for this type at {at}"),
        }
    }
}

/// Spread of the conductors' loss between pieces and makers of one designation, k = 1. Nominal
/// values of one RG number lie within ±10 % at 100 to 400 MHz (comparison of eleven tables and
/// sheets, `data/catalogue`).
pub const CONDUCTOR_SPREAD: f64 = 0.05;
/// The same of the dielectric's loss: the values at 1 GHz lie within ±20 %.
pub const DIELECTRIC_SPREAD: f64 = 0.15;
/// How far a sheet's typical values lie below its limits: makers print 10 % (H155, H1000), military
/// limits are 15 to 25 % above typical; k = 1 of that.
const LIMIT_OVER_TYPICAL: (f64, f64) = (1.15, 0.05);

impl LossCurve {
    /// From printed points alone.
    pub(super) fn of_points(mut points: Vec<LossPoint>) -> Self {
        points.sort_by(|a, b| a.freq_hz.total_cmp(&b.freq_hz));
        Self { law: None, points }
    }

    /// The printed points, by rising frequency.
    pub fn points(&self) -> &[LossPoint] {
        &self.points
    }

    /// The law with the band that it holds in, Hz.
    pub fn law(&self) -> Option<(LossLaw, (f64, f64))> {
        self.law.as_ref().map(|l| (l.curve, l.band_hz))
    }

    /// Id of the source of the law, else of the first point.
    pub fn source(&self) -> Option<&str> {
        let point = || self.points.first().map(|p| p.source.as_str());
        self.law.as_ref().map(|l| l.source.as_str()).or_else(point)
    }

    /// Whether the figures are upper limits.
    pub fn is_limit(&self) -> bool {
        let kind = self.law.as_ref().map(|l| l.kind);
        kind.or_else(|| self.points.first().map(|p| p.kind)) == Some(LossKind::Maximum)
    }

    /// Frequencies with figures, Hz.
    pub fn known_hz(&self) -> Option<(f64, f64)> {
        let law = self.law.iter().map(|l| l.band_hz);
        let points = self.points.iter().map(|p| (p.freq_hz, p.freq_hz));
        law.chain(points)
            .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    }

    /// Attenuation as printed, dB/m: by the law in its band, between points outside of it.
    ///
    /// # Errors
    /// [`OutOfData`] beyond the figures.
    pub fn printed_db_m(&self, freq_hz: f64) -> Result<f64, OutOfData> {
        if let Some(law) = &self.law
            && (law.band_hz.0..=law.band_hz.1).contains(&freq_hz)
        {
            return Ok(law.curve.db_m(freq_hz));
        }
        // Sheets of one designation differ by more than a law bends: its own points first.
        let own = self
            .law
            .as_ref()
            .and_then(|l| self.between_points(freq_hz, Some(&l.source)));
        own.or_else(|| self.between_points(freq_hz, None))
            .ok_or_else(|| OutOfData {
                freq_hz,
                known_hz: self.known_hz(),
            })
    }

    /// Attenuation of a typical piece, dB/m, with the spread between pieces and makers.
    ///
    /// # Errors
    /// [`OutOfData`] beyond the figures.
    pub fn typical_db_m(&self, freq_hz: f64) -> Result<Uncertain, OutOfData> {
        let printed = self.printed_db_m(freq_hz)?;
        let share = self.dielectric_share(freq_hz);
        let law = self.law.as_ref().map_or(0.05, |l| 0.5 * l.worst);
        let mut spread = ((1.0 - share) * CONDUCTOR_SPREAD)
            .hypot(share * DIELECTRIC_SPREAD)
            .hypot(law.min(0.05));
        let mut typical = printed;
        if self.is_limit() {
            typical /= LIMIT_OVER_TYPICAL.0;
            spread = spread.hypot(LIMIT_OVER_TYPICAL.1);
        }
        Ok(Uncertain::new(typical, spread * typical))
    }

    /// Part of the loss at `freq_hz` that the dielectric causes, by the law; zero without one.
    pub fn dielectric_share(&self, freq_hz: f64) -> f64 {
        self.law.as_ref().map_or(0.0, |l| {
            l.curve.k2_db_m_hz * freq_hz / l.curve.db_m(freq_hz)
        })
    }

    /// Straight in logarithms between the neighbours; several figures of one frequency count as
    /// their geometric mean. Of one source only, if it is named.
    fn between_points(&self, freq_hz: f64, source: Option<&str>) -> Option<f64> {
        let mut merged: Vec<(f64, Vec<f64>)> = Vec::new();
        for p in self
            .points
            .iter()
            .filter(|p| source.is_none_or(|s| s == p.source))
        {
            match merged.last_mut() {
                Some((f, values)) if *f == p.freq_hz => values.push(p.db_m.ln()),
                _ => merged.push((p.freq_hz, vec![p.db_m.ln()])),
            }
        }
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
        let above = merged.iter().position(|(f, _)| *f >= freq_hz)?;
        let (high_hz, high) = &merged[above];
        if *high_hz == freq_hz {
            return Some(mean(high).exp());
        }
        let (low_hz, low) = merged.get(above.checked_sub(1)?)?;
        let t = (freq_hz / low_hz).ln() / (high_hz / low_hz).ln();
        Some((mean(low) * (1.0 - t) + mean(high) * t).exp())
    }
}

#[cfg(test)]
mod tests {
    use crate::catalogue::Catalogue;

    /// The law may miss a printed point by the deviation that its row states, no more.
    #[test]
    fn laws_meet_their_points() {
        for t in Catalogue::built_in().types() {
            let Some(law) = &t.loss.law else { continue };
            let own = t.loss.points.iter().filter(|p| {
                p.source == law.source && (law.band_hz.0..=law.band_hz.1).contains(&p.freq_hz)
            });
            for p in own.filter(|p| p.kind == law.kind) {
                let off = (law.curve.db_m(p.freq_hz) / p.db_m - 1.0).abs();
                // RG-142B/U at 400 MHz: suspect at its source, left out of the fit.
                assert!(
                    off < 1.3 * law.worst + 0.03 || t.designation == "RG-142B/U",
                    "{} at {} Hz: {off}, stated {}",
                    t.designation,
                    p.freq_hz,
                    law.worst
                );
            }
        }
    }

    #[test]
    fn beyond_the_figures_there_is_none() {
        let t = Catalogue::built_in().find("RG-213").unwrap();
        let error = t.loss.printed_db_m(30e9).unwrap_err();
        assert!(
            error.to_string().contains("they reach from 1 MHz to 4 GHz"),
            "{error}"
        );
        // Below the law's band the points carry on: steel and thin foil do not follow √f.
        assert!(t.loss.printed_db_m(2e6).is_ok());
    }
}
