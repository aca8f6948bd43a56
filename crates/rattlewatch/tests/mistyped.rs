//! What is typed wrong is said in a line that names the next step, and changes nothing.

use std::net::TcpListener;
use std::path::Path;
use std::process::Command;

/// What the program says to these arguments, and its exit code.
fn says(args: &[&str]) -> (String, Option<i32>) {
    let mut program = Command::new(env!("CARGO_BIN_EXE_rattlewatch"));
    let output = program.args(args).env_remove("RATTLEWATCH_DATABASE").output().unwrap();
    (String::from_utf8_lossy(&output.stderr).into_owned(), output.status.code())
}

/// Refused with 2, in words that hold each of these.
fn refused(args: &[&str], with: &[&str]) {
    let (said, code) = says(args);
    assert_eq!(code, Some(2), "{args:?}: {said}");
    for words in with {
        assert!(said.contains(words), "{args:?}: {said}");
    }
}

fn path(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn a_server_says_why_it_does_not_start() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let at = taken.local_addr().unwrap().to_string();
    refused(&["serve", "--data", path(&data), "--listen", &at], &[&at, "stop it", "--listen"]);
    for wrong in ["8090", "localhost:8090"] {
        refused(&["serve", "--data", path(&data), "--listen", wrong], &["127.0.0.1:8090"]);
    }
    let data = path(&data);
    let mysql = ["serve", "--data", data, "--database", "mysql://host/name"];
    refused(&mysql, &["mysql", "postgres://USER@HOST/NAME"]);
    refused(&["serve", "--data", data, "--smtp", "mail.example.org"], &["smtp://HOST:PORT"]);
    let mail = ["serve", "--data", data, "--smtp", "smtp://localhost", "--mail-from", "nobody"];
    refused(&mail, &["mail address"]);
}

#[test]
fn a_folder_of_somebody_else_s_is_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let other = folder.path().join("other");
    std::fs::create_dir(&other).unwrap();
    std::fs::write(other.join("letter.txt"), "Dear Sir").unwrap();
    refused(&["serve", "--data", path(&other)], &["letter.txt", "--data"]);
    assert_eq!(std::fs::read_dir(&other).unwrap().count(), 1, "nothing was written there");
    let missing = folder.path().join("missing");
    refused(&["backup", "--data", path(&missing), "--out", path(&other)], &["--data"]);
    refused(&["restore", "--from", path(&other), "--data", path(&missing)], &["no backup"]);
    refused(&["export", "w-1", "-o", "x.zip", "--data", path(&missing)], &["--data"]);
    refused(&["move", "--data", path(&missing), "--to", "x.db"], &["--data"]);
}

#[test]
fn a_bundle_that_is_none_is_said_to_be_none() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("watch.zip");
    for command in ["verify", "findings"] {
        refused(&[command, path(&missing)], &["watch.zip", "No such file"]);
        refused(&[command, path(folder.path())], &["one zip file", "verify.py"]);
    }
}

#[test]
fn a_language_that_is_not_there_is_refused_by_every_command() {
    for args in [
        &["findings", "watch.zip"][..],
        &["print", "night", "--from", "watch.zip", "-o", "night.pdf"],
        &["terms", "--example"],
        &["route", "plan.json"],
        &["survey", "plan.json"],
        &["staff", "facts.toml"],
        &["replan", "rounds.json"],
        &["read-sheet", "page.png"],
    ] {
        refused(&[args, &["--lang", "fr"]].concat(), &["en and es"]);
    }
}

/// Whoever types nothing sees where to begin.
#[test]
fn the_help_says_where_to_begin() {
    let output = Command::new(env!("CARGO_BIN_EXE_rattlewatch")).arg("--help").output().unwrap();
    let help = String::from_utf8(output.stdout).unwrap();
    for words in ["Begin with `rattlewatch serve`", "rattlewatch verify BUNDLE"] {
        assert!(help.contains(words), "{help}");
    }
    let commands = help.split("Commands:").nth(1).unwrap();
    assert!(commands.trim_start().starts_with("serve"), "the house comes first: {commands}");
}
