//! Writes the invented examples: `cargo run -p lineproof-simulator --bin make-examples [FOLDER]`.

use std::error::Error;
use std::path::PathBuf;
use std::{env, fs};

use lineproof_simulator::all_files;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(env::args().nth(1).unwrap_or_else(|| "examples".into()));
    for file in all_files()? {
        let path = folder.join(&file.path);
        fs::create_dir_all(path.parent().unwrap_or(&folder))?;
        fs::write(path, file.text)?;
    }
    Ok(())
}
