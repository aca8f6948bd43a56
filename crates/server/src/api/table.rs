//! CSV (RFC 4180) that no spreadsheet takes for a formula.

use axum::http::header;
use axum::response::{IntoResponse, Response};

/// Begins a cell that a spreadsheet would calculate (ASVS 5.0 1.2.10).
const FORMULA: &[char] = &['=', '+', '-', '@', '\t', '\r', '\0'];

/// A file of rows, each field quoted.
pub(crate) fn file(name: &str, rows: &[Vec<String>]) -> Response {
    let text: String = rows.iter().map(|row| line(row)).collect();
    let disposition = format!("attachment; filename=\"{name}\"");
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, disposition),
    ];
    (headers, text).into_response()
}

fn line(row: &[String]) -> String {
    let cells: Vec<String> = row.iter().map(|cell| quoted(cell)).collect();
    cells.join(",") + "\r\n"
}

/// Always quoted; an apostrophe in front takes a formula's power.
fn quoted(cell: &str) -> String {
    let guard = if cell.starts_with(FORMULA) { "'" } else { "" };
    format!("\"{guard}{}\"", cell.replace('"', "\"\""))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_is_never_a_formula() {
        for cell in ["=1+1", "+49 30", "-1", "@SUM(A1)", "\t=1", "\r=1"] {
            assert_eq!(quoted(cell), format!("\"'{cell}\""));
        }
        assert_eq!(
            line(&["Floor \"3\"".into(), "a,b\nc".into()]),
            "\"Floor \"\"3\"\"\",\"a,b\nc\"\r\n"
        );
    }
}
