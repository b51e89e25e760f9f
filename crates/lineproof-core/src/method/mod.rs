//! The trade's methods, one small module each.
//!
//! Every method has three layers: a formula in plain numbers with its corrections; a function from
//! typed readings; a function from a [`Bench`]. The last two give a
//! [`Report`] with the arithmetic written out so that it can be checked by calculator, or
//! [`Unserved`] with the reason and, where there is one, what would do.

use crate::bench::{Bench, FarEnd};

mod budget;
pub mod eighth_wave;
pub mod group_delay;
pub mod half_return_loss;
pub mod inductance_capacitance;
pub mod insertion_loss;
mod loaded;
mod loss;
pub mod low_resistance;
pub mod match_at_centre;
pub mod open_short;
pub mod phase;
pub mod quarter_wave;
pub mod readings;
mod regression;
mod report;
pub mod resistance_extremes;
pub mod resonance;
pub mod swr_peak;
mod text;
pub mod two_lengths;
pub mod two_port;
pub mod velocity;

pub use report::{Method, Report, Unserved, UsedPoint};

/// Every method that the kinds of sweeps on the bench could serve, each with its answer or with
/// the reason why it has none. Methods that need a kind of sweep that nobody took are left out,
/// except the open/short pair when one half of it is there.
pub fn all(bench: &Bench) -> Vec<Result<Report, Unserved>> {
    let has = |end| bench.first(end).is_some();
    let (open, short, load) = (has(FarEnd::Open), has(FarEnd::Short), has(FarEnd::Load));
    let mut found = Vec::new();
    if load {
        found.push(match_at_centre::from_bench(bench));
        found.push(quarter_wave::from_bench(bench));
        found.push(resistance_extremes::from_bench(bench));
    }
    for end in [FarEnd::Open, FarEnd::Short] {
        if has(end) {
            found.push(eighth_wave::from_bench(bench, end));
        }
    }
    if open || short {
        found.push(open_short::from_bench(bench));
        found.push(resonance::from_bench(bench));
        found.push(group_delay::from_reflection(bench));
        found.push(half_return_loss::from_bench(bench));
        found.push(low_resistance::from_bench(bench));
        found.push(swr_peak::from_bench(bench));
    }
    if open && short {
        found.push(inductance_capacitance::from_bench(bench));
    }
    if !bench.throughs.is_empty() {
        found.push(two_port::from_bench(bench));
        found.push(group_delay::from_through(bench));
    }
    found.extend(
        bench
            .shorter
            .as_ref()
            .map(|shorter| two_lengths::from_bench(bench, shorter)),
    );
    found
}
