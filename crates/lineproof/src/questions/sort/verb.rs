//! `lineproof sort`.

use std::io::Write;
use std::sync::Mutex;

use indicatif::{ProgressBar, ProgressStyle};

use super::answer::Table;
use super::arguments::SortArgs;
use super::rows::{self, Cable, Row};
use super::watch::{PAUSE, Watch};
use super::{group, progress, text};
use crate::{exit, output};
use lineproof_core::finding::judge::grade::Grade;

/// `lineproof sort`.
pub(crate) fn sort(arguments: &SortArgs) -> u8 {
    if arguments.watch {
        return watch(arguments);
    }
    let cables = match &arguments.manifest {
        Some(manifest) => group::by_manifest(manifest),
        None => group::in_folders(&arguments.folders),
    };
    match cables {
        Ok(cables) if cables.is_empty() => {
            output::message("error: no sweeps found");
            output::message("help: sweeps end in .s1p, .s2p, .ts, .csv, .tsv or .txt");
            exit::NOTHING_READ
        }
        Ok(cables) => all(arguments, &cables),
        Err(error) => {
            output::error(&error, None);
            exit::NOTHING_READ
        }
    }
}

fn all(arguments: &SortArgs, cables: &[Cable]) -> u8 {
    let (known, file) = match resumed(arguments) {
        Ok(resumed) => resumed,
        Err(error) => {
            output::message(&format!(
                "error: cannot use the file of `--resume`: {error}"
            ));
            return exit::OUTPUT;
        }
    };
    let file = Mutex::new(file);
    let bar = bar(cables.len());
    let done = |fingerprint: &str, row: &Row| {
        let mut file = file
            .lock()
            .expect("no thread panics while it writes a line");
        if let Some(target) = file.as_mut().filter(|_| !known.contains_key(fingerprint))
            && let Err(error) = progress::add(target, fingerprint, row)
        {
            bar.suspend(|| output::message(&format!("warning: `--resume` stops here: {error}")));
            *file = None;
        }
        bar.inc(1);
    };
    let rows = rows::sort(cables, &arguments.facts.request(), &known, &done);
    bar.finish_and_clear();
    let code = code(&rows);
    if arguments.json {
        output::json(&Table::of(rows), code)
    } else if arguments.csv {
        output::result(&text::csv(&rows), code)
    } else {
        output::result(&text::text(&rows), code)
    }
}

type Resumed = (rows::Done, Option<std::fs::File>);

fn resumed(arguments: &SortArgs) -> std::io::Result<Resumed> {
    match &arguments.resume {
        Some(path) => Ok((progress::read(path)?, Some(progress::append(path)?))),
        None => Ok((rows::Done::new(), None)),
    }
}

/// Seen only where standard error is a terminal.
fn bar(cables: usize) -> ProgressBar {
    let style = ProgressStyle::with_template("{pos} of {len} cables {wide_bar} {eta}");
    ProgressBar::new(cables as u64).with_style(style.expect("the template is valid"))
}

fn code(rows: &[Row]) -> u8 {
    if rows.iter().any(|row| !row.left_out.is_empty()) {
        exit::ANSWERED_IN_PART
    } else if rows.iter().all(|row| row.grade == Grade::Undetermined) {
        exit::UNDETERMINED
    } else {
        exit::ANSWERED
    }
}

/// A line for each cable as its sweeps arrive, until the process is ended.
fn watch(arguments: &SortArgs) -> u8 {
    let request = arguments.facts.request();
    let mut watch = Watch::default();
    output::message("waiting for sweeps; press Ctrl-C to stop");
    loop {
        let ready = match watch.look(&arguments.folders) {
            Ok(ready) => ready,
            Err(error) => {
                output::error(&error, None);
                return exit::NOTHING_READ;
            }
        };
        for cable in ready {
            let row = rows::find_one(&cable, &request);
            let line = if arguments.json {
                format!("{}\n", serde_json::json!(row))
            } else {
                text::text(std::slice::from_ref(&row))
            };
            let mut out = std::io::stdout().lock();
            if out
                .write_all(line.as_bytes())
                .and_then(|()| out.flush())
                .is_err()
            {
                return exit::ANSWERED;
            }
        }
        std::thread::sleep(PAUSE);
    }
}
