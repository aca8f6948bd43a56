//! The exit codes and the JSON of `rattlewatch verify`.

use std::process::{Command, Output};

fn verify(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_rattlewatch")).arg("verify").args(args).output().unwrap()
}

#[test]
fn what_is_no_bundle_has_faults_and_what_is_no_file_could_not_be_read() {
    let here = concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml");
    let strange = verify(&[here, "--json"]);
    assert_eq!(strange.status.code(), Some(1));
    let verdict: serde_json::Value = serde_json::from_slice(&strange.stdout).unwrap();
    assert_eq!(verdict["ok"], false);
    assert_eq!(verdict["faults"][0]["kind"], "archive");
    for missing in ["/no/such/file.zip", "/"] {
        let missing = verify(&[missing]);
        assert_eq!(missing.status.code(), Some(2));
        assert!(!missing.stderr.is_empty());
    }
}
