//! Python packages in a virtual environment below `target/`: peers of ours, and judges that share no code with us.

use anyhow::{Context, Result, ensure};
use serde_json::Value;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A Python with the packages asked for.
pub struct Python {
    program: PathBuf,
}

impl Python {
    /// Makes the environment where it is missing; an error names what could not be had.
    pub fn with(packages: &[&str]) -> Result<Python> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/peers");
        let program = folder.join("bin/python");
        if !program.exists() {
            let made = Command::new("python3").args(["-m", "venv"]).arg(&folder).status();
            ensure!(
                made.is_ok_and(|s| s.success()),
                "python3 with venv is missing: install python3 and python3-venv"
            );
        }
        let installed = Command::new(&program)
            .args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check"])
            .args(packages)
            .status()
            .context("starting pip")?;
        ensure!(installed.success(), "pip could not install {}", packages.join(", "));
        Ok(Python { program })
    }

    /// A command of it, with nothing said yet.
    pub fn command(&self) -> Command {
        Command::new(&self.program)
    }

    /// Runs a program that reads one JSON value and prints another; `who` is named when it fails.
    pub fn ask(&self, who: &str, program: &str, question: &Value) -> Result<Value> {
        let mut child = Command::new(&self.program)
            .args(["-c", program])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .with_context(|| format!("starting {who}"))?;
        let mut input = child.stdin.take().context("the pipe is open")?;
        input.write_all(question.to_string().as_bytes())?;
        drop(input);
        let output = child.wait_with_output()?;
        ensure!(output.status.success(), "{who} failed");
        serde_json::from_slice(&output.stdout).with_context(|| format!("{who} prints JSON"))
    }
}
