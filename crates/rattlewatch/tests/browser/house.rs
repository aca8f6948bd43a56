//! The real program as a child process: started, killed, started again on the same address.

use anyhow::{Context, Result};
use std::io::{BufRead, BufReader};
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use tempfile::TempDir;

pub(crate) struct House {
    folder: TempDir,
    listen: String,
    smtp: String,
    /// What it gives to browsers.
    web: PathBuf,
    child: Option<Child>,
    pub(crate) url: String,
    pub(crate) begin_link: String,
}

impl House {
    /// Starts in an empty folder.
    pub(crate) fn start(smtp: &str) -> Result<House> {
        let port = TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
        let listen = format!("127.0.0.1:{port}");
        let mut house = House {
            folder: tempfile::tempdir()?,
            url: format!("http://{listen}"),
            listen,
            smtp: smtp.to_owned(),
            web: web(),
            child: None,
            begin_link: String::new(),
        };
        let said = house.start_again()?;
        let link = said.iter().find_map(|line| line.split_once("once: "));
        house.begin_link = link.context("the first start prints a link")?.1.trim().to_owned();
        Ok(house)
    }

    /// Starts on what is there; returns what it said.
    pub(crate) fn start_again(&mut self) -> Result<Vec<String>> {
        anyhow::ensure!(
            self.web.join("files.json").exists(),
            "the phone is not built: run `cargo x web`"
        );
        let mut child = Command::new(env!("CARGO_BIN_EXE_rattlewatch"))
            .args(["serve", "--listen", &self.listen, "--smtp", &self.smtp])
            .arg("--data")
            .arg(self.folder.path().join("data"))
            .arg("--web")
            .arg(&self.web)
            .env("RUST_LOG", "warn")
            .stdout(Stdio::piped())
            .spawn()?;
        let out = child.stdout.take().context("its output")?;
        let mut lines = BufReader::new(out).lines();
        let mut said = vec![lines.next().context("it ended before it served")??];
        let first_start = self.begin_link.is_empty();
        if first_start {
            said.push(lines.next().context("the first start prints a link")??);
        }
        // Whoever writes to a closed pipe is killed: somebody must go on reading.
        std::thread::spawn(move || lines.for_each(drop));
        self.child = Some(child);
        Ok(said)
    }

    /// Gives browsers, once it is started again, another version of the phone: the same, with a line more at the end
    /// of each of these files.
    pub(crate) fn renews(&mut self, build: &str, more: &[(&str, &str)]) -> Result<()> {
        let renewed = self.folder.path().join(build);
        copied(&self.web, &renewed)?;
        let list = std::fs::read(renewed.join("files.json"))?;
        let mut list: serde_json::Value = serde_json::from_slice(&list)?;
        list["build"] = build.into();
        for (name, line) in more {
            let path = renewed.join(name);
            let mut bytes = std::fs::read(&path)?;
            bytes.extend(line.as_bytes());
            std::fs::write(&path, &bytes)?;
            std::fs::remove_file(renewed.join(format!("{name}.br")))?;
            let files = list["files"].as_array_mut().context("a list of files")?;
            let listed = files.iter_mut().find(|file| file["path"] == *name);
            listed.context("it is listed")?["sha256"] =
                ledger::Digest::of(&bytes).to_string().into();
        }
        std::fs::write(renewed.join("files.json"), list.to_string())?;
        std::fs::remove_file(renewed.join("files.json.br")).ok();
        self.web = renewed;
        Ok(())
    }

    /// `kill -9`.
    pub(crate) fn kill(&mut self) {
        if let Some(mut child) = self.child.take() {
            child.kill().expect("the server can be killed");
            child.wait().expect("it is gone");
        }
    }

    /// Keeps bytes as a file and returns its path.
    pub(crate) fn keep(&self, name: &str, bytes: &[u8]) -> Result<String> {
        let path = self.folder.path().join(name);
        std::fs::write(&path, bytes)?;
        Ok(path.to_string_lossy().into_owned())
    }

    /// Where it keeps everything.
    pub(crate) fn folder(&self) -> &Path {
        self.folder.path()
    }
}

/// Runs the program; returns what it printed.
pub(crate) fn program(arguments: &[&str]) -> Result<Vec<u8>> {
    Ok(Command::new(env!("CARGO_BIN_EXE_rattlewatch")).args(arguments).output()?.stdout)
}

impl Drop for House {
    fn drop(&mut self) {
        self.kill();
    }
}

fn copied(from: &Path, to: &Path) -> Result<()> {
    std::fs::create_dir_all(to)?;
    for entry in std::fs::read_dir(from)? {
        let (path, to) = (entry?.path(), to);
        let to = to.join(path.file_name().context("a file has a name")?);
        if path.is_dir() { copied(&path, &to)? } else { std::fs::copy(&path, &to).map(drop)? }
    }
    Ok(())
}

pub(crate) fn web() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/web")
}

/// An instant as the findings print it, ms UTC.
pub(crate) fn rfc3339_ms(text: &str) -> Option<i64> {
    text.parse::<jiff::Timestamp>().ok().map(|at| at.as_millisecond())
}
