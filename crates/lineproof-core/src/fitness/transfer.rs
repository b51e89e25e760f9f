//! Power from one end of a run to the other.
//!
//! Exact by the balance of power at both ends ([`crate::line::mismatch::total_loss_db`]); beside it the
//! handbook formula, which averages over the load's standing wave and goes wrong on lines much
//! shorter than half a wave.

use num_complex::Complex64;

use super::{Line, Load, Span};
use crate::line::input_impedance::{Termination, input_impedance_ohm};
use crate::line::mismatch::{handbook_total_loss_db, mismatch_loss_db, swr, total_loss_db};
use crate::uncertain::Uncertain;

/// What happens to power on its way through a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transfer {
    /// Loss with a matched load, dB.
    pub matched_loss_db: Uncertain,
    /// Loss with this load, dB, by the balance of power.
    pub total_loss_db: Span,
    /// The same by the handbook formula, dB; absent for a load that takes nothing.
    pub handbook_loss_db: Option<f64>,
    /// VSWR on the line at the load, against the line's own impedance.
    pub line_swr: Span,
    /// VSWR at the input against the system's impedance.
    pub input_swr: Span,
    /// Part of the power that goes into the line that the load gets.
    pub efficiency: Span,
    /// What a transmitter without a tuner keeps back for the mismatch at the input, dB.
    pub input_mismatch_db: Span,
}

/// A cable of another impedance between a source and a load of the system's.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize, serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct WrongImpedance {
    /// VSWR at the input with this length.
    pub input_swr: Span,
    /// VSWR at the input with the worst length near it.
    pub worst_input_swr: f64,
    /// Loss beyond that of the same cable matched, dB.
    pub extra_loss_db: Span,
    /// What a transmitter without a tuner keeps back at the worst length, dB.
    pub worst_mismatch_db: f64,
}

/// Steps of half a wave over which the worst length is looked for.
const LENGTHS: usize = 90;

/// Follows power at `freq_hz` through `line` to `load`, in a system of `system_ohm`; `None` if the
/// load takes no power.
///
/// ```
/// use lineproof_core::fitness::{Line, Load, transfer};
/// use lineproof_core::uncertain::Uncertain;
/// // A long run with 1 dB of matched loss and VSWR 3 at the load loses 1.50 dB.
/// let line = Line {
///     z0_ohm: Uncertain::exact(50.0),
///     one_way_delay_s: Uncertain::exact(1e-6),
///     loss_db: Uncertain::exact(1.0),
///     dielectric_share: 0.5,
/// };
/// let load = Load::Swr { swr: 3.0, against_ohm: 50.0 };
/// let got = transfer(&line, 145e6, load, 50.0).unwrap();
/// assert!((got.total_loss_db.middle() - 1.504).abs() < 0.001);
/// ```
pub fn transfer(line: &Line, freq_hz: f64, load: Load, system_ohm: f64) -> Option<Transfer> {
    let loads = load.impedances_ohm();
    let over = |f: &dyn Fn(&Line, Complex64) -> Option<f64>| {
        let values: Option<Vec<Uncertain>> =
            loads.iter().map(|&z| line.propagate(|l| f(l, z))).collect();
        Span::over(values?.into_iter())
    };
    let total = over(&|l, z| total_loss_db(z, l.z0(freq_hz), l.gamma_l(freq_hz)))?.at_least(0.0);
    let line_swr = over(&|l, z| swr(reflection(z, l.z0_ohm.value)))?.at_least(1.0);
    let input = |l: &Line, z: Complex64| input_reflection(l, freq_hz, z, system_ohm);
    let mean_reflection = loads
        .iter()
        .map(|&z| reflection(z, line.z0_ohm.value).powi(2))
        .sum::<f64>()
        / loads.len() as f64;
    let part = |loss_db: f64| 10f64.powf(-loss_db / 10.0);
    Some(Transfer {
        matched_loss_db: line.loss_db,
        total_loss_db: total,
        handbook_loss_db: handbook_total_loss_db(line.loss_db.value, mean_reflection.sqrt()),
        line_swr,
        input_swr: over(&|l, z| swr(input(l, z)?))?.at_least(1.0),
        efficiency: Span {
            low: part(total.high),
            high: part(total.low),
        },
        input_mismatch_db: over(&|l, z| mismatch_loss_db(input(l, z)?))?.at_least(0.0),
    })
}

/// Prices `line` between a source and a load of `system_ohm` each; `None` where
/// [`transfer`] is.
pub fn wrong_impedance(line: &Line, freq_hz: f64, system_ohm: f64) -> Option<WrongImpedance> {
    let load = Load::Impedance(system_ohm.into());
    let here = transfer(line, freq_hz, load, system_ohm)?;
    let half_wave_s = 0.5 / freq_hz;
    let worst = (0..LENGTHS)
        .filter_map(|k| {
            let mut longer = *line;
            longer.one_way_delay_s.value += half_wave_s * k as f64 / LENGTHS as f64;
            input_reflection(&longer, freq_hz, system_ohm.into(), system_ohm)
        })
        .fold(0.0, f64::max);
    let matched = line.loss_db.value;
    Some(WrongImpedance {
        input_swr: here.input_swr,
        worst_input_swr: swr(worst)?,
        extra_loss_db: Span {
            low: (here.total_loss_db.low - (matched - line.loss_db.u95())).max(0.0),
            high: (here.total_loss_db.high - (matched + line.loss_db.u95())).max(0.0),
        },
        worst_mismatch_db: mismatch_loss_db(worst)?,
    })
}

