//! The real program in a process of its own, and what the system says that it holds.

use super::held::Look;
use anyhow::{Context, Result, ensure};
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};

/// So much of what a program said tells why it went wrong.
const LAST_LINES: usize = 20;

/// A program that serves from a folder.
pub(super) struct Program {
    process: Child,
    /// Held open: a program that says something into a pipe that nobody holds ends at once.
    said: BufReader<ChildStdout>,
    folder: PathBuf,
    /// Where it writes its messages.
    log: PathBuf,
    /// Where it serves.
    pub(super) url: String,
    /// The one-time link to its first account.
    pub(super) begin_link: String,
}

impl Program {
    /// Starts it on a free port and waits for the link.
    pub(super) fn start(program: &Path, folder: &Path) -> Result<Program> {
        let log = folder.join("soak.log");
        let folder = folder.join("data");
        let mut process = Command::new(program)
            .args(["serve", "--listen", "127.0.0.1:0", "--data"])
            .arg(&folder)
            .stdout(Stdio::piped())
            .stderr(fs::File::create(&log)?)
            .spawn()
            .with_context(|| format!("{} could not be started", program.display()))?;
        let said = BufReader::new(process.stdout.take().context("its words are piped")?);
        let mut program =
            Program { process, said, folder, log, url: String::new(), begin_link: String::new() };
        let mut line = String::new();
        while program.said.read_line(&mut line)? > 0 {
            if let Some(url) = line.trim().strip_prefix("Rattlewatch serves at ") {
                program.url = url.to_owned();
            } else if let Some((_, link)) = line.trim().split_once("once: ") {
                program.begin_link = link.to_owned();
                return Ok(program);
            }
            line.clear();
        }
        anyhow::bail!("the program ended before it served")
    }

    /// The last that it said of itself.
    pub(super) fn last_words(&self) -> String {
        let log = fs::read_to_string(&self.log).unwrap_or_default();
        let lines: Vec<&str> = log.lines().collect();
        lines[lines.len().saturating_sub(LAST_LINES)..].join("\n")
    }

    /// What it holds now.
    pub(super) fn look(&self) -> Result<Look> {
        let of = PathBuf::from(format!("/proc/{}", self.process.id()));
        let status = fs::read_to_string(of.join("status"))?;
        let resident = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
        let resident_kib = resident.and_then(|text| text.split_whitespace().next()?.parse().ok());
        let length = |name: &str| fs::metadata(self.folder.join(name)).map_or(0, |file| file.len());
        Ok(Look {
            at_s: 0.0,
            lines: 0,
            resident_kib: resident_kib.context("the system tells its memory")?,
            descriptors: fs::read_dir(of.join("fd"))?.count() as u64,
            database_bytes: length("record.db"),
            wal_bytes: length("record.db-wal"),
        })
    }

    /// Asks it to stop, as a service manager does, and waits.
    pub(super) fn stop(mut self) -> Result<()> {
        let asked = Command::new("kill").arg(self.process.id().to_string()).status()?;
        ensure!(asked.success(), "the program was gone before it was asked to stop");
        let ended = self.process.wait()?;
        ensure!(ended.success(), "the program did not stop in good order: {ended}");
        Ok(())
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        // Has no effect on one that was stopped.
        let _ = self.process.kill();
    }
}
