//! What a coaxial cable is and whether it is sound, from the sweeps of a vector network analyser.
//!
//! # The nouns
//!
//! A [`Sweep`] is what the analyser recorded at one port, a [`ThroughSweep`] from port to port. A
//! [`Bench`] holds all sweeps of one cable, with what ended its far end ([`FarEnd`]), the calibration's
//! [`Load`], and what else is known: length by tape, [`Marking`] on the jacket. From a bench
//!
//! - each of the trade's methods ([`method`]) gives a [`Report`] with its arithmetic,
//! - [`estimate::estimate`] fits one line to all sweeps and gives an [`Estimate`],
//! - [`finding::judge::find`] asks both and gives a [`Finding`]: condition, marking, type, verdict.
//!
//! [`gather::gather()`] makes a bench of what files hold. A [`KnownCable`], from the catalogue or by its finding,
//! answers what comes after: [`fitness::fitness()`] for a use, [`sections::cut()`] for a piece of it.
//!
//! Numbers are [`Uncertain`]: a value with its standard uncertainty, which becomes a 95 % interval only
//! as text. A [`Catalogue`] knows types of cable ([`CableType`]), a [`plan::Plan`] says which sweep to
//! take, a [`calibration::Calibration`] corrects raw readings. [`formats`] turn the text of files into a
//! [`Measurement`], [`quantity`] turns `1.5m` into metres; [`mod@line`], [`network`] and [`time_domain`]
//! hold the physics.
//!
//! # A tour
//!
//! A cable by theory, open and loaded, as an analyser would see it; then its impedance, delay and loss:
//!
//! ```
//! use std::f64::consts::TAU;
//!
//! use lineproof_core::constants::SPEED_OF_LIGHT_M_S;
//! use lineproof_core::estimate::estimate;
//! use lineproof_core::line::input_impedance::{Termination, input_reflection};
//! use lineproof_core::line::primary::Primary;
//! use lineproof_core::{Bench, FarEnd, Load, Sweep};
//!
//! // 3 m of 75-ohm cable, velocity factor 0.66, conductors that lose 8 dB/100 m at 100 MHz
//! let sweep_of = |end: Termination| {
//!     let reflection_at = |&freq_hz: &f64| {
//!         let r_ohm_m = 1.38 * (freq_hz / 100e6).sqrt();
//!         let line = Primary {
//!             r_ohm_m,
//!             l_h_m: 75.0 / (0.66 * SPEED_OF_LIGHT_M_S) + r_ohm_m / (TAU * freq_hz),
//!             g_s_m: 0.0,
//!             c_f_m: 1.0 / (75.0 * 0.66 * SPEED_OF_LIGHT_M_S),
//!         };
//!         let line = line.secondary(freq_hz)?;
//!         input_reflection(end, line.z0_ohm, line.gamma_l(3.0), 50.0)
//!     };
//!     let freq_hz: Vec<f64> = (1..=200).map(|k| 1.5e6 * f64::from(k)).collect();
//!     let reflection: Option<Vec<_>> = freq_hz.iter().map(reflection_at).collect();
//!     Sweep::new(freq_hz, reflection.expect("a passive line"), 50.0)
//! };
//!
//! let mut bench = Bench::new(Load::by_ohmmeter(50.0))?;
//! bench.add_sweep(FarEnd::Open, sweep_of(Termination::Open)?, "open")?;
//! bench.add_sweep(FarEnd::Load, sweep_of(Termination::resistance(50.0))?, "load")?;
//!
//! let found = estimate(&bench)?;
//! println!("{}", found.impedance_ohm(100e6).with_unit("ohm"));
//! println!("{}", found.one_way_delay_s(100e6).with_unit("s"));
//! println!("{}", found.loss_db(100e6).with_unit("dB"));
//! assert!((found.impedance_ohm(100e6).value - 75.2).abs() < 0.5);
//! assert!((found.loss_db(100e6).value - 0.24).abs() < 0.02);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! `examples/` has a program for each noun.
//!
//! # What is absent
//!
//! Nothing here reads a file, opens a connection, looks at a clock or prints: the same input gives the
//! same output, on `wasm32-unknown-unknown` too. Features: `parallel` (default) fits on all cores, without
//! it on the calling thread; `serde` and `schema` derive `Serialize`, `Deserialize` and
//! `utoipa::ToSchema` for public values.

pub mod bench;
pub mod calibration;
pub mod catalogue;
pub mod comparison;
pub mod constants;
pub mod correlated;
pub mod difference;
pub mod estimate;
pub mod far_end;
pub mod finding;
pub mod fitness;
pub mod formats;
pub mod gather;
pub mod identify;
pub mod known;
pub mod line;
pub mod method;
pub mod mistake;
pub mod network;
mod parallel;
pub mod plan;
pub mod quantity;
mod rounding;
pub mod sections;
pub mod sweep;
pub mod time_domain;
pub mod uncertain;

pub use bench::{Bench, FarEnd, Load, Marking};
pub use catalogue::{CableType, Catalogue};
pub use estimate::Estimate;
pub use finding::Finding;
pub use formats::Measurement;
pub use known::KnownCable;
pub use method::Report;
pub use sweep::{Sweep, ThroughSweep};
pub use uncertain::Uncertain;

/// The README's examples run as tests.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct ReadmeExamples;
