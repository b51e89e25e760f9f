//! Sweeps onto a bench: far ends declared or judged, references set to the load's true value, two-ports
//! before the cable taken out.
//!
//! [`gather()`] takes what files hold ([`Reading`]), what is known besides ([`Knowledge`]) and the calibrated plane
//! ([`Resolved`]) to a [`Bench`] with the warnings that belong to it. A sweep that can't be placed is left out and
//! named; the rest goes on.

mod at_plane;
mod error;
mod knowledge;
mod plane;
mod role;

use crate::bench::{Bench, FarEnd};
use crate::calibration::fixture::without_two_port;
use crate::calibration::{Corrected, Standard};
use crate::far_end;
use crate::finding::{CalibrationFound, SweepUsed, Warning, WarningCode};
use crate::formats::{Measurement, Network, NoticeCode};
use crate::sweep::{Sweep, SweepError, ThroughSweep};
use crate::uncertain::Uncertain;

pub use error::GatherError;
pub use knowledge::{Knowledge, KnowledgeError, Stated, measured_load};
pub use plane::{PartError, Resolved, known_standards, part};
pub use role::Role;

/// One file's readings, with its name and what it was said to be.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Name for messages.
    pub label: String,
    /// What it was said to be.
    pub role: Role,
    /// The readings.
    pub network: Network,
}

/// What was odd about a file that was read all the same, by its name for messages. Reflections above one are left to the
/// check that knows the analyser's errors.
pub fn notices(label: &str, measurement: &Measurement) -> Vec<Warning> {
    let one_port = matches!(measurement.network, Network::OnePort(_));
    let notices = measurement.notices.iter();
    notices
        .filter(|notice| !(one_port && notice.code == NoticeCode::AboveOne))
        .map(|notice| {
            let at = notice.line.map_or_else(String::new, |n| format!(":{n}"));
            Warning::new(notice.code, format!("{label}{at}: {}", notice.text))
        })
        .collect()
}

/// A bench with what was noted while it was set up.
#[derive(Debug)]
pub struct Gathered {
    /// The bench.
    pub bench: Bench,
    /// The sweeps on it, reflections first.
    pub sweeps: Vec<SweepUsed>,
    /// What the reader must know.
    pub warnings: Vec<Warning>,
    /// What long lines at the plane show of the calibration.
    pub calibration: Vec<CalibrationFound>,
    /// Parts that were described, each with its name.
    parts: Vec<(String, Standard)>,
    /// Two-ports to take out, from the analyser outwards.
    de_embed: Vec<ThroughSweep>,
    /// Length of the shorter piece by tape, m.
    shorter_m: Option<Uncertain>,
    /// Judgements of the far end, a sentence each.
    judgements: Vec<String>,
    /// Sweeps that could not be placed.
    pub refused: Vec<GatherError>,
}

impl Reading {
    /// Impedance that the readings refer to, ohm.
    pub fn reference_ohm(&self) -> f64 {
        reference_ohm(&self.network)
    }
}

