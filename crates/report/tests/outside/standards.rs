//! PDF/A-2a and PDF/UA-1, judged by two checkers that nobody here wrote: `page-validation` and `pdfua` from the
//! Python package index, in pinned versions that `cargo x test tests` fetches.

use std::path::{Path, PathBuf};
use std::process::Command;

/// Prints a line for each fault: file, checker, rule, words.
const SCRIPT: &str = r#"
import pathlib, re, sys
import page
import pdfua

# page-validation 0.11.0 takes a carriage return at the end of packed data for a part of the line end that follows,
# and then finds the length one too large. Counted here by ISO 32000-1, 7.3.8.1: as many bytes as /Length says,
# then a line end, then endstream.
def lengths_hold(data):
    streams = list(re.finditer(rb"/Length (\d+)[^>]*(?:<<[^>]*>>[^>]*)*>>\s*stream\r?\n", data))
    assert streams, "no stream at all"
    return all(data[s.end() + int(s[1]):].startswith((b"\nendstream", b"\r\nendstream")) for s in streams)

for path in sorted(pathlib.Path(sys.argv[1]).glob("*.pdf")):
    for profile in ("2a", "ua1"):
        report = page.validate_pdf(path, profile=profile)
        assert report.rules.total > 100, report.rules.total
        for fault in report.failures:
            if fault.rule_id == "PDFA2A-STREAM-LENGTH-001" and lengths_hold(path.read_bytes()):
                continue
            print(path.name, "page-validation", profile, fault.rule_id, fault.message)
    for fault in pdfua.validate(str(path)).findings:
        print(path.name, "pdfua", fault)
    print("looked at", path.name, file=sys.stderr)
"#;

/// Files under their names, looked at together: starting the checkers takes longer than a file does.
pub(crate) struct Files {
    folder: PathBuf,
    names: Vec<String>,
}

impl Files {
    /// An empty set; `called` keeps the sets of several tests apart.
    pub(crate) fn new(called: &str) -> Files {
        let folder = format!("rattlewatch-standards-{}-{called}", std::process::id());
        let folder = std::env::temp_dir().join(folder);
        std::fs::create_dir_all(&folder).expect("the temporary folder is writable");
        Files { folder, names: Vec::new() }
    }

    pub(crate) fn add(&mut self, name: &str, pdf: &[u8]) {
        std::fs::write(self.folder.join(format!("{name}.pdf")), pdf).expect("writable");
        self.names.push(name.to_owned());
    }

    /// The faults that the checkers name, one a line. Every file must have been looked at.
    pub(crate) fn faults(&self) -> String {
        let packages = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/pdf-checker");
        assert!(
            packages.join("page").is_dir() && packages.join("pdfua").is_dir(),
            "page-validation and pdfua are missing: `cargo x test tests` fetches them"
        );
        let output = Command::new("python3")
            .args(["-c", SCRIPT])
            .arg(&self.folder)
            .env("PYTHONPATH", &packages)
            .output()
            .unwrap_or_else(|error| panic!("python3: {error}; install python3"));
        let looked = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{looked}");
        for name in &self.names {
            assert!(looked.contains(&format!("looked at {name}.pdf")), "{name}: {looked}");
        }
        String::from_utf8(output.stdout).expect("text")
    }
}

impl Drop for Files {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}
