//! Reads a kit's file.

use std::path::Path;

use super::attached::Attached;
use super::kit::{Kit, KitError};
use super::kit_file::{KitFile, StandardFile};
use super::load::{LoadError, shown};

/// Reads a kit and the tables it names.
///
/// # Errors
/// [`KitError`] with the file, the standard and what is wrong.
pub fn read(path: &Path) -> Result<Kit, KitError> {
    kit(path, Attached::at(path.to_owned()).bytes(), |_| true)
}

/// Reads what a kit describes and passes over its tables, so that the file is all that it needs.
///
/// # Errors
/// [`KitError`] with the file, the standard and what is wrong.
pub fn described(file: &Attached) -> Result<Kit, KitError> {
    kit(file.path(), file.bytes(), |standard| !standard.is_table())
}

fn kit(
    path: &Path,
    bytes: Result<Vec<u8>, LoadError>,
    wanted: impl Fn(&StandardFile) -> bool,
) -> Result<Kit, KitError> {
    let text = text(path, bytes?)?;
    let file: KitFile = toml::from_str(&text).map_err(|error| KitError::Format {
        path: path.to_owned(),
        message: located(&text, &error),
    })?;
    let reference_ohm = file.reference_ohm.unwrap_or(50.0);
    if !(reference_ohm.is_finite() && reference_ohm > 0.0) {
        return Err(KitError::Format {
            path: path.to_owned(),
            message: format!("reference_ohm of {reference_ohm} is not a positive number"),
        });
    }
    let standards = file.standards.into_iter().filter(|(_, s)| wanted(s));
    let standards = standards.map(|(name, s)| {
        let standard = s.standard(path, &name, reference_ohm)?;
        Ok((name, standard))
    });
    Ok(Kit {
        name: file.name.unwrap_or_else(|| shown(path)),
        reference_ohm,
        standards: standards.collect::<Result<_, KitError>>()?,
    })
}

fn text(path: &Path, bytes: Vec<u8>) -> Result<String, KitError> {
    String::from_utf8(bytes).map_err(|error| KitError::Format {
        path: path.to_owned(),
        message: error.to_string(),
    })
}

fn located(text: &str, error: &toml::de::Error) -> String {
    let message = error.message().replace('\n', "; ");
    match error.span() {
        Some(span) => {
            let line = text[..span.start.min(text.len())].matches('\n').count() + 1;
            format!("line {line}: {message}")
        }
        None => message,
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use lineproof_core::calibration::Definition;
    use lineproof_core::calibration::standard::End;

    use super::*;

    fn read_text(name: &str, text: &str) -> Result<Kit, KitError> {
        let folder = std::env::temp_dir().join(format!("lineproof-kit-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let path = folder.join(name);
        fs::write(&path, text).unwrap();
        read(&path)
    }

    #[test]
    fn a_kit_is_read_with_its_limits() {
        let kit = read_text(
            "good.toml",
            "name = \"N\"\n[standards.open]\nkind = \"open\"\ncapacitance_f = [90e-15, 2500e-27]\n\
             capacitance_within_f = 9e-15\n[standards.open.offset]\nlength_m = 12e-3\nloss_db = 0.003\n\
             [standards.load]\nkind = \"load\"\nresistance_ohm = 49.9\n",
        )
        .unwrap();
        let Definition::Described(open) = &kit.standard("open").unwrap().definition else {
            panic!("described");
        };
        let End::Open(c) = open.end else {
            panic!("an open")
        };
        assert_eq!(c.coefficients, [90e-15, 2500e-27, 0.0, 0.0]);
        // Rectangular: a/√3 (JCGM 100:2008, 4.3.7).
        assert!((c.u / 9e-15 - 1.0 / 3f64.sqrt()).abs() < 1e-12);
        assert!((open.offset.one_way_delay_s.value - 40.03e-12).abs() < 0.01e-12);
        assert_eq!(kit.exact(), ["load"]);
    }

    #[test]
    fn what_is_wrong_is_named_with_its_line() {
        let cases = [
            ("kind", "[standards.a]\nkind = \"opn\"\n", "line 2"),
            ("key", "[standards.a]\nkind = \"open\"\ncap = 1\n", "line 3"),
            (
                "use",
                "[standards.a]\nkind = \"open\"\nresistance_ohm = 50\n",
                "`resistance_ohm` has no meaning",
            ),
            (
                "sign",
                "[standards.a]\nkind = \"load\"\nresistance_ohm = -50\n",
                "not a positive number",
            ),
            (
                "both",
                "[standards.a]\nkind = \"short\"\noffset = { delay_s = 1e-12, length_m = 1e-3 }\n",
                "either `delay_s` or `length_m`",
            ),
            ("file", "[standards.a]\nkind = \"table\"\n", "needs `file`"),
        ];
        for (name, text, wanted) in cases {
            let message = read_text(name, text).unwrap_err().to_string();
            assert!(message.contains(wanted), "{name}: {message}");
        }
    }
}