/// Sets up the bench. Sweeps that can't be placed are left out and listed.
///
/// ```
/// use lineproof_core::FarEnd;
/// use lineproof_core::formats::{ReadOptions, read};
/// use lineproof_core::gather::{Knowledge, Reading, Resolved, Role, gather};
///
/// let file = b"# MHz S RI R 50\n1 0.98 -0.05\n2 0.97 -0.10\n3 0.96 -0.15\n";
/// let network = read(file, "drum.s1p", &ReadOptions::default())?.network;
/// let label = "drum.s1p".to_owned();
/// let readings = vec![Reading { label, role: Role::Judge, network }];
/// let gathered = gather(readings, &Knowledge::default(), Resolved::default())?;
/// assert_eq!(gathered.bench.sweeps()[0].far_end, FarEnd::Open); // near +1 at low frequency
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`GatherError`] if nothing is left or what is known contradicts the sweeps.
pub fn gather(
    readings: Vec<Reading>,
    known: &Knowledge,
    plane: Resolved,
) -> Result<Gathered, GatherError> {
    let reference_ohm = readings
        .first()
        .map(|r| reference_ohm(&r.network))
        .ok_or(GatherError::NothingLeft)?;
    let (kit_load, far_load) = known.loads(&plane, reference_ohm)?;
    let mut gathered = Gathered {
        bench: Bench::new(kit_load)?
            .with_far_load(far_load)?
            .with_length(known.length()?)?
            .with_marking(known.marking.clone())
            .with_plane(plane.plane)?,
        sweeps: Vec::new(),
        warnings: Vec::new(),
        calibration: Vec::new(),
        parts: plane.parts,
        de_embed: plane.de_embed,
        shorter_m: known.shorter_length()?,
        judgements: Vec::new(),
        refused: Vec::new(),
    };
    for reading in readings {
        if let Err(error) = gathered.place(reading, reference_ohm) {
            gathered.refused.push(error);
        }
    }
    gathered.refuse_shorter_alone();
    gathered.swap_back();
    gathered.warnings.extend(gathered.aged(known));
    let judged = std::mem::take(&mut gathered.judgements);
    let judged = judged
        .into_iter()
        .map(|text| Warning::new(WarningCode::FarEndGuessed, text));
    gathered.warnings.splice(0..0, judged);
    let bench = &gathered.bench;
    if bench.sweeps().is_empty() && bench.throughs().is_empty() && bench.antennas().is_empty() {
        return Err(gathered.refused.pop().unwrap_or(GatherError::NothingLeft));
    }
    Ok(gathered)
}

/// Time within which what drift does is what each method's interval counts, s
/// ([`Accuracy::POCKET`](crate::calibration::Accuracy::POCKET)). Common practice.
const FRESH_S: f64 = 3600.0;

/// What a sweep through a shorter piece is called where sweeps are listed.
const SHORTER: &str = "through the shorter piece";

impl Gathered {
    /// A calibration older than that, with nothing at the plane to show what became of it. No source
    /// says how drift grows with time, so no prior follows from the age.
    fn aged(&self, known: &Knowledge) -> Option<Warning> {
        let age_s = known.calibration_age_s.filter(|&age| age > FRESH_S)?;
        let plane = self.bench.plane();
        if !plane.checks.is_empty() || !plane.parts.is_empty() {
            return None;
        }
        Some(Warning::new(
            WarningCode::CalibrationOld,
            format!(
                "the calibration was {} old: the fit estimates the drift from the sweeps, but \
                 each method by itself assumes that of one hour; measure a calibration standard \
                 again as a check, or calibrate again",
                format_args!("{:.1} hours", age_s / 3600.0)
            ),
        ))
    }

    /// Without a sweep through the longer there is nothing that a shorter piece could be compared with.
    fn refuse_shorter_alone(&mut self) {
        if !self.bench.throughs().is_empty() || !self.bench.remove_shorter() {
            return;
        }
        if let Some(at) = self.sweeps.iter().position(|s| s.far_end == SHORTER) {
            let label = self.sweeps.remove(at).file;
            self.refused.push(GatherError::ShorterAlone { label });
        }
    }

    fn place(&mut self, reading: Reading, first_ohm: f64) -> Result<(), GatherError> {
        let found_ohm = reference_ohm(&reading.network);
        if found_ohm != first_ohm {
            return Err(GatherError::References {
                label: reading.label,
                found_ohm,
                first_ohm,
            });
        }
        match (reading.network, reading.role) {
            (network, Role::Check(standard)) => self.place_check(network, standard, reading.label),
            (network, Role::Part(which)) => self.place_part(network, which, reading.label),
            (network, Role::Line) => self.place_line(network, reading.label),
            (Network::OnePort(_), Role::Through | Role::Shorter) => Err(GatherError::NotTwoPort {
                label: reading.label,
            }),
            (Network::TwoPort(through), Role::Through | Role::Judge) => {
                self.place_through(through, reading.label)
            }
            (Network::TwoPort(through), Role::Shorter) => {
                self.place_shorter(through, reading.label)
            }
            (Network::TwoPort(through), role) => {
                let sweep = port_one(&through)?;
                self.warnings.push(Warning::new(
                    WarningCode::SecondPortIgnored,
                    format!(
                        "`{}` has two ports; only the reflection at port 1 is used",
                        reading.label
                    ),
                ));
                self.place_reflection(sweep, role, reading.label)
            }
            (Network::OnePort(sweep), role) => self.place_reflection(sweep, role, reading.label),
        }
    }

