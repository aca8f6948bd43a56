//! Programs from outside that tests and demo need: installed if missing and allowed, else named.

use crate::room;
use anyhow::{Result, bail};
use std::path::Path;
use std::process::{Command, Stdio};

/// A program and the Debian package that brings it.
struct Tool {
    program: &'static str,
    package: &'static str,
    why: &'static str,
}

const TOOLS: &[Tool] = &[
    Tool { program: "chromium", package: "chromium", why: "the browser tests" },
    Tool { program: "chromedriver", package: "chromium-driver", why: "the browser tests" },
    Tool { program: "initdb", package: "postgresql", why: "the PostgreSQL tests" },
    Tool { program: "qpdf", package: "qpdf", why: "the PDF checks" },
    Tool { program: "pdftotext", package: "poppler-utils", why: "the PDF checks" },
    Tool { program: "jq", package: "jq", why: "the bundle checks by hand" },
    Tool { program: "npm", package: "npm", why: "fetching axe-core and the checker of pages" },
    Tool { program: "pkill", package: "procps", why: "the phone that dies in the browser tests" },
    Tool { program: "openssl", package: "openssl", why: "the bundle checks by hand" },
    Tool { program: "python3", package: "python3", why: "the bundle checks by hand" },
    Tool {
        program: "pip3",
        package: "python3-pip",
        why: "fetching the checkers of PDF files and of the API",
    },
];

/// Makes sure that all of them are there, and says so if the disk may be too small.
pub(crate) fn ensure() -> Result<()> {
    room::warn_if_short()?;
    let missing: Vec<&Tool> = TOOLS.iter().filter(|tool| !present(tool.program)).collect();
    if missing.is_empty() {
        return Ok(());
    }
    let packages: Vec<&str> = missing.iter().map(|tool| tool.package).collect();
    for tool in &missing {
        println!("missing: {} (package {}, for {})", tool.program, tool.package, tool.why);
    }
    if may_install() {
        println!("installing: {}", packages.join(" "));
        let quiet = |arguments: &[&str]| {
            Command::new("apt-get")
                .args(arguments)
                .env("DEBIAN_FRONTEND", "noninteractive")
                .stdout(Stdio::null())
                .status()
                .is_ok_and(|status| status.success())
        };
        let install: Vec<&str> = ["install", "-y", "--no-install-recommends"]
            .into_iter()
            .chain(packages.clone())
            .collect();
        if quiet(&["update"]) && quiet(&install) && missing.iter().all(|tool| present(tool.program))
        {
            return Ok(());
        }
    }
    bail!("please install them and run again:\n  sudo apt-get install {}", packages.join(" "))
}

/// Adds the wasm target to the toolchain if it is missing.
pub(crate) fn ensure_wasm_target() -> Result<()> {
    let library = Command::new("rustc").args(["--print", "sysroot"]).output()?;
    let sysroot = String::from_utf8(library.stdout)?;
    if Path::new(sysroot.trim()).join("lib/rustlib/wasm32-unknown-unknown/lib").exists() {
        return Ok(());
    }
    let added = Command::new("rustup").args(["target", "add", "wasm32-unknown-unknown"]).status();
    match added {
        Ok(status) if status.success() => Ok(()),
        _ => bail!("the wasm target is missing: rustup target add wasm32-unknown-unknown"),
    }
}

fn may_install() -> bool {
    let root =
        Command::new("id").arg("-u").output().is_ok_and(|out| out.stdout.starts_with(b"0\n"));
    root && present("apt-get")
}

/// Whether a program can be started, also where Debian keeps PostgreSQL's.
fn present(program: &str) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path).any(|folder| folder.join(program).is_file())
        || std::fs::read_dir("/usr/lib/postgresql").is_ok_and(|versions| {
            versions.flatten().any(|version| version.path().join("bin").join(program).is_file())
        })
}
