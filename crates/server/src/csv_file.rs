//! Tables as CSV (RFC 4180): written so that no program takes a cell for a formula, read with the
//! number of the line that cannot be used.

use std::collections::BTreeMap;

/// With these a spreadsheet begins a formula (OWASP, CSV Injection).
const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];
/// Rows taken at once.
const ROWS_MAX: usize = 5_000;

/// One row: cells by the name of their column, and the line it stands on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Row {
    pub(crate) line: u64,
    cells: BTreeMap<String, String>,
}

impl Row {
    /// The cell of a column, without spaces around it; empty if there is none.
    pub(crate) fn get(&self, column: &str) -> &str {
        self.cells.get(column).map_or("", |cell| cell.trim())
    }
}

/// Why a table cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum TableFault {
    /// Nothing under the heading.
    Empty,
    /// A column that must be there.
    Missing(&'static str),
    /// A line that is no row of the table.
    Line(u64),
    /// A cell that begins as a formula does.
    Formula(u64),
    /// More rows than are taken at once.
    TooMany(usize),
}

/// Reads a table with a heading; columns may stand in any order, unknown ones are left aside.
pub(crate) fn read(text: &str, needed: &[&'static str]) -> Result<Vec<Row>, TableFault> {
    let text = text.trim_start_matches('\u{feff}');
    let semicolons =
        text.lines().next().is_some_and(|head| head.contains(';') && !head.contains(','));
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(if semicolons { b';' } else { b',' })
        .flexible(true)
        .from_reader(text.as_bytes());
    let head: Vec<String> = match reader.headers() {
        Ok(head) => head.iter().map(|name| name.trim().to_lowercase().replace(' ', "_")).collect(),
        Err(_) => return Err(TableFault::Line(1)),
    };
    if let Some(missing) = needed.iter().find(|name| !head.iter().any(|column| column == *name)) {
        return Err(TableFault::Missing(missing));
    }
    let mut rows = Vec::new();
    for (i, record) in reader.records().enumerate() {
        let record = record.map_err(|_| TableFault::Line(i as u64 + 2))?;
        let line = record.position().map_or(i as u64 + 2, |at| line_of(text, at));
        let cells: BTreeMap<String, String> =
            head.iter().cloned().zip(record.iter().map(unguarded)).collect();
        if cells.values().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        // A telephone number begins with a plus and is none. Spaces in front go before a cell is kept.
        let formula = |cell: &str| {
            cell.starts_with(FORMULA) && !(cell.starts_with('+') && cell.chars().all(in_number))
        };
        if cells.values().any(|cell| formula(cell) || formula(cell.trim())) {
            return Err(TableFault::Formula(line));
        }
        rows.push(Row { line, cells });
        if rows.len() > ROWS_MAX {
            return Err(TableFault::TooMany(ROWS_MAX));
        }
    }
    if rows.is_empty() { Err(TableFault::Empty) } else { Ok(rows) }
}

/// The reader stands before the second half of a line break that is two characters.
fn line_of(text: &str, at: &csv::Position) -> u64 {
    let byte = usize::try_from(at.byte()).unwrap_or(usize::MAX);
    at.line() + u64::from(text.as_bytes().get(byte) == Some(&b'\n'))
}

fn in_number(c: char) -> bool {
    c.is_ascii_digit() || " +-()./".contains(c)
}

fn unguarded(cell: &str) -> String {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(FORMULA) => rest.to_owned(),
        _ => cell.to_owned(),
    }
}

/// Writes a table; a cell that a program could take for a formula gets a quote before it.
pub(crate) fn write<'a>(head: &[&str], rows: impl IntoIterator<Item = &'a [String]>) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .flexible(true)
        .from_writer(Vec::new());
    let whole = "a vector takes every byte";
    writer.write_record(head).expect(whole);
    for row in rows {
        writer.write_record(row.iter().map(|cell| guarded(cell))).expect(whole);
    }
    writer.into_inner().unwrap_or_default()
}

fn guarded(cell: &str) -> String {
    match cell.starts_with(FORMULA) {
        true => format!("'{cell}"),
        false => cell.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4180, 2: quotes, doubled quotes and line breaks inside a cell.
    #[test]
    fn the_examples_of_the_standard_are_read() {
        let text = "name,town\r\n\"b \r\nbb\",ccc\r\n\"a\"\"a\",c\r\n";
        let rows = read(text, &["name"]).unwrap();
        assert_eq!(rows[0].get("name"), "b \r\nbb");
        assert_eq!(rows[1].get("name"), "a\"a");
        assert_eq!(rows[1].get("floor"), "");
    }

    #[test]
    fn formulas_are_refused_going_in_and_guarded_going_out() {
        assert_eq!(read("name\r\n=1+1\r\n", &["name"]), Err(TableFault::Formula(2)));
        assert_eq!(read("name\r\n =1+1\r\n", &["name"]), Err(TableFault::Formula(2)));
        assert!(read("name,number\r\nAna,+1 (555) 010-0\r\n", &["name"]).is_ok());
        assert!(read("name,number\r\nAna, +1 555 0100\r\n", &["name"]).is_ok());
        let rows = [vec!["=cmd".to_owned(), "Ana, Pires".to_owned()]];
        let text = write(&["name", "who"], rows.iter().map(Vec::as_slice));
        assert_eq!(String::from_utf8(text).unwrap(), "name,who\r\n'=cmd,\"Ana, Pires\"\r\n");
        let again = read("name\r\n'-3\r\n", &["name"]);
        assert_eq!(again, Err(TableFault::Formula(2)));
    }

    #[test]
    fn a_missing_column_is_named() {
        assert_eq!(read("title\nx\n", &["name"]), Err(TableFault::Missing("name")));
        assert_eq!(read("name\n", &["name"]), Err(TableFault::Empty));
        assert!(read("name;town\nAna;Quay\n", &["name", "town"]).is_ok());
    }
}
