//! Sizes that the data correct, within what instruments and cables can be.

use super::super::model::{BAND, Kind, Layout, OFFSET, PROPORTIONAL, QUADRATIC, Readings};

/// Groups of unknowns that share a prior size which the data may correct.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Level {
    /// What calibration and drift leave, common to all sweeps.
    Shared,
    /// What differs from connection to connection.
    Connection,
    /// What is proportional to the reflection and differs from one band of frequencies to the next: drift of a
    /// sweep, steps between an analyser's bands, a loss that follows no smooth conductor's law.
    Bands,
    /// Wander of the impedance along the cable.
    Wander,
}

impl Level {
    /// The unknowns whose size it is.
    pub(crate) fn unknowns(self, layout: &Layout) -> Vec<usize> {
        let sets = 0..layout.kinds.len();
        match self {
            Self::Shared => [OFFSET, PROPORTIONAL, QUADRATIC]
                .into_iter()
                .flat_map(|f| layout.shared(f))
                .collect(),
            Self::Wander => layout.node_range().collect(),
            Self::Connection => sets
                .flat_map(|s| [OFFSET, PROPORTIONAL].map(|f| layout.connection(s, f)))
                .flatten()
                .collect(),
            Self::Bands => sets
                .filter(|&s| layout.has_own_bands(s))
                .map(|s| layout.connection(s, BAND))
                .chain([layout.shared(BAND)])
                .flat_map(Layout::of_bands)
                .collect(),
        }
    }
}

/// The sizes.
#[derive(Clone, Debug)]
pub(crate) struct Hyperparameters {
    /// rms of the shared smooth errors (complex).
    pub(crate) shared: f64,
    /// rms of each connection's smooth errors (complex).
    pub(crate) connection: f64,
    /// rms of the errors in proportion to the reflection that differ from band to band (complex).
    pub(crate) bands: f64,
    /// rms of ln z along the cable, per cell.
    pub(crate) wander: f64,
    /// rms of the noise (complex) of each reading set, at total reflection; a through sweep has a
    /// second entry for its transmission.
    pub(crate) noise: Vec<f64>,
}

impl Hyperparameters {
    /// A pocket analyser and a good cable.
    pub(crate) fn first(readings: &[Readings]) -> Self {
        Self {
            shared: 1e-3,
            connection: 5e-4,
            bands: 3e-4,
            wander: 3e-3,
            noise: noise_levels(readings, 1e-3),
        }
    }

    /// Noise of the reading set that is explained worst.
    pub(crate) fn largest_noise(&self) -> f64 {
        self.noise.iter().fold(0.0, |a: f64, &b| a.max(b))
    }

    /// The size of one level.
    pub(crate) fn size_mut(&mut self, level: Level) -> &mut f64 {
        match level {
            Level::Shared => &mut self.shared,
            Level::Connection => &mut self.connection,
            Level::Bands => &mut self.bands,
            Level::Wander => &mut self.wander,
        }
    }
}

/// The same noise for every reading set; a through sweep's transmission has its own.
pub(crate) fn noise_levels(readings: &[Readings], noise: f64) -> Vec<f64> {
    let count = |r: &Readings| if r.kind == Kind::Through { 2 } else { 1 };
    // noise of transmission is constant, that of reflection has a shape: two sizes
    vec![noise; readings.iter().map(count).sum()]
}
