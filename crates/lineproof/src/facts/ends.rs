//! What a file can be: a row for each, as [`table`](super::table) has one for each fact.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What ended the cable in one sweep, as said.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Ended {
    /// To be judged by the data and the name.
    #[default]
    Judge,
    /// Nothing.
    Open,
    /// A short.
    Short,
    /// A load.
    Load,
    /// An antenna, or anything else that nobody knows.
    Antenna,
    /// Port 2 of the analyser.
    Through,
    /// The sweep is not to be used.
    LeaveOut,
    /// No cable: the kit's open at the plane, swept again after the calibration.
    CheckOpen,
    /// The same with the kit's short.
    CheckShort,
    /// The same with the kit's load.
    CheckLoad,
    /// No cable: another known part at the plane, the one of `parts`.
    CheckPart,
    /// No cable: a long line at the plane, whose ripple shows what the calibration left.
    Ripple,
    /// No cable: a two-port that was between the plane and the near plug, such as a pad or a transformer,
    /// to be taken out of the sweeps. Several stand from the analyser outwards.
    DeEmbed,
    /// A shorter piece of the same cable with the same plugs, from port to port; `shorter_length` is its
    /// length.
    Shorter,
}

/// Where a form asks for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// At once: it is a sweep of the cable.
    AtOnce,
    /// Among what was at the calibrated plane.
    Part,
    /// Among what was between the plane and the cable.
    TwoPort,
    /// As another piece of the same cable.
    Piece,
    /// Not at all: it is what a file is until somebody says otherwise.
    Never,
}

/// What a file can be.
#[derive(Clone, Copy, Debug)]
pub struct End {
    /// Which.
    pub ended: Ended,
    /// Its name in forms and JSON.
    pub name: &'static str,
    /// What a form calls it.
    pub label: &'static str,
    /// A sentence for the option of its files, without a full stop; empty if it has none of its own.
    pub help: &'static str,
    /// Where a form asks for it.
    pub asked: Asked,
}

/// Every row, in the order of a form.
pub const ALL: [End; 14] = [
    end(Ended::Open, "open", "open", OPEN, Asked::AtOnce),
    end(Ended::Short, "short", "short", SHORT, Asked::AtOnce),
    end(Ended::Load, "load", "load", LOAD, Asked::AtOnce),
    end(
        Ended::Antenna,
        "antenna",
        "antenna or anything else",
        ANTENNA,
        Asked::AtOnce,
    ),
    end(Ended::Through, "through", "through", THROUGH, Asked::AtOnce),
    end(Ended::LeaveOut, "leave-out", "leave out", "", Asked::AtOnce),
    end(
        Ended::CheckOpen,
        "check-open",
        "open again",
        CHECK,
        Asked::Part,
    ),
    end(
        Ended::CheckShort,
        "check-short",
        "short again",
        CHECK,
        Asked::Part,
    ),
    end(
        Ended::CheckLoad,
        "check-load",
        "load again",
        CHECK,
        Asked::Part,
    ),
    end(
        Ended::CheckPart,
        "check-part",
        "another known part",
        CHECK,
        Asked::Part,
    ),
    end(
        Ended::Ripple,
        "ripple",
        "long line, for its ripple",
        RIPPLE,
        Asked::Part,
    ),
    end(
        Ended::DeEmbed,
        "de-embed",
        "pad or transformer",
        DE_EMBED,
        Asked::TwoPort,
    ),
    end(
        Ended::Shorter,
        "shorter",
        "shorter piece",
        SHORTER,
        Asked::Piece,
    ),
    end(Ended::Judge, "judge", "not said", JUDGE, Asked::Never),
];

/// Help of `--open`.
pub const OPEN: &str = "Sweep with nothing at the far end";
/// Help of `--short`.
pub const SHORT: &str = "Sweep with a short at the far end";
/// Help of `--load`.
pub const LOAD: &str = "Sweep with a load at the far end";
/// Help of `--antenna`.
pub const ANTENNA: &str =
    "Sweep with an antenna at the far end, or anything else that nobody knows";
/// Help of `--through`.
pub const THROUGH: &str = "Two-port sweep from end to end";
/// Help of files without an option.
pub const JUDGE: &str = "Sweeps; data and name show what was at the far end";
/// Help of `--check`, which all known parts share.
pub const CHECK: &str = "Known part measured at the plane after the calibration: its open, short or load again, a \
                         resistor (75ohm, 25ohm+-0.05ohm), or a standard of the kit by name";
/// Help of `--ripple`.
pub const RIPPLE: &str = "Sweep of a long line of the reference impedance that ends in a short or a load; its ripple \
                          shows what the calibration left";
/// Help of `--de-embed`.
pub const DE_EMBED: &str = "Two-port to de-embed between the plane and the near plug, such as a matching pad: a file \
                            with port 1 towards the analyser; list several from the analyser outwards";
/// Help of `--shorter`.
pub const SHORTER: &str =
    "Two-port sweep of a shorter piece of the same cable with the same plugs, which then cancel";

const fn end(
    ended: Ended,
    name: &'static str,
    label: &'static str,
    help: &'static str,
    asked: Asked,
) -> End {
    End {
        ended,
        name,
        label,
        help,
        asked,
    }
}

/// What a form asks for there, in its order.
pub fn asked(there: Asked) -> impl Iterator<Item = &'static End> {
    ALL.iter().filter(move |end| end.asked == there)
}

impl Ended {
    /// The one of this name.
    ///
    /// # Errors
    /// What is expected.
    pub fn named(name: &str) -> Result<Self, String> {
        let found = ALL.iter().find(|end| end.name == name);
        found
            .map(|end| end.ended)
            .ok_or_else(|| format!("`{name}` is not a far end"))
    }

    /// Its name in forms and JSON.
    pub fn name(self) -> &'static str {
        let found = ALL.iter().find(|end| end.ended == self);
        found.map_or("", |end| end.name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_found_by_its_name_which_is_that_of_its_json() {
        for End { ended, name, .. } in ALL {
            assert_eq!(Ended::named(name), Ok(ended));
            assert_eq!(serde_json::to_value(ended).unwrap(), name);
        }
    }
}
