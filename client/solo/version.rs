//! What a program says of itself: its version, the commit it is built from, and the formats that it reads and
//! writes.

use std::fmt;

/// The formats of one thing that a program reads and writes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SoloFormat {
    /// What they are of, in the plural.
    pub what: &'static str,
    /// The first.
    pub oldest: u32,
    /// The newest.
    pub newest: u32,
}

/// A program.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloProgram {
    /// Its name.
    pub name: &'static str,
    /// Its version.
    pub version: &'static str,
    /// The commit that it is built from; `unknown` where nothing said it.
    pub commit: &'static str,
    /// What it reads and writes.
    pub formats: Vec<SoloFormat>,
}

/// Columns of what a line is about.
const ABOUT_WIDTH: usize = 9;

impl fmt::Display for SoloProgram {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{} {}", self.name, self.version)?;
        writeln!(f, "{:ABOUT_WIDTH$} {}", "commit", self.commit)?;
        for format in &self.formats {
            let SoloFormat {
                what,
                oldest,
                newest,
            } = format;
            write!(f, "{what:ABOUT_WIDTH$} ")?;
            if oldest == newest {
                writeln!(f, "format {newest}, read and written")?;
            } else {
                writeln!(f, "formats {oldest} to {newest}, read and written")?;
            }
        }
        writeln!(f, "{:ABOUT_WIDTH$} fettlebook.v1", "contract")
    }
}
