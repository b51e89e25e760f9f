//! Why a method and all sweeps together disagree, by experiment: the fit predicts the sweeps without
//! one thing that it found, the method reads them again, and what moves it most towards the joint
//! value is the cause.

use crate::bench::Bench;
use crate::estimate::{Estimate, Part};
use crate::method::{self, Method, Report};
use crate::quantity::{format_frequency, format_uncertain};
use crate::uncertain::Uncertain;

use crate::finding::remarks::{Warning, WarningCode};
use crate::quantity::digits::significant;

/// Part of the difference that must go with a cause for it to be called the cause.
const MOST_OF_IT: f64 = 0.5;

/// A method whose interval excludes the joint value.
#[derive(Clone, Debug, PartialEq)]
pub struct Contradiction {
    /// What it says and why.
    pub warning: Warning,
    /// Whether the method reads the same off the sweeps as the fit has them: then the fit holds whatever makes
    /// the difference, a fault among it.
    pub reproduced: bool,
    /// How far beyond all explanation it is: nothing for one that a method's own flaws may make.
    pub beyond: bool,
    /// The same without the reason.
    pub difference: String,
}

/// Standard uncertainties from which a difference is no chance of these intervals, which count what the method
/// knows of its own errors.
const NO_CHANCE: f64 = 5.0;
/// Differences that no method makes by itself, whatever its flaws on a sound cable: of an impedance what
/// acceptance allows (4 %), of a delay what plugs and dispersion make (3 % and half a nanosecond), of a loss a
/// third and 0.3 dB. Common practice.
const IMPEDANCE_BEYOND: f64 = 0.04;
const DELAY_BEYOND: (f64, f64) = (0.03, 0.5e-9);
const LOSS_BEYOND: (f64, f64) = (0.33, 0.3);

/// Each method whose interval excludes the joint value.
pub fn contradictions(
    bench: &Bench,
    estimate: &Estimate,
    reports: &[Report],
) -> Vec<Contradiction> {
    let disagreements: Vec<Disagreement> = reports
        .iter()
        .filter_map(|report| Disagreement::of(estimate, report))
        .collect();
    if disagreements.is_empty() {
        return Vec::new();
    }
    let again = Again::of(bench, estimate);
    disagreements
        .iter()
        .map(|d| d.contradiction(estimate, &again))
        .collect()
}

/// What the methods read off predicted sweeps: as they are, and without each part.
struct Again {
    whole: Vec<Report>,
    without: Vec<(Part, Vec<Report>)>,
}

impl Again {
    fn of(bench: &Bench, estimate: &Estimate) -> Self {
        let read = |without| {
            let predicted = estimate.predicted(bench, without);
            predicted.map_or_else(
                |_| Vec::new(),
                |bench| method::all(&bench).into_iter().flatten().collect(),
            )
        };
        Self {
            whole: read(None),
            without: Part::ALL.map(|part| (part, read(Some(part)))).to_vec(),
        }
    }
}

/// A quantity that a method gives.
#[derive(Clone, Copy)]
enum Read {
    Impedance,
    /// One way, with the plugs.
    Delay,
    /// At the frequency, Hz.
    Loss(f64),
}

struct Disagreement {
    method: Method,
    read: Read,
    at_hz: f64,
    found: Uncertain,
    joint: Uncertain,
}

impl Disagreement {
    /// The method's impedance, or else its loss that is farthest out.
    fn of(estimate: &Estimate, report: &Report) -> Option<Self> {
        let method = report.method;
        let impedance = report
            .impedance_ohm
            .zip(report.at_hz)
            .map(|(found, at_hz)| Self {
                method,
                read: Read::Impedance,
                at_hz,
                found,
                joint: estimate.impedance_ohm(at_hz),
            });
        let losses = report.loss_db.iter().filter_map(|&(at_hz, found)| {
            let at_hz = at_hz?;
            Some(Self {
                method,
                read: Read::Loss(at_hz),
                at_hz,
                found,
                joint: estimate.loss_db(at_hz),
            })
        });
        let delay = report
            .one_way_delay_s
            .zip(report.delay_at_hz)
            .map(|(found, at_hz)| Self {
                method,
                read: Read::Delay,
                at_hz,
                found,
                joint: estimate.one_way_delay_s(at_hz),
            });
        // dispersion moves the slope of a phase a little away from the phase delay at one frequency
        let delay = delay.filter(Self::is_beyond);
        let first = impedance.into_iter().chain(delay).find(Self::holds);
        first.or_else(|| {
            losses
                .filter(Self::holds)
                .max_by(|a, b| a.size().total_cmp(&b.size()))
        })
    }

    fn holds(&self) -> bool {
        self.joint.value.is_finite() && !self.found.agrees_with(self.joint)
    }

    /// In standard uncertainties.
    fn size(&self) -> f64 {
        (self.found.value - self.joint.value).abs() / self.found.u.hypot(self.joint.u)
    }

