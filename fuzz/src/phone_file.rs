//! The file by which lines leave a phone that cannot send them.

use crate::{Target, seeds, text};
use phone::file;
use phone::stored::StoredLine;

pub(crate) const TARGET: Target = Target {
    name: "phone-file",
    says: "every row is told by its number, and lines that were read come back from a file of them",
    reads,
    seeds: || {
        let lines = seeds::kept_phone()["lines"].as_array().cloned().unwrap_or_default();
        let rows: Vec<String> = lines.iter().map(|line| line.to_string()).collect();
        vec![rows.join("\n").into_bytes(), format!("{}\n\nno line\n", rows[0]).into_bytes()]
    },
    longest: 32 * 1024,
};

fn reads(bytes: &[u8]) {
    let text = &*text(bytes);
    let rows = file::read(text);
    let numbers: Vec<usize> = rows.iter().map(|row| row.number).collect();
    assert!(numbers.is_sorted_by(|a, b| a < b), "rows are told in order, each once");
    assert!(numbers.last().is_none_or(|last| *last <= text.lines().count()), "no row is made up");
    let filled = text.lines().filter(|row| !row.trim().is_empty()).count();
    assert_eq!(rows.len(), filled, "no row that holds something is passed over");
    let kept: Vec<StoredLine> = text.lines().filter_map(|row| phone::parse(row).ok()).collect();
    let sent: Vec<_> = rows.into_iter().filter_map(|row| row.sent).collect();
    let again: Vec<_> = file::read(&file::write(&kept)).into_iter().map(|row| row.sent).collect();
    assert_eq!(again, sent.into_iter().map(Some).collect::<Vec<_>>(), "lines come back");
}
