//! Delays that the points can't tell from the one that was found.

use super::super::search::{KindAndGrid, alike_delays_s};
use super::estimate::Estimate;
use crate::line::possible::LOSS_HZ;

impl Estimate {
    /// One-way delays of whole cables that explain every phase as well as the one found, and whose
    /// loss a cable can have; by rising delay, with the one found unless its own loss is impossible.
    ///
    /// More than one, or another one alone: the delay is a guess.
    pub fn possible_delays_s(&self) -> Vec<f64> {
        let grids: Vec<KindAndGrid> = self.grids.iter().map(|g| (g.kind, &*g.freq_hz)).collect();
        let loss = self.loss_db(LOSS_HZ);
        let range = loss.value - loss.u95()..=loss.value + loss.u95();
        let mut delays_s = alike_delays_s(&grids, self.one_way_delay_s(LOSS_HZ).value, &range);
        delays_s.extend(&self.other_delays_s);
        delays_s.sort_by(f64::total_cmp);
        delays_s
    }
}
