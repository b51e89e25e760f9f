//! Distance along the cable from the time of an echo, and back from the far end.
//!
//! x = VF·c·t/2. The velocity factor is stated with every distance: an end that does not lie where
//! the tape says shows that it is wrong.

use crate::constants::SPEED_OF_LIGHT_M_S;

/// What turns times into distances.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Velocity factor that is used, 0 to 1.
    pub velocity_factor: f64,
    /// One-way delay to the far end, s, if it is known.
    pub one_way_delay_s: Option<f64>,
}

impl Scale {
    /// Distance from the near end of what returns after `two_way_s`, m.
    pub fn from_near_m(&self, two_way_s: f64) -> f64 {
        0.5 * self.velocity_factor * SPEED_OF_LIGHT_M_S * two_way_s
    }

    /// Distance back from the far end, m; negative beyond it.
    pub fn from_far_m(&self, two_way_s: f64) -> Option<f64> {
        let end_s = 2.0 * self.one_way_delay_s?;
        Some(self.from_near_m(end_s) - self.from_near_m(two_way_s))
    }

    /// Time there and back of what lies `from_near_m` along the cable, s.
    pub fn two_way_s(&self, from_near_m: f64) -> f64 {
        2.0 * from_near_m / (self.velocity_factor * SPEED_OF_LIGHT_M_S)
    }
}
