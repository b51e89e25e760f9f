//! What was said of the calibrated plane, with the files that were named, so that it holds without them.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use super::super::adapter::TakeAway;
use super::super::attached::Attached;
use super::super::load;
use super::super::plane::PlaneSaid;

/// What was said of the plane.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Serialize)]
#[serde(default)]
pub(super) struct SaidOfPlane {
    near: Option<KeptAdapter>,
    far: Option<KeptAdapter>,
    kit: Option<KeptFile>,
    corrected: bool,
    parts: Vec<String>,
    take_away: Vec<KeptFile>,
}

/// An adapter: in words, or as a two-port file.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
enum KeptAdapter {
    Described(String),
    File(KeptFile),
}

/// A file by its name, with what it held.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
struct KeptFile {
    name: String,
    content: Option<Content>,
}

/// Readable where the file is.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
enum Content {
    Text(String),
    Bytes(Vec<u8>),
}

impl SaidOfPlane {
    pub(super) fn of(said: &PlaneSaid) -> Self {
        let PlaneSaid {
            near,
            far,
            kit,
            corrected,
            parts,
            take_away,
        } = said;
        Self {
            near: near.as_ref().map(KeptAdapter::of),
            far: far.as_ref().map(KeptAdapter::of),
            kit: kit.as_ref().map(KeptFile::of),
            corrected: *corrected,
            parts: parts.clone(),
            take_away: take_away.iter().map(KeptFile::of).collect(),
        }
    }

    pub(super) fn said(&self) -> PlaneSaid {
        PlaneSaid {
            near: self.near.as_ref().map(KeptAdapter::take_away),
            far: self.far.as_ref().map(KeptAdapter::take_away),
            kit: self.kit.as_ref().map(KeptFile::attached),
            corrected: self.corrected,
            parts: self.parts.clone(),
            take_away: self.take_away.iter().map(KeptFile::attached).collect(),
        }
    }

    /// The same for people: what and which.
    pub(super) fn facts(&self) -> [(&'static str, Option<String>); 4] {
        let corrected = if self.corrected {
            ", sweeps corrected with it"
        } else {
            ""
        };
        let kit = self.kit.as_ref();
        let taken: Vec<&str> = self.take_away.iter().map(|f| f.name.as_str()).collect();
        [
            ("adapter near", self.near.as_ref().map(KeptAdapter::name)),
            ("adapter far", self.far.as_ref().map(KeptAdapter::name)),
            (
                "kit file",
                kit.map(|kit| format!("{}{corrected}", kit.name)),
            ),
            ("taken away", (!taken.is_empty()).then(|| taken.join(", "))),
        ]
    }
}

impl KeptAdapter {
    fn of(adapter: &TakeAway) -> Self {
        match adapter {
            TakeAway::Described(text) => Self::Described(text.clone()),
            TakeAway::File(file) => Self::File(KeptFile::of(file)),
        }
    }

    fn take_away(&self) -> TakeAway {
        match self {
            Self::Described(text) => TakeAway::Described(text.clone()),
            Self::File(file) => TakeAway::File(file.attached()),
        }
    }

    fn name(&self) -> String {
        match self {
            Self::Described(text) => text.clone(),
            Self::File(file) => file.name.clone(),
        }
    }
}

impl KeptFile {
    fn of(file: &Attached) -> Self {
        let content = file.bytes().ok().map(|bytes| {
            String::from_utf8(bytes)
                .map_or_else(|error| Content::Bytes(error.into_bytes()), Content::Text)
        });
        let name = file.path().file_name().unwrap_or(file.path().as_os_str());
        Self {
            name: load::shown(name.as_ref()),
            content,
        }
    }

    fn attached(&self) -> Attached {
        let path = PathBuf::from(&self.name);
        match &self.content {
            Some(Content::Text(text)) => Attached::held(path, text.clone().into_bytes()),
            Some(Content::Bytes(bytes)) => Attached::held(path, bytes.clone()),
            None => Attached::at(path),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_come_back_without_their_folder() {
        let held = |bytes: &[u8]| Attached::held(PathBuf::from("/bench/part.s2p"), bytes.to_vec());
        for bytes in ["[standards]\n".as_bytes(), &[0xFF, 0xFE, b'#', 0]] {
            let said = PlaneSaid {
                near: Some(TakeAway::Described("120ps".to_owned())),
                far: Some(TakeAway::File(held(bytes))),
                kit: Some(held(bytes)),
                corrected: true,
                parts: vec!["75ohm".to_owned()],
                take_away: vec![held(bytes)],
            };
            let json = serde_json::to_string(&SaidOfPlane::of(&said)).unwrap();
            let back: SaidOfPlane = serde_json::from_str(&json).unwrap();
            let kit = back.said().kit.unwrap();
            assert_eq!(kit.path(), "part.s2p");
            assert_eq!(kit.bytes().unwrap(), bytes);
            assert_eq!(back.said().far, Some(TakeAway::File(kit)));
            assert_eq!(back.said().near, said.near);
            assert!(back.said().corrected);
            assert_eq!(back.said().parts, said.parts);
            assert_eq!(back.said().take_away[0].bytes().unwrap(), bytes);
        }
    }

    #[test]
    fn an_older_setup_says_nothing_of_it() {
        let older: SaidOfPlane = serde_json::from_str("{}").unwrap();
        assert_eq!(older, SaidOfPlane::of(&PlaneSaid::default()));
    }
}
