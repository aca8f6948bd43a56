//! Which blobs a line names.

use ledger::{Digest, Line};

/// Members of a body that name a blob by its digest, in any kind of entry.
const MEMBERS: &[&str] =
    &["blob", "card", "instructions", "photo", "plan", "route", "sheet", "signature", "terms"];

/// The blobs that a line names: all of them belong in the bundle, unless they were erased.
pub fn blobs_named(line: &Line) -> impl Iterator<Item = Digest> {
    let named = MEMBERS.iter().filter_map(|member| line.body.get(*member)?.as_str());
    named.filter_map(|text| text.parse().ok())
}
