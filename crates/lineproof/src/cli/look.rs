//! What a caliper, a meter and the eye tell of a cable; shared by `types` and `assay`.

use clap::builder::PossibleValue;
use clap::{Args, ValueEnum};
use lineproof_core::catalogue::Filling;
use lineproof_core::identify::Observed;
use lineproof_core::quantity::{self, Reading};
use lineproof_core::uncertain::Uncertain;

/// What was looked at.
#[derive(Args, Debug)]
pub(super) struct LookArgs {
    /// Outside diameter
    #[arg(long = "seen-diameter", value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    diameter: Option<Reading>,
    /// Diameter over the dielectric
    #[arg(long = "seen-dielectric-diameter", value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    dielectric_diameter: Option<Reading>,
    /// Diameter of the inner conductor
    #[arg(long = "seen-inner-diameter", value_name = "LENGTH", allow_hyphen_values = true, value_parser = quantity::parse_length_m)]
    inner_diameter: Option<Reading>,
    /// Capacitance of a metre, for example 67pF
    #[arg(long = "seen-capacitance-per-metre", value_name = "CAPACITANCE", value_parser = quantity::parse_capacitance_f)]
    capacitance_per_metre: Option<Reading>,
    /// Dielectric by eye
    #[arg(long = "seen-dielectric", value_enum)]
    dielectric: Option<FillingName>,
    /// Inner conductor by eye
    #[arg(long = "seen-inner", value_enum)]
    inner: Option<InnerName>,
    /// Whether a magnet holds to the inner conductor
    #[arg(long = "seen-magnet", value_enum)]
    magnet: Option<MagnetName>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum FillingName {
    /// Clear or milky, hard
    SolidPe,
    /// White, dents under a fingernail
    FoamPe,
    /// White, waxy, does not melt under the iron
    Ptfe,
    /// A tube, a thread, discs or cells
    Air,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum InnerName {
    /// One wire
    Solid,
    /// Several
    Stranded,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum MagnetName {
    /// It holds: steel core
    Holds,
    /// It does not: copper or aluminium
    DoesNot,
}

/// Standard uncertainty, relative, of what is typed without one: what a caliper or a meter does.
const TYPED: f64 = 0.01;

impl LookArgs {
    /// What was looked at, and nothing else.
    pub(super) fn observed(&self) -> Observed {
        Observed {
            jacket_diameter_m: self.diameter.map(typed),
            dielectric_diameter_m: self.dielectric_diameter.map(typed),
            inner_diameter_m: self.inner_diameter.map(typed),
            capacitance_f_m: self.capacitance_per_metre.map(typed),
            filling: self.dielectric.map(FillingName::core),
            stranded: self.inner.map(|i| i == InnerName::Stranded),
            magnetic: self.magnet.map(|m| m == MagnetName::Holds),
            ..Observed::default()
        }
    }
}

/// A typed value with its last digit and what an instrument is off by.
pub(crate) fn typed(reading: Reading) -> Uncertain {
    reading.uncertain().widened(TYPED * reading.value)
}

/// What may be said by eye, each with what it looks like: of the dielectric, the inner conductor, a magnet.
pub(crate) fn by_eye() -> [Vec<PossibleValue>; 3] {
    [
        possible::<FillingName>(),
        possible::<InnerName>(),
        possible::<MagnetName>(),
    ]
}

fn possible<T: ValueEnum>() -> Vec<PossibleValue> {
    let values = T::value_variants().iter();
    values.filter_map(ValueEnum::to_possible_value).collect()
}

/// A dielectric by the option's word for it.
pub(crate) fn filling(text: &str) -> Result<Filling, String> {
    one_of(text).map(FillingName::core)
}

/// An inner conductor by the option's word for it: whether it is stranded.
pub(crate) fn stranded(text: &str) -> Result<bool, String> {
    one_of(text).map(|inner: InnerName| inner == InnerName::Stranded)
}

/// What a magnet does, by the option's word for it: whether it holds.
pub(crate) fn magnetic(text: &str) -> Result<bool, String> {
    one_of(text).map(|magnet: MagnetName| magnet == MagnetName::Holds)
}

fn one_of<T: ValueEnum>(text: &str) -> Result<T, String> {
    T::from_str(text, false).map_err(|_| {
        let values = possible::<T>();
        let names: Vec<&str> = values.iter().map(PossibleValue::get_name).collect();
        format!("expected one of {}, found `{text}`", names.join(", "))
    })
}

impl FillingName {
    fn core(self) -> Filling {
        match self {
            Self::SolidPe => Filling::SolidPolyethylene,
            Self::FoamPe => Filling::FoamedPolyethylene,
            Self::Ptfe => Filling::Ptfe,
            Self::Air => Filling::AirSpaced,
        }
    }
}
