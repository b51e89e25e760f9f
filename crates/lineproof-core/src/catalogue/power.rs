//! Average power of a type as its maker prints it.

/// One printed power.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerPoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Average power into a matched line, W.
    pub average_w: f64,
    /// Temperature around the cable that it holds at, °C; absent if the maker does not say.
    pub ambient_c: Option<f64>,
    /// Id of its source.
    pub source: String,
}

/// Average power against frequency.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerRating {
    points: Vec<PowerPoint>,
}

/// Ambient that most makers rate at, °C; taken where a sheet does not say. Common practice: the
/// sheets of the catalogue that say it have 40.
pub const USUAL_AMBIENT_C: f64 = 40.0;

impl PowerRating {
    /// From at least one point; `None` for none.
    pub(super) fn of_points(mut points: Vec<PowerPoint>) -> Option<Self> {
        points.sort_by(|a, b| a.freq_hz.total_cmp(&b.freq_hz));
        (!points.is_empty()).then_some(Self { points })
    }

    /// The printed points, by rising frequency.
    pub fn points(&self) -> &[PowerPoint] {
        &self.points
    }

    /// Ambient of the rating, °C, and whether the maker says so.
    pub fn ambient_c(&self) -> (f64, bool) {
        match self.points.iter().find_map(|p| p.ambient_c) {
            Some(stated) => (stated, true),
            None => (USUAL_AMBIENT_C, false),
        }
    }

    /// Average power at `freq_hz`, W: straight in logarithms between the points. Below the lowest
    /// point its own value (a line carries more there, voltage aside); `None` above the highest.
    pub fn average_w(&self, freq_hz: f64) -> Option<f64> {
        let first = self.points.first()?;
        if freq_hz <= first.freq_hz {
            return Some(first.average_w);
        }
        let above = self.points.iter().position(|p| p.freq_hz >= freq_hz)?;
        let (low, high) = (&self.points[above - 1], &self.points[above]);
        if low.freq_hz == high.freq_hz {
            return Some(low.average_w.min(high.average_w));
        }
        let t = (freq_hz / low.freq_hz).ln() / (high.freq_hz / low.freq_hz).ln();
        Some((low.average_w.ln() * (1.0 - t) + high.average_w.ln() * t).exp())
    }
}

#[cfg(test)]
mod tests {
    use crate::catalogue::Catalogue;

    /// Belden 8267: 748 W at 100 MHz, 494 W at 200 MHz.
    #[test]
    fn between_printed_points_the_power_lies_between() {
        let t = Catalogue::built_in().find("RG-213").unwrap();
        let rating = t.power.as_ref().unwrap();
        assert_eq!(rating.average_w(100e6).unwrap().round(), 748.0);
        let between = rating.average_w(145e6).unwrap();
        assert!((494.0..748.0).contains(&between), "{between}");
        assert_eq!(rating.average_w(100e9), None);
    }
}
