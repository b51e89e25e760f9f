//! A box of simulated cables for `lineproof sort`: `write-box FOLDER [COUNT]`. Good pieces of 0.3 to
//! 60 m, every tenth one dented, two sweeps each; seeds are the numbers of the cables.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::{env, fs};

use lineproof_simulator::touchstone::{Notation, one_port};
use lineproof_simulator::{Body, Scenario};
use rayon::prelude::*;

const COUNT: u64 = 2_000;
/// One cable in so many has a dent.
const DENTED: u64 = 10;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(env::args().nth(1).ok_or("expected a folder")?);
    let count = env::args().nth(2).map_or(Ok(COUNT), |n| n.parse())?;
    fs::create_dir_all(&folder)?;
    (0..count)
        .into_par_iter()
        .try_for_each(|seed| cable(&folder, seed).map_err(|e| e.to_string()))?;
    Ok(())
}

fn cable(folder: &Path, seed: u64) -> Result<(), Box<dyn Error>> {
    let mut scenario = Scenario::random(seed);
    if seed.is_multiple_of(DENTED) {
        let length_m = scenario.body.length_m();
        let body = Body::dented(scenario.cable, length_m, 0.4 * length_m, 0.03, 0.75);
        scenario = scenario.with_body(body);
    }
    for (far_end, sweep) in scenario.simulate(seed)?.sweeps {
        let text = one_port(&sweep, Notation::Ri, "simulated");
        fs::write(folder.join(format!("cable-{seed:05}-{far_end}.s1p")), text)?;
    }
    Ok(())
}
