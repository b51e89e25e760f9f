//! What a jacket claims of a cable: the figures printed on it, and those of the sheet that its name stands for.

use super::{CableType, Catalogue};
use crate::bench::{MarkedLoss, Marking};
use crate::uncertain::Uncertain;

/// One reading of a marking: a name that several types bear has one for each of them.
#[derive(Clone, Copy, Debug)]
pub struct Claim<'a> {
    /// The type that the name stands for, if the catalogue has one.
    pub sheet: Option<&'a CableType>,
    marking: &'a Marking,
}

/// A claimed figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Claimed {
    /// The figure with the spread between pieces; none of its own for one that was printed or typed.
    pub figure: Uncertain,
    /// Whether it is the sheet's and not the marking's own.
    pub by_sheet: bool,
}

/// How far a printed loss is carried from its frequency, as a ratio of frequencies.
const CARRIED: f64 = 4.0;
/// Powers of frequency that the loss of a coaxial cable follows: 0.5 by its conductors, more the more
/// its dielectric takes. Half-width about the middle; common practice.
const LOSS_POWER: (f64, f64) = (0.55, 0.06);

impl<'a> Claim<'a> {
    /// Every reading of `marking`; one without a sheet if the name is absent or not known.
    pub fn all(marking: &'a Marking, catalogue: &'a Catalogue) -> Vec<Self> {
        let named = marking.designation.as_deref();
        let types = named.map_or_else(Vec::new, |name| catalogue.all_named(name));
        if types.is_empty() {
            let sheet = None;
            return vec![Self { sheet, marking }];
        }
        let of = |t| Self {
            sheet: Some(t),
            marking,
        };
        types.into_iter().map(of).collect()
    }

    /// Characteristic impedance, ohm.
    pub fn impedance_ohm(&self) -> Option<Claimed> {
        let by_sheet = self
            .sheet
            .map(|t| Uncertain::new(t.z0_ohm.value, t.z0_spread_ohm()));
        either(self.marking.impedance_ohm, by_sheet)
    }

    /// Velocity factor.
    pub fn velocity_factor(&self) -> Option<Claimed> {
        let by_sheet = self
            .sheet
            .map(|t| Uncertain::new(t.velocity_factor.value, t.velocity_spread()));
        either(self.marking.velocity_factor, by_sheet)
    }

    /// Loss at `freq_hz`, dB/m: the printed one at its frequency or carried from it by up to a factor of
    /// four, else what the sheet makes typical.
    pub fn loss_db_m(&self, freq_hz: f64) -> Option<Claimed> {
        if let Some(printed) = self.marking.loss {
            return carried_db_m(printed, freq_hz).map(|figure| Claimed {
                figure,
                by_sheet: false,
            });
        }
        let typical = self.sheet?.loss.typical_db_m(freq_hz).ok()?;
        Some(Claimed {
            figure: typical,
            by_sheet: true,
        })
    }
}

fn either(printed: Option<f64>, by_sheet: Option<Uncertain>) -> Option<Claimed> {
    let printed = printed.map(|value| Claimed {
        figure: Uncertain::exact(value),
        by_sheet: false,
    });
    printed.or(by_sheet.map(|figure| Claimed {
        figure,
        by_sheet: true,
    }))
}

fn carried_db_m(printed: MarkedLoss, freq_hz: f64) -> Option<Uncertain> {
    let ln_ratio = (freq_hz / printed.at_hz).ln();
    if ln_ratio.is_nan() || ln_ratio.abs() > CARRIED.ln() * (1.0 + 1e-9) {
        return None;
    }
    let value = printed.db_per_100m / 100.0 * (LOSS_POWER.0 * ln_ratio).exp();
    Some(Uncertain::within(
        value,
        value * LOSS_POWER.1 * ln_ratio.abs(),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(name: &str) -> Marking {
        Marking {
            designation: Some(name.to_owned()),
            ..Marking::default()
        }
    }

    /// A name is a claim of its sheet's figures. RG-213/U (Belden 8267): 50 ohm, 0.66,
    /// 6.234 dB/100 m at 100 MHz (1.9 dB/100 ft).
    #[test]
    fn a_name_claims_what_its_sheet_says() {
        let marking = named("RG-213");
        let claims = Claim::all(&marking, Catalogue::built_in());
        let [claim] = claims[..] else {
            panic!("{claims:?}")
        };
        assert_eq!(claim.impedance_ohm().unwrap().figure.value, 50.0);
        assert_eq!(claim.velocity_factor().unwrap().figure.value, 0.66);
        let loss = claim.loss_db_m(1e8).unwrap();
        assert!((loss.figure.value - 0.06234).abs() < 0.004, "{loss:?}");
        assert!(loss.by_sheet && loss.figure.u > 0.0);
    }

    #[test]
    fn a_loose_name_claims_one_of_several() {
        let marking = named("RG-58");
        assert!(Claim::all(&marking, Catalogue::built_in()).len() > 2);
        let marking = named("nobody's cable");
        let claims = Claim::all(&marking, Catalogue::built_in());
        assert!(claims.len() == 1 && claims[0].impedance_ohm().is_none());
    }

    #[test]
    fn what_is_printed_goes_before_the_sheet() {
        let mut marking = named("RG-213");
        marking.impedance_ohm = Some(52.0);
        marking.loss = Some(MarkedLoss {
            db_per_100m: 7.0,
            at_hz: 1e8,
        });
        let claim = Claim::all(&marking, Catalogue::built_in())[0];
        assert_eq!(
            claim.impedance_ohm().unwrap().figure,
            Uncertain::exact(52.0)
        );
        let there = claim.loss_db_m(1e8).unwrap();
        assert!((there.figure.value - 0.07).abs() < 1e-12 && !there.by_sheet);
        let lower = claim.loss_db_m(5e7).unwrap().figure;
        assert!((0.046..0.051).contains(&lower.value), "{lower}");
        assert_eq!(claim.loss_db_m(1e6), None);
    }
}
