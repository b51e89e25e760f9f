//! Embeds the chart library if its package was fetched (`./run` does so where npm is there); without
//! it the program is built all the same and pages show the server's own pictures.

use std::path::{Path, PathBuf};
use std::{env, fs, io};

const CHARTS: &str = "page/node_modules/plotly.js-basic-dist-min/plotly-basic.min.js";

fn main() -> io::Result<()> {
    let here = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets it"));
    let target = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets it"));
    // The folder, not the file: a missing file would count as changed at every build.
    println!("cargo::rerun-if-changed=page");
    embed(&here.join(CHARTS), &target.join("charts.js"))
}

fn embed(from: &Path, to: &Path) -> io::Result<()> {
    match fs::read(from) {
        Ok(bytes) => fs::write(to, bytes),
        Err(error) if error.kind() == io::ErrorKind::NotFound => fs::write(to, ""),
        Err(error) => Err(error),
    }
}