    /// Whether it is more than a method's own flaws make.
    fn is_beyond(&self) -> bool {
        let off = (self.found.value - self.joint.value).abs();
        let joint = self.joint.value.abs();
        let beyond = match self.read {
            Read::Impedance => off > IMPEDANCE_BEYOND * joint,
            Read::Delay => off > (DELAY_BEYOND.0 * joint).max(DELAY_BEYOND.1),
            Read::Loss(_) => off > (LOSS_BEYOND.0 * joint).max(LOSS_BEYOND.1),
        };
        beyond && self.size() > NO_CHANCE
    }

    fn contradiction(&self, estimate: &Estimate, again: &Again) -> Contradiction {
        let (what, unit, scale) = match self.read {
            Read::Impedance => ("", "ohm", 1.0),
            Read::Delay => (" one way", "ns", 1e9),
            Read::Loss(_) => (" as loss", "dB", 1.0),
        };
        let difference = format!(
            "{} gives {}{what}, the fit to all sweeps {} at {}",
            self.method,
            format_uncertain(self.found.scaled(scale), unit),
            format_uncertain(self.joint.scaled(scale), unit),
            format_frequency(self.at_hz),
        );
        let (reproduced, reason) = self.reason(estimate, again, unit, scale);
        Contradiction {
            warning: Warning::new(
                WarningCode::MethodsDisagree,
                format!("{difference}: {reason}"),
            ),
            reproduced,
            beyond: self.is_beyond(),
            difference,
        }
    }

    /// Whether the fit's own sweeps lead the method there too, and why they disagree.
    fn reason(&self, estimate: &Estimate, again: &Again, unit: &str, scale: f64) -> (bool, String) {
        let Some(whole) = self.in_reports(&again.whole) else {
            let text = "the fitted sweeps do not support this method";
            return (true, text.to_owned());
        };
        let apart = whole - self.joint.value;
        let not_fitted = self.method == Method::TwoPort;
        if apart.abs() < MOST_OF_IT * (self.found.value - self.joint.value).abs() {
            if not_fitted {
                let text = "the reading at port 2, its match included, which the fit does not use";
                return (true, text.to_owned());
            }
            let text = format!(
                "from the fitted sweeps it would read {} {unit}, so the readings that it uses are to blame",
                significant(scale * whole, 4)
            );
            return (false, text);
        }
        let left = |reports: &[Report]| Some(self.in_reports(reports)? - self.joint.value);
        let best = again
            .without
            .iter()
            .filter(|(part, _)| self.may_be(*part))
            .filter_map(|(part, reports)| Some((*part, left(reports)?)))
            .min_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        match best {
            Some((part, left)) if left.abs() < (1.0 - MOST_OF_IT) * apart.abs() => {
                let text = format!(
                    "{}; without that it would read {} {unit}",
                    cause(part, estimate, self),
                    significant(scale * (self.joint.value + left), 4)
                );
                (true, text)
            }
            _ => {
                let text = "no single effect in the fit explains it";
                (true, text.to_owned())
            }
        }
    }

    /// A mismatch is what an impedance is, no error of it.
    fn may_be(&self, part: Part) -> bool {
        part != Part::Mismatch || matches!(self.read, Read::Loss(_))
    }

    fn in_reports(&self, reports: &[Report]) -> Option<f64> {
        let report = reports.iter().find(|r| r.method == self.method)?;
        let value = match self.read {
            Read::Impedance => report.impedance_ohm?.value,
            Read::Delay => report.one_way_delay_s?.value,
            Read::Loss(freq_hz) => {
                let apart = |f: f64| (f / freq_hz).ln().abs();
                let rows = report.loss_db.iter();
                let near = rows
                    .filter_map(|&(f, loss)| Some((apart(f?), loss.value)))
                    .filter(|row| row.0 < 0.1);
                near.min_by(|a, b| a.0.total_cmp(&b.0))?.1
            }
        };
        value.is_finite().then_some(value)
    }
}

fn cause(part: Part, estimate: &Estimate, of: &Disagreement) -> String {
    match part {
        Part::Plugs => {
            let [near, far] = estimate.plugs().map(|plug| {
                format!(
                    "{} ps of {} ohm",
                    significant(1e12 * plug.delay_s, 2),
                    significant(plug.impedance_ohm, 2)
                )
            });
            format!(
                "the plugs count as cable: {near} at the near end and {far} at the far end in the fit"
            )
        }
        Part::Calibration => "the analyser's errors after calibration and connection".to_owned(),
        Part::FarEnd => {
            "the far end is not ideal (value and parasitics of the load, fringing of the open)"
                .to_owned()
        }
        Part::SecondPort => "the match of port 2 after calibration".to_owned(),
        Part::Unevenness => "the impedance varies along the cable".to_owned(),
        Part::Mismatch => format!(
            "the cable is {} ohm, not the reference impedance",
            significant(estimate.impedance_ohm(of.at_hz).value, 3)
        ),
        Part::Points => "the points lie too far apart to read between them".to_owned(),
    }
}
