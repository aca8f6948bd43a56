//! A stranger with public tools: the bundle's own README, step by step, and its verify.py.

use crate::world::{World, small_watch};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder of its own for one test, removed at the end.
pub(crate) struct Folder(PathBuf);

impl Folder {
    pub(crate) fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("rattlewatch-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    pub(crate) fn path(&self) -> &Path {
        &self.0
    }

    /// Unpacks with Python's own zip module, which nobody here wrote.
    pub(crate) fn unpacked(name: &str, bundle: &[u8]) -> Folder {
        let folder = Folder::new(name);
        let zip = folder.0.join("bundle.zip");
        std::fs::write(&zip, bundle).unwrap();
        let unzip = "import sys, zipfile; z = zipfile.ZipFile(sys.argv[1]); \
                     assert z.testzip() is None; z.extractall(sys.argv[2])";
        let inside = folder.0.join("inside");
        let done = run("python3", &["-c", unzip, zip.to_str().unwrap(), inside.to_str().unwrap()]);
        assert!(done.status.success(), "{}", text(&done));
        folder
    }

    pub(crate) fn inside(&self) -> PathBuf {
        self.0.join("inside")
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Runs a tool that a stranger would use; a machine without it cannot run this test.
pub(crate) fn run(tool: &str, args: &[&str]) -> Output {
    let done = Command::new(tool).args(args).output();
    done.unwrap_or_else(|error| panic!("this test needs `{tool}`, which could not be run: {error}"))
}

pub(crate) fn text(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

/// The shell blocks of the README as one script that stops at the first step that fails.
fn steps() -> String {
    let mut script = "set -euo pipefail\n".to_owned();
    for block in bundle::README.split("```sh\n").skip(1) {
        script.push_str(block.split("```").next().unwrap());
    }
    script
}

fn follow(folder: &Folder, chain: &str, line: usize) -> Output {
    let script = steps()
        .replace("CHAIN=$(ls chains/*.jsonl | head -1)", &format!("CHAIN={chain}"))
        .replace("LINE=2", &format!("LINE={line}"));
    Command::new("bash").args(["-c", &script]).current_dir(folder.inside()).output().unwrap()
}

/// Takes the steps for every second line of every chain, each of which looks at the line before it
/// too; the first that fails, if one does.
fn follow_all(folder: &Folder) -> Result<(), String> {
    for file in std::fs::read_dir(folder.inside().join("chains")).unwrap() {
        let file = file.unwrap().path();
        let chain = format!("chains/{}", file.file_name().unwrap().to_str().unwrap());
        let lines = std::fs::read_to_string(file).unwrap().lines().count();
        for line in (2..=lines.max(2)).step_by(2) {
            let done = follow(folder, &chain, line);
            if lines > 1 && !done.status.success() {
                return Err(format!("{chain}, line {line}: {}", text(&done)));
            }
        }
    }
    Ok(())
}

fn verify_py(folder: &Folder) -> Output {
    let program = folder.inside().join("verify.py");
    let mut python = Command::new("python3");
    python.arg("-B").arg(program).output().unwrap()
}

#[test]
fn every_tool_is_here() {
    for (tool, argument) in
        [("sha256sum", "--version"), ("jq", "--version"), ("openssl", "version"), ("python3", "-V")]
    {
        assert!(run(tool, &[argument]).status.success(), "{tool}");
    }
}

fn check_both(name: &str, world: &mut World) {
    let folder = Folder::unpacked(name, &world.bundle());
    follow_all(&folder).unwrap();
    let by_python = verify_py(&folder);
    assert!(by_python.status.success(), "{}", text(&by_python));
    assert!(text(&by_python).starts_with("All holds"), "{}", text(&by_python));
}

#[test]
fn the_readme_can_be_followed_by_hand() {
    check_both("by-hand", &mut small_watch());
}

#[test]
fn a_watch_over_new_year_can_be_followed_too() {
    let mut world = small_watch();
    world.close_log(2027);
    world.write(2, "shift_ended", serde_json::json!({}));
    world.seal();
    check_both("new-year", &mut world);
}

#[test]
fn a_watch_with_changed_keys_can_be_followed_too() {
    check_both("new-keys", &mut crate::whole::watch_of_changed_keys());
}

#[test]
fn a_watch_after_a_restoration_can_be_followed_too() {
    let mut world = small_watch();
    world.open_log(2027);
    check_both("restored", &mut crate::whole::restored(world));
}

/// Each of these is what somebody might do to one file; the steps or the program must notice.
#[test]
fn what_is_changed_by_hand_is_noticed_by_hand() {
    let bundle = small_watch().bundle();
    let changes: [(&str, &str, &str); 5] = [
        ("chains/*.jsonl", "s/stop-1/stop-9/", "a word in a line"),
        ("logs/1/log.jsonl", "s/\"rxe\":5/\"rxe\":6/", "a time of receipt"),
        ("logs/1/head.note", "2s/.*/29/", "a size"),
        ("private/*.jsonl", "s/Ines/Irma/", "a name"),
        ("chains/*.jsonl", "$d", "a last line"),
    ];
    for (number, (files, change, what)) in changes.iter().enumerate() {
        let folder = Folder::unpacked(&format!("changed-{number}"), &bundle);
        // Whoever changes a file also mends the manifest.
        let edit = format!(
            "set -e; sed -i '{change}' {files}; jq -r .name manifest.jsonl | while read -r f; do \
             printf '{{\"bytes\":%s,\"name\":\"%s\",\"sha256\":\"%s\"}}\\n' $(wc -c < $f) $f \
             $(sha256sum $f | cut -d' ' -f1); done > m; mv m manifest.jsonl"
        );
        let edited =
            Command::new("bash").args(["-c", &edit]).current_dir(folder.inside()).output().unwrap();
        assert!(edited.status.success(), "{what}: {}", text(&edited));
        let by_python = verify_py(&folder);
        assert_eq!(by_python.status.code(), Some(1), "{what}: {}", text(&by_python));
        assert!(text(&by_python).starts_with("DOES NOT HOLD"), "{what}");
        assert!(follow_all(&folder).is_err(), "{what}: by hand");
    }
}
