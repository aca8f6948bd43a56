//! The Debian package: files laid out as they will lie on the machine, packed by `dpkg-deb`.

use super::{Committed, OUT};
use crate::{launch, web};
use anyhow::{Context, Result, ensure};
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Makes the package and returns where it is.
pub(super) fn pack(
    program: &Path,
    list: &Path,
    version: &str,
    committed: Option<&Committed>,
) -> Result<PathBuf> {
    let folder = Path::new(OUT).join("debian");
    if folder.exists() {
        fs::remove_dir_all(&folder)?;
    }
    place(program, &folder.join("usr/bin/rattlewatch"), 0o755)?;
    let unit = "usr/lib/systemd/system/rattlewatch.service";
    place(Path::new("packaging/rattlewatch.service"), &folder.join(unit), 0o644)?;
    lay_out_docs(&folder.join("usr/share/doc/rattlewatch"), list)?;
    lay_out_changes(&folder.join("usr/share/doc/rattlewatch"), version)?;
    lay_out_manual(program, &folder.join("usr/share/man/man1"))?;
    for script in ["postinst", "prerm", "postrm"] {
        let from = Path::new("packaging/debian").join(script);
        place(&from, &folder.join("DEBIAN").join(script), 0o755)?;
    }
    let files = web::files_under(&folder.join("usr"))?;
    sums(&folder, &files)?;
    let architecture = architecture()?;
    let control = fs::read_to_string("packaging/debian/control")?
        .replace("@VERSION@", version)
        .replace("@ARCHITECTURE@", &architecture)
        .replace("@GLIBC@", &glibc(&fs::read(program)?)?)
        .replace("@SIZE@", &kib(&files)?.to_string());
    fs::write(folder.join("DEBIAN/control"), control)?;
    let package = Path::new(OUT).join(format!("rattlewatch_{version}_{architecture}.deb"));
    let mut pack = Command::new("dpkg-deb");
    pack.args(["--build", "--root-owner-group"]).arg(&folder).arg(&package);
    if let Some(committed) = committed {
        // The archive is the same, whoever packs it and when.
        pack.env("SOURCE_DATE_EPOCH", &committed.seconds);
    }
    launch::program(&mut pack)?;
    Ok(package)
}

fn architecture() -> Result<String> {
    let output = Command::new("dpkg").arg("--print-architecture").output();
    let output = output.context("dpkg is missing: only Debian packs for Debian")?;
    Ok(String::from_utf8(output.stdout)?.trim().to_owned())
}

/// The readme and the whole folder of documents, so that the links between them lead somewhere.
fn lay_out_docs(docs: &Path, list: &Path) -> Result<()> {
    place(list, &docs.join("rattlewatch.cdx.json"), 0o644)?;
    place(Path::new("packaging/debian/copyright"), &docs.join("copyright"), 0o644)?;
    for name in ["README.md", "GLOSSARY.md"] {
        place(Path::new(name), &docs.join(name), 0o644)?;
    }
    for file in web::files_under(Path::new("docs"))? {
        place(&file, &docs.join(&file), 0o644)?;
    }
    Ok(())
}

/// What changed, whose newest entry is about what is packed.
fn lay_out_changes(docs: &Path, version: &str) -> Result<()> {
    let from = Path::new("packaging/debian/changelog");
    let newest = format!("rattlewatch ({version}) ");
    ensure!(
        fs::read_to_string(from)?.starts_with(&newest),
        "{} does not begin with {newest:?}: write what changed",
        from.display()
    );
    let to = docs.join("changelog");
    place(from, &to, 0o644)?;
    pack_tight(&[to])
}

fn lay_out_manual(program: &Path, pages: &Path) -> Result<()> {
    launch::program(Command::new(program).arg("man").arg(pages))?;
    fs::set_permissions(pages, fs::Permissions::from_mode(0o755))?;
    let files = web::files_under(pages)?;
    for file in &files {
        fs::set_permissions(file, fs::Permissions::from_mode(0o644))?;
    }
    pack_tight(&files)
}

/// As Debian's policy has manuals and changelogs (12.1, 12.7), with neither name nor time inside.
fn pack_tight(files: &[PathBuf]) -> Result<()> {
    launch::program(Command::new("gzip").args(["--best", "--no-name"]).args(files))
}

/// By these `dpkg --verify rattlewatch` finds files that are not as they were packed.
fn sums(folder: &Path, files: &[PathBuf]) -> Result<()> {
    let inside = files.iter().map(|file| file.strip_prefix(folder)).collect::<Result<Vec<_>, _>>();
    let output = Command::new("md5sum").args(inside?).current_dir(folder).output()?;
    ensure!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    fs::write(folder.join("DEBIAN/md5sums"), output.stdout)?;
    Ok(())
}

fn kib(files: &[PathBuf]) -> Result<u64> {
    files.iter().map(|file| Ok(fs::metadata(file)?.len().div_ceil(1_024))).sum()
}

/// The oldest C library with all that the program asks of it: the newest of the versions `GLIBC_2.N`
/// that its table of symbols names.
fn glibc(program: &[u8]) -> Result<String> {
    const MARK: &[u8] = b"GLIBC_2.";
    let minors = program.windows(MARK.len() + 3).filter(|at| at.starts_with(MARK)).map(|at| {
        let digits = at[MARK.len()..].iter().take_while(|byte| byte.is_ascii_digit());
        digits.fold(0, |number: u32, digit| number * 10 + u32::from(digit - b'0'))
    });
    let newest = minors.max().context("the program is not linked to the GNU C library")?;
    Ok(format!("2.{newest}"))
}

fn place(from: &Path, to: &Path, mode: u32) -> Result<()> {
    fs::create_dir_all(to.parent().context("a folder")?)?;
    fs::copy(from, to).with_context(|| format!("copying {}", from.display()))?;
    fs::set_permissions(to, fs::Permissions::from_mode(mode))?;
    Ok(())
}