/// Magnitude of the reflection of `z` against a real impedance.
fn reflection(z: Complex64, against_ohm: f64) -> f64 {
    ((z - against_ohm) / (z + against_ohm)).norm().min(1.0)
}

fn input_reflection(line: &Line, freq_hz: f64, load: Complex64, system_ohm: f64) -> Option<f64> {
    let end = Termination::Impedance(load);
    let z = input_impedance_ohm(end, line.z0(freq_hz), line.gamma_l(freq_hz))?;
    Some(reflection(z, system_ohm))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(z0_ohm: f64, one_way_delay_s: f64, loss_db: f64) -> Line {
        Line {
            z0_ohm: Uncertain::exact(z0_ohm),
            one_way_delay_s: Uncertain::exact(one_way_delay_s),
            loss_db: Uncertain::exact(loss_db),
            dielectric_share: 0.5,
        }
    }

    /// A quarter wave of Z0 turns R into Z0²/R (Pozar, section 2.5): 75 ohm between 50 ohm shows
    /// 112.5 ohm, VSWR 2.25; a half wave shows the load.
    #[test]
    fn a_75_ohm_cable_in_50_ohm_is_at_worst_2_25() {
        let quarter = wrong_impedance(&line(75.0, 2.5e-9, 1e-6), 100e6, 50.0).unwrap();
        assert!((quarter.input_swr.high - 2.25).abs() < 1e-4, "{quarter:?}");
        let half = wrong_impedance(&line(75.0, 5e-9, 1e-6), 100e6, 50.0).unwrap();
        assert!((half.input_swr.high - 1.0).abs() < 1e-4, "{half:?}");
        assert!((half.worst_input_swr - 2.25).abs() < 2e-3, "{half:?}");
        // VSWR 2.25: reflection 0.3846, 1 − 0.148 of the power goes in.
        assert!((half.worst_mismatch_db - 0.695).abs() < 0.003, "{half:?}");
    }

    #[test]
    fn the_handbook_formula_holds_on_average_and_not_on_a_short_line() {
        let load = Load::Swr {
            swr: 10.0,
            against_ohm: 50.0,
        };
        let long = transfer(&line(50.0, 1e-6, 3.0), 145.1e6, load, 50.0).unwrap();
        assert!((long.total_loss_db.middle() - long.handbook_loss_db.unwrap()).abs() < 0.01);
        let mut short = line(50.0, 1.5e-8, 0.03);
        short.dielectric_share = 0.0;
        let short = transfer(&short, 1.8e6, load, 50.0).unwrap();
        let formula = short.handbook_loss_db.unwrap();
        assert!(short.total_loss_db.low < 0.3 * formula, "{short:?}");
        assert!(short.total_loss_db.high > 1.5 * formula, "{short:?}");
    }

    /// Check values SW-11 and SW-12: R 0.1 ohm/m, L 252 nH/m, C 101 pF/m, 3 m at 1.8 MHz with 5 and
    /// 500 ohm, by scikit-rf 0.25069576 and 0.0051133394 dB. The line's impedance is taken to first
    /// order in R/ωL = 0.035 here, which is 0.1 % of its size; the row's handbook value is 0.1298 dB.
    #[test]
    fn sw_11_and_sw_12_a_short_line_with_high_swr() {
        let (inductance, capacitance): (f64, f64) = (252e-9, 101e-12);
        let z0_ohm = (inductance / capacitance).sqrt();
        let loss_np = 0.1 / (2.0 * z0_ohm) * 3.0;
        let delay_s = 3.0 * (inductance * capacitance).sqrt();
        let mut line = line(z0_ohm, delay_s, crate::line::loss_law::db_of_neper(loss_np));
        line.dielectric_share = 0.0;
        for (load_ohm, wanted) in [(5.0, 0.25069576), (500.0, 0.0051133394)] {
            let load = Load::Impedance(Complex64::new(load_ohm, 0.0));
            let got = transfer(&line, 1.8e6, load, 50.0).unwrap();
            let loss = got.total_loss_db.middle();
            assert!(
                (loss / wanted - 1.0).abs() < 0.003,
                "{loss}, wanted {wanted}"
            );
            let formula = got.handbook_loss_db.unwrap();
            assert!((formula - 0.1298).abs() < 0.0005, "{formula}");
        }
    }

    #[test]
    fn intervals_of_the_line_widen_the_answer() {
        let mut unsure = line(50.0, 1e-6, 1.0);
        unsure.loss_db = Uncertain::new(1.0, 0.1);
        let load = Load::Impedance(50.0.into());
        let got = transfer(&unsure, 145e6, load, 50.0).unwrap().total_loss_db;
        assert!((got.high - got.low - 2.0 * 0.196).abs() < 1e-3, "{got:?}");
        assert_eq!(
            transfer(
                &unsure,
                1e6,
                Load::Impedance(Complex64::new(0.0, 30.0)),
                50.0
            ),
            None
        );
    }
}
