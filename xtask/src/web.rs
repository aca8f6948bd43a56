//! The phone and the desk's drawing tool, built for the browser into `target/web`; the tool lies in a folder of its own
//! there, which no phone keeps.

mod sorted;

use crate::{launch, tools};
use anyhow::{Context, Result};
use serde_json::json;
use sha2::{Digest, Sha256};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const OUT: &str = "target/web";
/// The rooms that run in a browser.
pub(crate) const ROOMS: &[&str] = &["phone-web", "phone-camera", "plan-web"];
/// The folder of the drawing tool.
const PLAN: &str = "plan";

/// Builds the wasm, its glue, and copies what is static; then lists and compresses everything.
pub(crate) fn build() -> Result<()> {
    tools::ensure_wasm_target()?;
    let mut cargo = Command::new(env!("CARGO"));
    cargo.args(["build", "--lib", "--target", "wasm32-unknown-unknown", "--profile", "phone"]);
    for room in ROOMS {
        cargo.arg("--package").arg(format!("rattlewatch-{room}"));
    }
    launch::program(&mut cargo)?;
    let out = Path::new(OUT);
    bind("phone_web", "phone", out)?;
    bind("phone_camera", "camera", out)?;
    copy_tree(Path::new("crates/phone-web/static"), out)?;
    copy_tree(Path::new("assets"), out)?;
    let plan = out.join(PLAN);
    bind("plan_web", "plan", &plan)?;
    copy_tree(Path::new("crates/plan-web/static"), &plan)?;
    list_and_compress(out)
}

/// Makes a program's wasm, its functions sorted, and the glue around it.
fn bind(built: &str, name: &str, out: &Path) -> Result<()> {
    fs::create_dir_all(out)?;
    wasm_bindgen_cli_support::Bindgen::new()
        .input_path(launch::built()?.join(format!("wasm32-unknown-unknown/phone/{built}.wasm")))
        .out_name(name)
        .web(true)?
        .typescript(false)
        .remove_name_section(true)
        .remove_producers_section(true)
        .generate(out)?;
    let program = out.join(format!("{name}_bg.wasm"));
    let wasm = sorted::sorted(&fs::read(&program)?)?;
    Ok(fs::write(&program, wasm)?)
}

fn copy_tree(from: &Path, to: &Path) -> Result<()> {
    for file in files_under(from)? {
        let target = to.join(file.strip_prefix(from)?);
        fs::create_dir_all(target.parent().expect("a file lies in a folder"))?;
        fs::copy(&file, &target).with_context(|| format!("copying {}", file.display()))?;
    }
    Ok(())
}

/// Files under a folder, in one order on every machine.
pub(crate) fn files_under(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    let mut entries: Vec<PathBuf> = fs::read_dir(folder)
        .with_context(|| format!("reading {}", folder.display()))?
        .map(|entry| Ok(entry?.path()))
        .collect::<Result<_>>()?;
    entries.sort();
    for path in entries {
        if path.is_dir() { files.extend(files_under(&path)?) } else { files.push(path) }
    }
    Ok(files)
}

/// Whether the phone's worker keeps a file on the first visit. Not the drawing tool; not the icons, which a browser
/// fetches when the phone is put on the home screen; not the licences, nor the one face that no screen of it uses.
fn is_kept(name: &str) -> bool {
    let is_icon = name.starts_with("icon-");
    let is_unused = name.ends_with(".txt") || name == "fonts/hyperlegible-mono-700.woff2";
    !name.starts_with(&format!("{PLAN}/")) && !is_icon && !is_unused
}

/// Writes `files.json` (what the phone's worker keeps, all or nothing) and a `.br` beside each file.
fn list_and_compress(out: &Path) -> Result<()> {
    let mut listed = Vec::new();
    let mut build = Sha256::new();
    for file in files_under(out)? {
        let name = file.strip_prefix(out)?.to_string_lossy().into_owned();
        if name.ends_with(".br") || name.ends_with(".ttf") || name == "files.json" {
            continue;
        }
        let bytes = fs::read(&file)?;
        let digest = hex(&Sha256::digest(&bytes));
        compress(&file, &bytes, &digest)?;
        if !is_kept(&name) {
            continue;
        }
        build.update(name.as_bytes());
        build.update(digest.as_bytes());
        listed.push(json!({ "path": name, "sha256": digest, "bytes": bytes.len() }));
    }
    let build = hex(&build.finalize())[..16].to_owned();
    let list = serde_json::to_vec(&json!({ "build": build, "files": listed }))?;
    fs::write(out.join("files.json"), list)?;
    Ok(())
}

/// Brotli at full quality takes seconds, so a file whose digest stands in the stamp is left alone.
fn compress(file: &Path, bytes: &[u8], digest: &str) -> Result<()> {
    let target = PathBuf::from(format!("{}.br", file.display()));
    let stamp = Path::new("target/web-stamps").join(digest);
    if target.exists() && stamp.exists() {
        return Ok(());
    }
    let mut packed = Vec::new();
    let parameters = brotli::enc::BrotliEncoderParams { quality: 11, ..Default::default() };
    brotli::BrotliCompress(&mut &bytes[..], &mut packed, &parameters)?;
    fs::write(&target, packed)?;
    fs::create_dir_all("target/web-stamps")?;
    fs::write(stamp, b"")?;
    Ok(())
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
