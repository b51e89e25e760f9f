//! Voltage, current and heat against what a cable is rated for.
//!
//! On a line with VSWR s that carries the net power P the peaks are √(2·P·Z0·s) and √(2·P·s/Z0)
//! (ARRL Antenna Book, transmission lines, from memory). Where the current peaks the conductors
//! heat s times as much as on a matched line, so the average power that a sheet allows is divided
//! by s: the hottest spot then is as hot as on the matched line. The sheet's ambient is corrected in
//! proportion to what is left to the highest temperature of the conductor; common practice.
//!
//! A sheet's rating is held against what the jacket carries off into still air ([`super::HeatPath`]): one that asks
//! for more than [`RATING_OVER_BALANCE`] times that gives way to it, and without a rating the balance stands
//! alone. No temperature is stated beyond the highest of the conductor: what comes then is damage.

use super::HeatPath;
use crate::line::mismatch::{peak_current_a, peak_voltage_v};
use crate::uncertain::Uncertain;

/// What a cable is rated for at one frequency; absent is not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ratings {
    /// Average power into a matched run, W.
    pub average_w: Option<f64>,
    /// Ambient that it holds at, °C.
    pub ambient_c: f64,
    /// Highest temperature of the inner conductor, °C.
    pub highest_c: f64,
    /// Highest voltage, V peak.
    pub peak_v: Option<f64>,
    /// What carries the heat away.
    pub heat: Option<HeatPath>,
    /// Matched loss at 20 °C and the dielectric's share of it, dB/m: what turns power into heat.
    pub loss_db_per_m: Option<(f64, f64)>,
}

/// What the average power that is allowed rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PowerBasis {
    /// The maker's rating.
    Rating,
    /// What the jacket carries off: no rating is known.
    HeatBalance,
    /// What the jacket carries off: the rating asks for more than that.
    HeatBalanceBelowRating,
}

/// Temperature of a conductor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ConductorHeat {
    /// °C, up to the highest that the dielectric stands.
    At(f64),
    /// Beyond the highest that the dielectric stands, °C.
    Beyond(f64),
}

impl ConductorHeat {
    /// The temperature, °C; absent beyond the highest.
    pub fn celsius(self) -> Option<f64> {
        match self {
            Self::At(celsius) => Some(celsius),
            Self::Beyond(_) => None,
        }
    }
}

/// How far a rating may lie above the heat balance and still be believed: the correlation behind the
/// balance is good to 20 %, and the jacket's emissivity is not known.
pub const RATING_OVER_BALANCE: f64 = 1.25;

/// What a use does to a cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stress {
    /// Peak voltage along the run, V.
    pub peak_v: f64,
    /// Peak current along the run, A.
    pub peak_a: f64,
    /// Average power into the run, W.
    pub average_w: f64,
    /// Average power that heat allows here, W.
    pub allowed_average_w: Option<f64>,
    /// What that rests on.
    pub power_basis: Option<PowerBasis>,
    /// Temperature of the inner conductor at its hottest spot.
    pub conductor: Option<ConductorHeat>,
    /// Peak power that the voltage rating allows here, W.
    pub allowed_peak_w: Option<f64>,
}

/// Copper's resistance rises by 0.39 % for each kelvin, loss with its root: 0.2 %.
const LOSS_PER_K: f64 = 0.002;

/// Loss at `celsius`, dB, from that at 20 °C: the conductors' part rises by 0.2 % a kelvin (copper
/// 0.393 %/K in resistance; a published table has 0.11 % a degree Fahrenheit). The dielectric's
/// part is taken as it is.
pub fn loss_at_temperature_db(
    loss_db: Uncertain,
    dielectric_share: f64,
    celsius: f64,
) -> Uncertain {
    loss_db.scaled(1.0 + (1.0 - dielectric_share) * LOSS_PER_K * (celsius - 20.0))
}

/// Stress of a run of `z0_ohm` that takes `peak_w` (peak envelope power) during the part `duty` of
/// the time, with `swr` on the line, at `ambient_c`.
pub fn stress(
    z0_ohm: f64,
    peak_w: f64,
    duty: f64,
    swr: f64,
    ambient_c: f64,
    ratings: Ratings,
) -> Stress {
    let average_w = peak_w * duty;
    let matched = matched_allowed_w(ratings, ambient_c);
    let left_k = (ratings.highest_c - ambient_c).max(0.0);
    Stress {
        peak_v: peak_voltage_v(peak_w, z0_ohm, swr),
        peak_a: peak_current_a(peak_w, z0_ohm, swr),
        average_w,
        allowed_average_w: matched.map(|(w, _)| w / swr),
        power_basis: matched.map(|(_, basis)| basis),
        conductor: matched.map(|(w, _)| {
            let conductor_c = ambient_c + left_k * average_w * swr / w;
            if conductor_c <= ratings.highest_c {
                ConductorHeat::At(conductor_c)
            } else {
                ConductorHeat::Beyond(ratings.highest_c)
            }
        }),
        allowed_peak_w: ratings
            .peak_v
            .map(|v| crate::line::mismatch::voltage_limited_power_w(v, z0_ohm, swr)),
    }
}

