//! `lineproof shelf`, and `assay --shelve`.

use std::error::Error;
use std::fs::File;
use std::io::BufWriter;
use std::path::Path;

use lineproof_record::{Decision, Filter, Note, Photo, Shelf, ShelfError};

use super::answer::{CableAnswer, ShelfAnswer};
use super::arguments::{ShelfArgs, ShelfVerb, ShelveArgs, WhichShelf};
use super::text::{self, Shown};
use crate::facts::Setup;
use crate::finding::Finding;
use crate::workflow::assay::Outcome;
use crate::workflow::shelf::{self, AgainError, now};
use crate::{exit, output};

/// Keeps a finding if the arguments say so; gives the exit code, which gets worse if that fails.
pub(crate) fn keep(
    arguments: &ShelveArgs,
    setup: &Setup,
    outcome: &Outcome,
    finding: &Finding,
    code: u8,
) -> u8 {
    let Some(tag) = &arguments.shelve else {
        return code;
    };
    let Some(path) = arguments.which.path() else {
        return nowhere();
    };
    let at = arguments.measured_on.clone().unwrap_or_else(now);
    match shelf::shelve(&path, tag, &at, setup, outcome, finding) {
        Ok(shelved) => {
            let new = if shelved.new_cable {
                "new cable"
            } else {
                "cable"
            };
            output::message(&format!(
                "stored under {new} `{tag}` in `{}`",
                path.display()
            ));
            code
        }
        Err(error) => refused(&error),
    }
}

/// `lineproof shelf`.
pub(crate) fn shelf(arguments: &ShelfArgs) -> u8 {
    let done = match &arguments.what {
        ShelfVerb::List(list) => look(&arguments.which, |shelf| {
            let cables = shelf.cables(&list.filter())?;
            Ok(if list.json {
                output::json(&ShelfAnswer::of(cables), exit::ANSWERED)
            } else {
                output::result(&text::list(&cables), exit::ANSWERED)
            })
        }),
        ShelfVerb::Show { tag, json } => look(&arguments.which, |shelf| {
            let shown = Shown::of(shelf, tag)?;
            Ok(if *json {
                output::json(&CableAnswer::of(shown), exit::ANSWERED)
            } else {
                output::result(&text::show(&shown), exit::ANSWERED)
            })
        }),
        ShelfVerb::Check => look(&arguments.which, check),
        ShelfVerb::Export { file } => look(&arguments.which, |shelf| export(shelf, file)),
        ShelfVerb::BackUp { file } => look(&arguments.which, |shelf| {
            shelf.back_up(file)?;
            Ok(said(&format!("copied to `{}`", file.display())))
        }),
        ShelfVerb::Again { tags, keep } => change(&arguments.which, |s| again(s, tags, *keep)),
        other => change(&arguments.which, |shelf| edit(shelf, other)),
    };
    done.unwrap_or_else(|error| refused(error.as_ref()))
}

type Done = Result<u8, Box<dyn Error>>;

fn look(which: &WhichShelf, work: impl FnOnce(&Shelf) -> Done) -> Done {
    match which.path() {
        Some(path) => work(&Shelf::open_to_read(&path)?),
        None => Ok(nowhere()),
    }
}

fn change(which: &WhichShelf, work: impl FnOnce(&mut Shelf) -> Done) -> Done {
    match which.path() {
        Some(path) => work(&mut Shelf::open_or_make(&path)?),
        None => Ok(nowhere()),
    }
}

/// Everything that changes the shelf, but for finding again.
fn edit(shelf: &mut Shelf, what: &ShelfVerb) -> Done {
    let at = now();
    match what {
        ShelfVerb::Edit(edit) => {
            let cable = shelf.edit(&edit.tag, &edit.edit(), &at)?;
            Ok(said(&format!("cable `{}` is changed", cable.tag)))
        }
        ShelfVerb::Retire { tag, why } => {
            shelf.retire(tag, why, &at)?;
            Ok(said(&format!("cable `{tag}` is retired; `--all` lists it")))
        }
        ShelfVerb::TakeBack { tag } => {
            shelf.take_back(tag, &at)?;
            Ok(said(&format!("cable `{tag}` is in use again")))
        }
        ShelfVerb::Decide { tag, action, why } => {
            let (action, reason) = (action.clone(), why.clone());
            shelf.decide(tag, &Decision { at, action, reason })?;
            Ok(said(&format!("decision recorded for cable `{tag}`")))
        }
        ShelfVerb::Note { tag, text } => {
            let text = text.clone();
            shelf.note(tag, &Note { at, text })?;
            Ok(said(&format!("note added to cable `{tag}`")))
        }
        ShelfVerb::Photo { tag, file, caption } => photo(shelf, tag, file, caption, at),
        ShelfVerb::Import { file } => import(shelf, file),
        _ => unreachable!("the caller does what only looks"),
    }
}

