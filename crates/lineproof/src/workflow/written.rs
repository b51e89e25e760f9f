//! Corrected sweeps to files: the sweep as Touchstone, its intervals as a table beside it.

use std::fmt::Write as _;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use lineproof_core::calibration::Corrected;
use lineproof_core::formats::touchstone;

/// Where results go.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Target<'a> {
    /// Folder; made if it is not there.
    pub(crate) out: &'a Path,
    /// Whether files that are there may be replaced.
    pub(crate) overwrite: bool,
}

impl Target<'_> {
    /// Writes `NAME-corrected.s1p` and `NAME-corrected.csv` for the file `source` and gives their
    /// paths; on failure the path that could not be written.
    pub(crate) fn write(
        self,
        source: &Path,
        label: &str,
        corrected: &Corrected,
    ) -> Result<(PathBuf, PathBuf), (PathBuf, io::Error)> {
        let stem = source.file_stem().unwrap_or_default().to_string_lossy();
        let named = |extension: &str| self.out.join(format!("{stem}-corrected.{extension}"));
        let (sweep, intervals) = (named("s1p"), named("csv"));
        fs::create_dir_all(self.out).map_err(|e| (self.out.to_owned(), e))?;
        let comment = format!("{label} corrected by lineproof; intervals in {stem}-corrected.csv");
        let text = touchstone::one_port(&corrected.sweep(), &[&comment]);
        self.put(&sweep, &text).map_err(|e| (sweep.clone(), e))?;
        self.put(&intervals, &table(corrected))
            .map_err(|e| (intervals.clone(), e))?;
        Ok((sweep, intervals))
    }

    fn put(self, path: &Path, text: &str) -> io::Result<()> {
        let mut options = OpenOptions::new();
        options.write(true);
        if self.overwrite {
            options.create(true).truncate(true);
        } else {
            options.create_new(true);
        }
        options.open(path)?.write_all(text.as_bytes())
    }
}

/// Real and imaginary part at each frequency with their 95 % half-widths and their correlation.
fn table(corrected: &Corrected) -> String {
    let mut text = String::from("freq_hz,re,im,u95_re,u95_im,correlation\n");
    for (i, f) in corrected.freq_hz().iter().enumerate() {
        let [re, im] = corrected.parts(i);
        let product = re.u * im.u;
        let both = corrected.covariance()[i][(0, 1)];
        let correlation = if product > 0.0 { both / product } else { 0.0 };
        let (u95_re, u95_im) = (re.u95(), im.u95());
        writeln!(
            text,
            "{f},{},{},{u95_re:e},{u95_im:e},{correlation:.4}",
            re.value, im.value
        )
        .expect("writing to a string cannot fail");
    }
    text
}
