//! Outside time stamps (RFC 3161), made and checked by `openssl ts` with a throw-away authority.

use crate::by_hand::{Folder, run, text};
use crate::world::small_watch;
use bundle::{FaultKind, Stamp};
use std::path::Path;

const AUTHORITY: &str = "
[req]
distinguished_name = name
prompt = no
x509_extensions = stamping
[name]
CN = Throw-away stamps
[stamping]
basicConstraints = critical, CA:true
extendedKeyUsage = critical, timeStamping
[tsa]
default_tsa = only
[only]
serial = serial
crypto_device = builtin
signer_cert = tsa.pem
signer_key = key.pem
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256
accuracy = secs:1
";

fn openssl(folder: &Path, args: &[&str]) {
    let mut command = std::process::Command::new("openssl");
    let done = command.args(args).current_dir(folder).output();
    let done = done.unwrap_or_else(|error| panic!("this test needs `openssl`: {error}"));
    assert!(done.status.success(), "openssl {args:?}: {}", text(&done));
}

/// Stamps a file as an outside authority would.
fn stamp(folder: &Path, data: &[u8]) -> Vec<u8> {
    for (name, bytes) in [("tsa.cnf", AUTHORITY.as_bytes()), ("serial", b"01\n"), ("data", data)] {
        std::fs::write(folder.join(name), bytes).unwrap();
    }
    let key = ["req", "-x509", "-newkey", "rsa:2048", "-nodes", "-config", "tsa.cnf"];
    openssl(folder, &[&key[..], &["-keyout", "key.pem", "-out", "tsa.pem", "-days", "2"]].concat());
    openssl(folder, &["ts", "-query", "-data", "data", "-sha256", "-cert", "-out", "query"]);
    let reply = ["ts", "-reply", "-config", "tsa.cnf", "-section", "only", "-queryfile", "query"];
    openssl(folder, &[&reply[..], &["-out", "stamp.tsr"]].concat());
    std::fs::read(folder.join("stamp.tsr")).unwrap()
}

#[test]
fn a_stamped_head_holds_and_openssl_says_so_too() {
    let authority = Folder::new("authority");
    let mut world = small_watch();
    let head = world.head();
    let log = world.logs.last_mut().unwrap();
    let note = head.sign(&log.key).to_string();
    let tsr = stamp(authority.path(), note.as_bytes());
    log.stamps.push(Stamp { note, tsr });
    world.now_ms += 3_600_000;
    world.write(2, "note", serde_json::json!({}));
    world.seal();
    let bytes = world.bundle();
    let verdict = bundle::verify(&bytes, |_, _| {});
    assert_eq!(verdict.faults, []);
    assert!(verdict.cannot_know.iter().any(|open| open.contains("1 outside time stamp")));

    let folder = Folder::unpacked("stamped", &bytes);
    let program = folder.inside().join("verify.py");
    let by_python = run("python3", &["-B", program.to_str().unwrap()]);
    assert!(by_python.status.success(), "{}", text(&by_python));
    let name = format!("logs/1/stamps/{}", head.size);
    let (note, tsr) = (format!("{name}.note"), format!("{name}.tsr"));
    let tsa = authority.path().join("tsa.pem");
    let check = ["ts", "-verify", "-data", &note, "-in", &tsr, "-CAfile", tsa.to_str().unwrap()];
    openssl(&folder.inside(), &check);

    let log = world.logs.last_mut().unwrap();
    log.stamps[0].tsr = stamp(authority.path(), b"something else");
    let verdict = bundle::verify(&world.bundle(), |_, _| {});
    assert_eq!(verdict.faults.len(), 1);
    assert_eq!(verdict.faults[0].kind, FaultKind::Stamp);
}
