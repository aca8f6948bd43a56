//! The demands of codes, cities and bodies as data: which exist, what is in force when, and from where.
//!
//! A folder of `standards/` is a document or a place, a file in it is one demand, a `[[value]]` is one value with its
//! editions, conditions and source. A **profile** is a folder in one edition; its title is the document with its year,
//! or the place. `docs/adding-a-place.md` is the recipe.

mod condition;
mod demand;
mod file;
mod profile;
mod site;

pub use condition::{Missing, Truth, When};
pub use demand::Demand;
pub use file::{DemandFile, FileFault, Owed, Timing, Unit, Value};
pub use profile::{Citation, InForce, Profile, UnknownProfile};
pub use site::{SITE_FILES, site_files, site_limits};

use std::sync::OnceLock;

/// Folder, file stem and text of every file under `standards/`, in path order.
pub const FILES: &[(&str, &str, &str)] = &include!(concat!(env!("OUT_DIR"), "/embedded.rs"));

/// Every demand that is known, in path order.
#[derive(Debug, Clone, PartialEq)]
pub struct Standards {
    files: Vec<DemandFile>,
}

impl Standards {
    /// The standards that this build carries.
    pub fn embedded() -> &'static Self {
        static EMBEDDED: OnceLock<Standards> = OnceLock::new();
        EMBEDDED.get_or_init(|| {
            Self::read(FILES.iter().copied())
                .expect("a test of this crate reads every embedded file")
        })
    }

    /// Reads and checks files given as folder, file stem and text; every fault of every file, not only the first.
    pub fn read<'a>(
        files: impl IntoIterator<Item = (&'a str, &'a str, &'a str)>,
    ) -> Result<Self, Vec<FileFault>> {
        let mut read = Vec::new();
        let mut faults = Vec::new();
        for (folder, stem, text) in files {
            match DemandFile::read(folder, stem, text) {
                Ok(file) => read.push(file),
                Err(found) => faults.extend(found),
            }
        }
        let standards = Self { files: read };
        faults.extend(standards.faults_between_files());
        if faults.is_empty() { Ok(standards) } else { Err(faults) }
    }

    /// Every file, in path order.
    pub fn files(&self) -> &[DemandFile] {
        &self.files
    }

    fn faults_between_files(&self) -> Vec<FileFault> {
        let mut faults = Vec::new();
        for pair in self.files.windows(2) {
            if pair[0].folder == pair[1].folder && pair[0].profile != pair[1].profile {
                faults.push(FileFault::new(
                    &pair[1],
                    0,
                    "profile",
                    "differs from the other files of its folder",
                ));
            }
        }
        for file in &self.files {
            for (at, value) in file.value.iter().enumerate() {
                if let Some(adopted) = &value.adopts
                    && self.find(adopted).is_err()
                {
                    faults.push(FileFault::new(file, at + 1, "adopts", "names no profile"));
                }
            }
        }
        faults
    }
}

#[cfg(test)]
mod tests;
