//! An event in words: a sentence, and a row of a list.

use super::events::{End, EventFound, EventKind, EventRow};
use crate::quantity::digits::pair;
use crate::quantity::{format_delay, format_frequency, format_uncertain};

/// Least half-width that a loss is written to, dB.
const LEAST_U95_DB: f64 = 0.005;

impl EventFound {
    /// Its place in words: in metres, else as a share of the way and in delay.
    pub fn place(&self) -> String {
        if let Some(at_m) = self.place_m() {
            return format_uncertain(at_m, "m");
        }
        let delay = format_delay((self.one_way_s * 1e12).round() / 1e12);
        match self.share {
            Some(share) => format!("{:.1} % of the way ({delay} one way)", 100.0 * share),
            None => format!("{delay} one way"),
        }
    }

    /// The event in a sentence.
    pub fn sentence(&self) -> String {
        let at = self.place();
        let z = self.impedance_ohm.map_or_else(String::new, |z| {
            format!(", {} there", ohms(z, self.u95_impedance_ohm))
        });
        let what = match self.kind {
            EventKind::Dent => format!("dented or kinked at {at}{z}"),
            EventKind::Wet => {
                let over = self
                    .length_m
                    .map_or_else(String::new, |m| format!(", over {m:.2} m"));
                format!("wet around {at}{over}{z}")
            }
            EventKind::Splice => self.splice(&at),
            EventKind::Joint => {
                let series = self.series_ohm.map_or_else(String::new, |r| {
                    format!(", {} in series", ohms(r, self.u95_series_ohm))
                });
                format!("bad joint at {at}{series}")
            }
            EventKind::Connector => format!("connector in the line at {at}{z}"),
            EventKind::Shunt => {
                let across = self.shunt_ohm.map_or_else(String::new, |r| {
                    format!(", {} across the line", ohms(r, self.u95_shunt_ohm))
                });
                format!("leak from conductor to shield at {at}{across}")
            }
            EventKind::Stub => format!("stub on a tee at {at}"),
            EventKind::Open => format!("broken, open at {at}"),
            EventKind::Short => format!("shorted at {at}"),
            EventKind::Unknown => format!("irregular impedance, worst at {at}{z}"),
        };
        if self.or.is_empty() {
            return what;
        }
        let others: Vec<&str> = self.or.iter().map(|kind| kind.noun()).collect();
        format!(
            "{what} (these sweeps cannot distinguish it from {})",
            others.join(" or ")
        )
    }

    fn splice(&self, at: &str) -> String {
        let ohm = self.impedance_ohm.map_or_else(String::new, |z| {
            format!(" of {}", ohms(z, self.u95_impedance_ohm))
        });
        let reach = self.reach();
        format!("another cable{ohm} joined on at {at}{reach}")
    }

    fn beside(&self) -> String {
        self.beside_ohm
            .map_or_else(String::new, |z| format!(" beside {z:.1} ohm"))
    }

    /// Kind, place and what is known of it, as a list has it.
    pub fn text(&self) -> String {
        let at = match (self.at_m, self.u95_m) {
            (Some(at_m), Some(u95_m)) => {
                let (at, u95) = pair(at_m, u95_m);
                format!("{at} ± {u95} m")
            }
            _ => self.place(),
        };
        let there = self.impedance_ohm.map_or_else(String::new, |z| {
            let there = if self.kind == EventKind::Stub {
                "of its own"
            } else {
                "there"
            };
            let beside = self.beside();
            format!(", {} {there}{beside}", ohms(z, self.u95_impedance_ohm))
        });
        let series = self.series_ohm.map_or_else(String::new, |r| {
            format!(", {} in series", ohms(r, self.u95_series_ohm))
        });
        let across = self.across();
        let own = self.by_itself();
        let length = self.length_m;
        let length = length.map_or_else(String::new, |m| format!(", over {m:.3} m"));
        let reach = self.reach();
        let kinds: Vec<&str> = self.or.iter().map(|kind| kind.name()).collect();
        let or = if kinds.is_empty() {
            String::new()
        } else {
            format!(", or {}", kinds.join(" or "))
        };
        let alone = if self.by_tape_alone {
            ", by the tape alone"
        } else {
            ""
        };
        format!(
            "{} at {at}{length}{there}{series}{across}{reach}{or}{alone}{own}",
            self.kind
        )
    }

    /// Resistance and capacitance across the line, and its own delay.
    fn across(&self) -> String {
        let shunt = self.shunt_ohm.map(|r| {
            let ohm = ohms(r, self.u95_shunt_ohm);
            format!(", {ohm} across")
        });
        let capacitance = self.shunt_f.map(|c| {
            let (c, u95) = pair(1e12 * c, 1e12 * self.u95_shunt_f.unwrap_or(0.1 * c));
            format!(", {c} ± {u95} pF across")
        });
        let delay = self.own_delay_s.map(|s| {
            let (s, u95) = pair(1e12 * s, 1e12 * self.u95_own_delay_s.unwrap_or(0.1 * s));
            format!(", {s} ± {u95} ps long by itself")
        });
        let parts = [shunt, capacitance, delay];
        parts.into_iter().flatten().collect()
    }

    /// What it reflects and loses by itself at each frequency.
    fn by_itself(&self) -> String {
        let row = |row: &EventRow| {
            let (loss, u95) = pair(row.loss_db, row.u95_loss_db.max(LEAST_U95_DB));
            format!(
                "return loss {:.1} dB and {loss} ± {u95} dB of loss at {}",
                row.return_loss_db,
                format_frequency(row.at_hz)
            )
        };
        let rows: Vec<String> = self.by_itself.iter().map(row).collect();
        if rows.is_empty() {
            String::new()
        } else {
            format!("; by itself {}", rows.join(", "))
        }
    }

    /// Of a splice: the stretch that is another cable.
    fn reach(&self) -> &'static str {
        match self.reaches {
            Some(End::Near) => ", from the near end to there",
            Some(End::Far) => ", from there to the far end",
            None => "",
        }
    }
}

fn ohms(ohm: f64, u95: Option<f64>) -> String {
    match u95 {
        Some(u95) => {
            let (ohm, u95) = pair(ohm, u95);
            format!("{ohm} ± {u95} ohm")
        }
        None => format!("{ohm:.1} ohm"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_event_says_everything_that_is_known_of_it() {
        let joint = EventFound {
            series_ohm: Some(2.14),
            u95_series_ohm: Some(0.11),
            or: vec![EventKind::Dent],
            by_tape_alone: true,
            ..EventFound::at(EventKind::Joint, 1.5, 0.02)
        };
        assert_eq!(
            joint.text(),
            "joint at 1.500 ± 0.020 m, 2.14 ± 0.11 ohm in series, or dent, by the tape alone"
        );
    }
}
