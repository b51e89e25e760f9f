//! Writes the invented examples: `cargo run -p lineproof-simulator --bin make-examples [FOLDER]`.

use std::error::Error;
use std::path::PathBuf;
use std::{env, fs};

use lineproof_simulator::examples;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(env::args().nth(1).unwrap_or_else(|| "examples".into()));
    for example in examples::all() {
        fs::create_dir_all(folder.join(example.folder))?;
        for file in example.files()? {
            fs::write(folder.join(&file.path), file.text)?;
        }
    }
    Ok(())
}
