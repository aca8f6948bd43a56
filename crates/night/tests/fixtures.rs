//! Every night in `fixtures/nights` is told, and its bundle verifies.

use std::path::Path;

#[test]
fn every_fixture_makes_a_bundle_that_holds() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/nights");
    let mut count = 0;
    for entry in std::fs::read_dir(&folder).expect("the nights are there") {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let record =
            night::tell(&text).unwrap_or_else(|fault| panic!("{}: {fault}", path.display()));
        let bytes = record.bundle().unwrap_or_else(|fault| panic!("{}: {fault}", path.display()));
        let verdict = bundle::verify(&bytes, |_, _| {});
        assert!(verdict.ok, "{}: {:#?}", path.display(), verdict.faults);
        count += 1;
    }
    assert!(count >= 8, "only {count} nights found");
}