/// Average power into a matched run that takes the conductor to its highest temperature, W, and what
/// that rests on.
fn matched_allowed_w(ratings: Ratings, ambient_c: f64) -> Option<(f64, PowerBasis)> {
    let headroom_k = ratings.highest_c - ratings.ambient_c;
    let left_k = (ratings.highest_c - ambient_c).max(0.0);
    let rated = ratings.average_w.filter(|_| headroom_k > 0.0);
    let rated = rated.map(|w| w * left_k / headroom_k);
    let balance = ratings.heat.zip(ratings.loss_db_per_m);
    let balance = balance.and_then(|(path, (db, share))| {
        let hot = loss_at_temperature_db(Uncertain::exact(db), share, ratings.highest_c);
        path.power_w(ratings.highest_c, ambient_c, hot.value)
    });
    match (rated, balance) {
        (Some(rated), Some(balance)) if rated > RATING_OVER_BALANCE * balance => {
            Some((balance, PowerBasis::HeatBalanceBelowRating))
        }
        (Some(rated), _) => Some((rated, PowerBasis::Rating)),
        (None, Some(balance)) => Some((balance, PowerBasis::HeatBalance)),
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RG213: Ratings = Ratings {
        average_w: Some(748.0),
        ambient_c: 40.0,
        highest_c: 80.0,
        peak_v: Some(1000.0),
        heat: None,
        loss_db_per_m: None,
    };

    /// Belden 8216 (RG-174) prints 120 W at 400 MHz; the 65 dB/100 m of 435 MHz turn 14 W of
    /// 100 W into heat in the first metre, 1600 W to the square metre of jacket.
    #[test]
    fn a_rating_that_the_jacket_cannot_carry_off_gives_way() {
        let thin = Ratings {
            average_w: Some(120.0),
            heat: Some(HeatPath {
                jacket_diameter_m: 2.79e-3,
                core_k_m_w: 0.4,
            }),
            loss_db_per_m: Some((0.654, 0.2)),
            ..RG213
        };
        let at = stress(50.0, 100.0, 1.0, 1.0, 40.0, thin);
        assert_eq!(at.power_basis, Some(PowerBasis::HeatBalanceBelowRating));
        assert!(at.allowed_average_w.unwrap() < 60.0, "{at:?}");
        assert_eq!(at.conductor, Some(ConductorHeat::Beyond(80.0)));
        let more = stress(50.0, 5000.0, 1.0, 1.0, 40.0, thin);
        assert_eq!(more.conductor, Some(ConductorHeat::Beyond(80.0)));
        let unrated = Ratings {
            average_w: None,
            ..thin
        };
        let at = stress(50.0, 10.0, 1.0, 1.0, 40.0, unrated);
        assert_eq!(at.power_basis, Some(PowerBasis::HeatBalance));
        assert!(at.conductor.unwrap().celsius().unwrap() < 60.0, "{at:?}");
    }

    #[test]
    fn at_the_rating_the_conductor_is_as_hot_as_it_may_be() {
        let at = stress(50.0, 748.0, 1.0, 1.0, 40.0, RG213);
        assert!((at.conductor.unwrap().celsius().unwrap() - 80.0).abs() < 1e-9);
        let hot_day = stress(50.0, 748.0, 1.0, 1.0, 60.0, RG213);
        assert!((hot_day.allowed_average_w.unwrap() - 374.0).abs() < 1e-9);
        let mismatched = stress(50.0, 748.0, 0.5, 2.0, 40.0, RG213);
        assert!((mismatched.conductor.unwrap().celsius().unwrap() - 80.0).abs() < 1e-9);
        assert_eq!(
            stress(50.0, 1e3, 1.0, 1.0, 90.0, RG213).allowed_average_w,
            Some(0.0)
        );
    }

    #[test]
    fn warm_copper_loses_more() {
        let warm = loss_at_temperature_db(Uncertain::exact(3.0), 0.0, 45.0);
        // An Italian hobby page gives 5 % more at 50 °C than at 25; 0.2 %/K over 25 K is that.
        assert!((warm.value / 3.0 - 1.05).abs() < 1e-9);
    }
}