    fn place_through(&mut self, through: ThroughSweep, label: String) -> Result<(), GatherError> {
        if !self.de_embed.is_empty() {
            return Err(GatherError::ThroughBehind { label });
        }
        let used = used(&label, "through".to_owned(), false, through.freq_hz());
        self.bench.add_through(through, label)?;
        self.sweeps.push(used);
        Ok(())
    }

    fn place_shorter(&mut self, through: ThroughSweep, label: String) -> Result<(), GatherError> {
        let Some(length_m) = self.shorter_m else {
            return Err(GatherError::NoShorterLength { label });
        };
        let used = used(&label, SHORTER.to_owned(), false, through.freq_hz());
        self.bench.set_shorter(through, length_m, &label)?;
        self.sweeps.push(used);
        Ok(())
    }

    /// The reflection at the cable itself, in the unit of the calibration load.
    fn at_cable(&mut self, sweep: Sweep, label: &str) -> Result<Sweep, GatherError> {
        let sweep = sweep.with_reference(self.bench.kit_load().ohm.value)?;
        if self.de_embed.is_empty() {
            return Ok(sweep);
        }
        // only the reflections are wanted; what they are uncertain by the estimate finds itself
        let mut left = Corrected::of_sweep(&sweep, |_, _| 0.0);
        for two_port in &self.de_embed {
            left = without_two_port(&left, two_port).map_err(|source| GatherError::DeEmbed {
                label: label.to_owned(),
                source,
            })?;
        }
        let lost = left.refused().into_iter().map(|range| {
            let text = format!(
                "`{label}`: {} points are left out: {}",
                range.points, range.refusal
            );
            Warning::new(WarningCode::PointsLeftOut, text)
        });
        self.warnings.extend(lost);
        Ok(left.sweep())
    }

    fn place_reflection(
        &mut self,
        sweep: Sweep,
        role: Role,
        label: String,
    ) -> Result<(), GatherError> {
        let sweep = self.at_cable(sweep, &label)?;
        if role == Role::Antenna {
            let used = used(&label, "antenna".to_owned(), false, sweep.freq_hz());
            self.bench.add_antenna(sweep, label)?;
            self.sweeps.push(used);
            return Ok(());
        }
        let far_end = match role {
            Role::Open => self.declared(&sweep, FarEnd::Open, &label),
            Role::Short => self.declared(&sweep, FarEnd::Short, &label),
            Role::Load => self.declared(&sweep, FarEnd::Load, &label),
            _ => self.judged(&sweep, &label)?,
        };
        let guessed = role == Role::Judge;
        self.sweeps
            .push(used(&label, far_end.to_string(), guessed, sweep.freq_hz()));
        self.bench.add_sweep(far_end, sweep, label)?;
        Ok(())
    }

    fn declared(&mut self, sweep: &Sweep, declared: FarEnd, label: &str) -> FarEnd {
        let load_ohm = self.bench.far_load().ohm.value;
        if let Some(seen) = far_end::contradiction_with_load(sweep, declared, load_ohm) {
            self.mismatch(label, declared, seen, "was declared");
        }
        declared
    }

    /// A sweep that looks otherwise than said, with the likely reasons in order and what settles it.
    fn mismatch(&mut self, label: &str, said: FarEnd, seen: FarEnd, how: &str) {
        let text = format!(
            "`{label}` {how} {said} but looks like {seen}: {}",
            mismatch_cause(said, seen)
        );
        self.warnings
            .push(Warning::new(WarningCode::FarEndMismatch, text));
    }

