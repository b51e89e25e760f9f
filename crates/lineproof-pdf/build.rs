//! Embeds the fonts of the feature `engine`, which npm fetches as `fonts/package-lock.json` has them.

use std::path::PathBuf;
use std::{env, fs, process};

const FOLDER: &str = "fonts/node_modules/dejavu-fonts-ttf/ttf";
const FONTS: [&str; 2] = ["DejaVuSans.ttf", "DejaVuSans-Bold.ttf"];

fn main() {
    // The folder, not the files: a missing file would count as changed at every build.
    println!("cargo::rerun-if-changed=fonts");
    if env::var_os("CARGO_FEATURE_ENGINE").is_none() {
        return;
    }
    let here = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets it"));
    let target = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets it"));
    for font in FONTS {
        let from = here.join(FOLDER).join(font);
        if let Err(error) = fs::copy(&from, target.join(font)) {
            println!(
                "cargo::error=cannot embed `{}`: {error}; fetch the fonts by `npm ci --prefix \
                 crates/lineproof-pdf/fonts` and build again",
                from.display()
            );
            process::exit(1);
        }
    }
}
