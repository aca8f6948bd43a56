//! The names of the files in a bundle, in the order in which they stand.
//!
//! | name | what it holds |
//! |---|---|
//! | `README.md` | how to verify by hand; the same bytes in every bundle |
//! | `about.json` | which watch, and which device is the server |
//! | `blobs/DIGEST` | plan, route, terms, photos, signatures |
//! | `chains/DEVICE.jsonl` | the lines of one device, in order |
//! | `keys.jsonl` | the public key of every device, in order of device |
//! | `logs/N/head.note` | the newest head, as the log signed it |
//! | `logs/N/heads.jsonl` | the older heads that lines quote or stamps are on, in order of size |
//! | `logs/N/log.jsonl` | the whole log: leaves that concern the watch, the others as digests |
//! | `logs/N/log.vkey` | the log's verifier key |
//! | `logs/N/stamps/SIZE.note`, `SIZE.tsr` | a signed head and the outside time stamp (RFC 3161) on it |
//! | `manifest.jsonl` | name, length and digest of every other file |
//! | `org.jsonl` | enrolments and revocations, in the order of the logs |
//! | `private/DEVICE.jsonl` | the private lines that were not erased, in order of their lines |
//! | `verify.py` | verifies without this program; the same bytes in every bundle |

use ledger::{DeviceId, Digest};

/// How to verify by hand.
pub const README: &str = "README.md";
/// Which watch, and which device is the server.
pub const ABOUT: &str = "about.json";
/// The public keys.
pub const KEYS: &str = "keys.jsonl";
/// Every other file.
pub const MANIFEST: &str = "manifest.jsonl";
/// Enrolments and revocations.
pub const ORG: &str = "org.jsonl";
/// The program that verifies without this one.
pub const VERIFY: &str = "verify.py";

/// The most logs that one watch can touch; one a year.
pub const LOGS_MAX: usize = 9;

/// The lines of one device.
pub fn chain(dev: &DeviceId) -> String {
    format!("chains/{dev}.jsonl")
}

/// The private lines of one device.
pub fn private(dev: &DeviceId) -> String {
    format!("private/{dev}.jsonl")
}

/// A blob.
pub fn blob(digest: &Digest) -> String {
    format!("blobs/{digest}")
}

/// A file of log `number`, counted from 1.
pub fn log(number: usize, file: &str) -> String {
    format!("logs/{number}/{file}")
}

/// The device in the name of a chain or of private lines.
pub fn device<'n>(name: &'n str, folder: &str) -> Option<(DeviceId, &'n str)> {
    let stem = name.strip_prefix(folder)?.strip_prefix('/')?.strip_suffix(".jsonl")?;
    Some((stem.parse().ok()?, stem))
}

/// The digest in the name of a blob.
pub fn blob_digest(name: &str) -> Option<Digest> {
    name.strip_prefix("blobs/")?.parse().ok()
}

/// The number of the log and the name inside its folder.
pub fn log_file(name: &str) -> Option<(usize, &str)> {
    let (number, file) = name.strip_prefix("logs/")?.split_once('/')?;
    let [digit @ b'1'..=b'9'] = number.as_bytes() else { return None };
    Some((usize::from(digit - b'0'), file))
}

/// The size in the name of a stamped head or of its stamp, with the ending.
pub fn stamp(file: &str) -> Option<(u64, &str)> {
    let (size, ending) = file.strip_prefix("stamps/")?.split_once('.')?;
    let number: u64 = size.parse().ok()?;
    (number.to_string() == size && matches!(ending, "note" | "tsr")).then_some((number, ending))
}

/// Whether a file of this name can be in a bundle at all. Nothing else is ever unpacked.
pub fn is_known(name: &str) -> bool {
    matches!(name, README | ABOUT | KEYS | MANIFEST | ORG | VERIFY)
        || device(name, "chains").is_some()
        || device(name, "private").is_some()
        || blob_digest(name).is_some()
        || log_file(name).is_some_and(|(_, file)| {
            matches!(file, "head.note" | "heads.jsonl" | "log.jsonl" | "log.vkey")
                || stamp(file).is_some()
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_names_of_the_table_are_known() {
        let digest = Digest::of(b"x");
        let known = [
            README.to_owned(),
            blob(&digest),
            chain(&DeviceId(digest)),
            private(&DeviceId(digest)),
            log(1, "log.jsonl"),
            log(9, "stamps/17.tsr"),
        ];
        for name in known {
            assert!(is_known(&name), "{name}");
        }
        let strange = [
            "",
            "../README.md",
            "/README.md",
            "readme.md",
            "blobs/../../etc/passwd",
            "blobs/x",
            "logs/0/log.jsonl",
            "logs/10/log.jsonl",
            "logs/1/stamps/017.tsr",
            "logs/1/stamps/17.exe",
            "chains\\a.jsonl",
            "chains/",
        ];
        for name in strange {
            assert!(!is_known(name), "{name}");
        }
    }
}
