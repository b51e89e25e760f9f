//! From the reel to the length: cut long, measure here, trim so much.
//!
//! With the far end open a piece shows its lowest impedance where it is a quarter wave, shorted
//! where it is half a wave, so every piece can be tuned on a frequency of its own, whatever
//! angle it is to have. Frequency and whole delay are in inverse proportion. While a piece is trimmed its
//! far plug is not on it, so the frequency that it is trimmed to is that of the piece without it.

use super::{Allowance, Cable, Section, quarter_wave_hz};

/// How the far end is kept while a piece is trimmed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize, serde::Serialize))]
#[cfg_attr(feature = "serde", serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub enum FarEndState {
    /// Nothing on it: cut back from there.
    Open,
    /// Inner conductor and shield joined.
    Short,
}

/// The way to the length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stages {
    /// First cut, m.
    pub cut_m: f64,
    /// Far end while measuring.
    pub far_end: FarEndState,
    /// Frequency of the lowest impedance when the piece is right, its far plug not yet fitted, Hz.
    pub target_hz: f64,
    /// The same with the far plug on; absent for a piece without one.
    pub plugged_hz: Option<f64>,
    /// Where it may stand after the first cut, Hz: lowest, highest.
    pub first_hz: (f64, f64),
    /// Length to take off for each hertz that the frequency is too low, m/Hz.
    pub trim_m_per_hz: f64,
    /// What one millimetre changes the frequency by, Hz.
    pub hz_per_mm: f64,
}

/// Least extra of the first cut, m, and as a part of the length.
const SPARE_M: f64 = 0.01;
const SPARE_PART: f64 = 0.02;

/// How to get to the section's length.
pub fn stages(
    cable: Cable,
    section: &Section,
    allowance: Allowance,
    far_end: FarEndState,
) -> Stages {
    let length = section.length_m;
    let spare_m = (SPARE_PART * length.value).max(SPARE_M) + length.u95();
    let cut_m = length.value + spare_m;
    let waves = match far_end {
        FarEndState::Open => 1.0,
        FarEndState::Short => 2.0,
    };
    let dip_hz = |one_way_s: f64| waves * quarter_wave_hz(one_way_s);
    let trimmed_s = section.one_way_delay_s - allowance.far_s;
    let target_hz = dip_hz(trimmed_s);
    let slow = cable.delay_s_per_m.value + cable.delay_s_per_m.u95();
    let fast = cable.delay_s_per_m.value - cable.delay_s_per_m.u95();
    let first = |delay_s_per_m: f64| dip_hz(cut_m * delay_s_per_m + allowance.near_s);
    let whole_m = trimmed_s / cable.delay_s_per_m.value;
    Stages {
        cut_m,
        far_end,
        target_hz,
        plugged_hz: (allowance.far_s > 0.0).then(|| dip_hz(section.one_way_delay_s)),
        first_hz: (first(slow), first(fast)),
        trim_m_per_hz: whole_m / target_hz,
        hz_per_mm: 1e-3 * target_hz / whole_m,
    }
}

#[cfg(test)]
mod tests {
    use super::super::section;
    use super::super::tests::cable;
    use super::*;
    use crate::constants::METRES_PER_FOOT;
    use crate::uncertain::Uncertain;

    /// Practice case PC11: 222 ft of foam cable show their half wave at 1643 kHz; for 1830 kHz they
    /// are cut to 199 ft 4 in (recomputed 199.31 ft), and 212 ft stand at 1720.5 kHz.
    #[test]
    fn pc11_a_half_wave_for_topband() {
        let delay_s_per_m = 0.5 / 1.643e6 / (222.0 * METRES_PER_FOOT);
        let foam = Cable {
            delay_s_per_m: Uncertain::exact(delay_s_per_m),
            ..cable(0.74)
        };
        let none = Allowance::default();
        let piece = section(foam, std::f64::consts::PI, 1.83e6, none, false).unwrap();
        let feet = piece.length_m.value / METRES_PER_FOOT;
        assert!((feet - 199.31).abs() < 0.005, "{feet}");
        let stands_at = 2.0 * quarter_wave_hz(212.0 * METRES_PER_FOOT * delay_s_per_m);
        assert!((stands_at - 1.7205e6).abs() < 50.0, "{stands_at}");
        let way = stages(foam, &piece, none, FarEndState::Short);
        assert!((way.target_hz - 1.83e6).abs() < 1e-3);
    }

    #[test]
    fn the_first_cut_is_long_and_its_dip_low() {
        let plugs = Allowance::near(60e-12);
        let cable = cable(0.66);
        let piece = section(cable, 1.0, 14.1e6, plugs, false).unwrap();
        let way = stages(cable, &piece, plugs, FarEndState::Open);
        assert!(way.cut_m > piece.length_m.value + piece.length_m.u95());
        assert!(way.first_hz.1 < way.target_hz, "{way:?}");
        // 1 rad at 14.1 MHz is a quarter wave at π/2 times that.
        assert!((way.target_hz - 14.1e6 * std::f64::consts::FRAC_PI_2).abs() < 1.0);
        // Trimming what the rule says reaches the target to second order.
        let low_hz = 0.99 * way.target_hz;
        let off_m = way.trim_m_per_hz * 0.01 * way.target_hz;
        let delay_then = 0.25 / low_hz - off_m * cable.delay_s_per_m.value;
        assert!((0.25 / delay_then / way.target_hz - 1.0).abs() < 2e-4);
    }
    /// The way said to fit only the near plug and counted both, so that a quarter wave at
    /// 145 MHz with two plugs of 60 ps was trimmed 3.4 % long.
    #[test]
    fn a_piece_trimmed_without_its_far_plug_is_right_with_it() {
        let (cable, plugs) = (cable(0.66), Allowance::both(120e-12));
        let piece = section(cable, std::f64::consts::FRAC_PI_2, 145e6, plugs, false).unwrap();
        let way = stages(cable, &piece, plugs, FarEndState::Open);
        let trimmed_m = (0.25 / way.target_hz - plugs.near_s) / cable.delay_s_per_m.value;
        assert!(
            (trimmed_m / piece.length_m.value - 1.0).abs() < 1e-9,
            "{trimmed_m} m trimmed, {} m wanted",
            piece.length_m.value
        );
        assert!((way.plugged_hz.unwrap() - 145e6).abs() < 1e-3);
        assert_eq!(
            stages(cable, &piece, Allowance::near(120e-12), FarEndState::Open).plugged_hz,
            None
        );
    }
}
