//! What follows from the fit: quantities with intervals, the profile along the cable, events, and what
//! would have shown.

mod aliases;
mod as_it_lies;
mod by_itself;
mod detection;
mod end;
mod estimate;
mod events;
mod further;
mod profile;
mod steel_core;
mod without;

pub use as_it_lies::LineInSystem;
pub use by_itself::ByItself;
pub use detection::LeastChange;
pub use estimate::{Estimate, Limit, LossParts};
pub use events::{Event, Side};
pub use further::{Further, Measure, Quantity, QuantityFrequencies};
pub use profile::{Profile, ProfilePoint};
pub use steel_core::SteelCore;
pub use without::{Part, Plug};