    fn judged(&mut self, sweep: &Sweep, label: &str) -> Result<FarEnd, GatherError> {
        let judgement = far_end::judge(sweep, label)?;
        self.judgements.push(judgement.sentence);
        if let Some(seen) = judgement.data_show {
            self.mismatch(label, judgement.far_end, seen, "is named");
        }
        Ok(judgement.far_end)
    }

    /// Two sweeps that each look like the other's end are taken as what they look like.
    fn swap_back(&mut self) {
        let ends: Vec<(&Sweep, FarEnd)> = self
            .bench
            .sweeps()
            .iter()
            .map(|s| (&s.sweep, s.far_end))
            .collect();
        for (i, j) in far_end::swapped(&ends) {
            self.bench.swap_far_ends(i, j);
            let pair = [i, j].map(|k| {
                let ended = &self.bench.sweeps()[k];
                (ended.label.clone(), ended.far_end)
            });
            self.forget_mismatch(&pair);
            self.warnings.push(swapped_warning(&pair));
        }
    }

    /// What was said of the two sweeps before they were known to be swapped.
    fn forget_mismatch(&mut self, pair: &[(String, FarEnd); 2]) {
        let about = |text: &str| {
            let mut labels = pair.iter().map(|(label, _)| format!("`{label}`"));
            labels.any(|label| text.starts_with(&label))
        };
        self.warnings
            .retain(|w| w.code != WarningCode::FarEndMismatch || !about(&w.text));
        self.judgements.retain(|text| !about(text));
        for (label, far_end) in pair {
            let used = self.sweeps.iter_mut().filter(|s| s.file == *label);
            used.for_each(|s| s.far_end = far_end.to_string());
        }
    }
}

/// What two swapped sweeps are taken as.
fn swapped_warning([(first, first_end), (second, second_end)]: &[(String, FarEnd); 2]) -> Warning {
    let with_load = [first_end, second_end].contains(&&FarEnd::Load);
    let (code, calibration) = if with_load {
        (WarningCode::NamesSwapped, "")
    } else {
        (
            WarningCode::StandardsSwapped,
            "; if open and short were swapped during the calibration instead, calibrate again",
        )
    };
    Warning::new(
        code,
        format!(
            "`{first}` and `{second}` each look like the other's far end: they are swapped, and `{first}` is taken as \
             {first_end}, `{second}` as {second_end}{calibration}"
        ),
    )
}

/// What makes a sweep look otherwise than said, the likeliest first, and what settles it.
fn mismatch_cause(said: FarEnd, seen: FarEnd) -> &'static str {
    match (said, seen) {
        (FarEnd::Load, FarEnd::Open) => {
            "the cable is broken on the way, the load was not connected, or it is the wrong file; sweep again with the \
             load screwed on, with the far end shorted, and from the other end"
        }
        (_, FarEnd::Open) => {
            "the cable is broken on the way, or it is the wrong file; sweep from the other end"
        }
        (_, FarEnd::Short) => {
            "the cable is shorted on the way, a short was left on, or it is the wrong file; take everything off the \
             far end and sweep again, and from the other end"
        }
        (_, FarEnd::Load) => {
            "a load was left on, or it is the wrong file; take it off and sweep again"
        }
    }
}

fn reference_ohm(network: &Network) -> f64 {
    match network {
        Network::OnePort(sweep) => sweep.z_ref_ohm(),
        Network::TwoPort(through) => through.z_ref_ohm(),
    }
}

/// Reflection at port 1 of a two-port file whose far end was declared.
fn port_one(through: &ThroughSweep) -> Result<Sweep, SweepError> {
    Sweep::new(
        through.freq_hz().to_vec(),
        through.s11().to_vec(),
        through.z_ref_ohm(),
    )
}

fn used(label: &str, far_end: String, guessed: bool, freq_hz: &[f64]) -> SweepUsed {
    SweepUsed {
        file: label.to_owned(),
        far_end,
        guessed,
        points: freq_hz.len(),
        start_hz: freq_hz[0],
        stop_hz: freq_hz[freq_hz.len() - 1],
        off_rms: None,
    }
}