fn photo(shelf: &mut Shelf, tag: &str, file: &Path, caption: &str, at: String) -> Done {
    let photo = Photo {
        at,
        file_name: file
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned(),
        caption: caption.to_owned(),
        bytes: std::fs::read(file).map_err(|e| format!("cannot read `{}`: {e}", file.display()))?,
    };
    shelf.photo(tag, &photo)?;
    Ok(said(&format!("photo stored with cable `{tag}`")))
}

fn check(shelf: &Shelf) -> Done {
    let problems = shelf.check()?;
    if problems.is_empty() {
        return Ok(said("the shelf is intact"));
    }
    for problem in &problems {
        output::message(&format!("error: {problem}"));
    }
    output::message("help: use the newest backup, and keep this file");
    Ok(exit::UNDETERMINED)
}

/// Written beside the target first: a zip that is there is whole.
fn export(shelf: &Shelf, file: &Path) -> Done {
    if file.exists() {
        return Err(Box::new(ShelfError::TargetExists {
            path: file.to_owned(),
        }));
    }
    let unfinished = file.with_extension("unfinished");
    let target = File::create_new(&unfinished)
        .map_err(|e| format!("cannot write `{}`: {e}", unfinished.display()))?;
    let exported = shelf.export(BufWriter::new(target));
    if exported.is_err() {
        let _already_failed = std::fs::remove_file(&unfinished);
    }
    let exported = exported?;
    std::fs::rename(&unfinished, file)?;
    Ok(said(&format!(
        "{} rows and {} files in `{}`",
        exported.rows,
        exported.files,
        file.display()
    )))
}

fn import(shelf: &mut Shelf, file: &Path) -> Done {
    let source = File::open(file).map_err(|e| format!("cannot open `{}`: {e}", file.display()))?;
    let imported = shelf.import(source)?;
    for (old, new) in &imported.renamed {
        output::message(&format!(
            "warning: the tag `{old}` belongs to another cable here; the imported cable is now `{new}`"
        ));
    }
    Ok(said(&format!(
        "{} rows are new, {} were already here",
        imported.new_rows, imported.known_rows
    )))
}

/// Finds again from what is kept and says what differs; one assay that fails does not stop the rest.
fn again(shelf: &mut Shelf, tags: &[String], keep: bool) -> Done {
    let tags = if tags.is_empty() {
        let cables = shelf.cables(&Filter::default())?;
        cables.into_iter().map(|l| l.cable.tag).collect()
    } else {
        tags.to_vec()
    };
    let (mut failed, mut differ, mut all) = (0, 0, 0);
    for tag in &tags {
        for assay in shelf.assays(tag)? {
            all += 1;
            let changes = match shelf::look_again(shelf, &assay, keep) {
                Ok(changes) => changes,
                Err(error) => {
                    failed += 1;
                    output::error(&error, help(&error).as_deref());
                    continue;
                }
            };
            differ += usize::from(!changes.is_empty());
            let day = assay.at.get(..10).unwrap_or_default();
            for change in &changes {
                output::result(
                    &format!("{tag} of {day}: {}\n", change.text),
                    exit::ANSWERED,
                );
            }
        }
    }
    let kept = if keep {
        ", and the new findings are stored"
    } else {
        ""
    };
    let assays = if all == 1 { "assay" } else { "assays" };
    output::result(
        &format!("{all} {assays} repeated, {differ} differ beyond their intervals{kept}\n"),
        exit::ANSWERED,
    );
    Ok(if failed > 0 {
        exit::ANSWERED_IN_PART
    } else {
        exit::ANSWERED
    })
}

fn said(text: &str) -> u8 {
    output::result(&format!("{text}\n"), exit::ANSWERED)
}

pub(crate) fn nowhere() -> u8 {
    output::message("error: this system has no data folder");
    output::message("help: give the shelf's file with `--shelf FILE`");
    exit::USAGE
}

pub(crate) fn refused(error: &(dyn Error + 'static)) -> u8 {
    output::error(error, help(error).as_deref());
    match error.downcast_ref::<ShelfError>() {
        Some(
            ShelfError::NoSuchTag { .. } | ShelfError::TagTaken { .. } | ShelfError::BadTag { .. },
        ) => exit::USAGE,
        Some(ShelfError::Missing { .. }) => exit::NOTHING_READ,
        _ => exit::OUTPUT,
    }
}

fn help(error: &(dyn Error + 'static)) -> Option<String> {
    if let Some(AgainError::Shelf(error)) = error.downcast_ref() {
        return error.help();
    }
    error.downcast_ref().and_then(ShelfError::help)
}
