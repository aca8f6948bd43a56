//! The order of the log's columns, set by a small file: one name on each line, `#` before a comment.

use std::str::FromStr;
use thiserror::Error;

/// A column of the log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Column {
    /// The due window, printed.
    Window,
    /// When the round began, by hand.
    Start,
    /// When it ended, by hand.
    End,
    /// The tick boxes, one column for each zone.
    Zones,
    /// Whose round it was, by hand.
    Initials,
    /// The classes of what was found, by hand.
    Codes,
}

impl Column {
    /// All of them, in the order of a sheet without a file.
    pub const ALL: [Column; 6] = [
        Column::Window,
        Column::Start,
        Column::End,
        Column::Zones,
        Column::Initials,
        Column::Codes,
    ];

    /// Its name in the file.
    pub fn name(self) -> &'static str {
        match self {
            Column::Window => "window",
            Column::Start => "start",
            Column::End => "end",
            Column::Zones => "zones",
            Column::Initials => "initials",
            Column::Codes => "codes",
        }
    }

    /// Its width; the zones share what is left.
    pub(crate) fn width(self) -> i32 {
        match self {
            Column::Window => 210,
            Column::Start | Column::End => 145,
            Column::Initials => 150,
            Column::Codes => 165,
            Column::Zones => 0,
        }
    }
}

/// The columns in the order in which they are printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Columns(Vec<Column>);

/// What is wrong with a file of columns.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ColumnsFault {
    /// No such column.
    #[error(
        "line {line}: there is no column {name:?}; there are window, start, end, zones, initials and codes"
    )]
    Unknown {
        /// The line, from 1.
        line: usize,
        /// What stands there.
        name: String,
    },
    /// A column that stood there before.
    #[error("line {line}: the column {name} stands there twice; leave one out")]
    Twice {
        /// The line, from 1.
        line: usize,
        /// The column.
        name: &'static str,
    },
    /// No boxes to tick.
    #[error("the column zones is missing: without it there is nothing to tick")]
    NoZones,
}

impl Default for Columns {
    fn default() -> Columns {
        Columns(Column::ALL.to_vec())
    }
}

impl Columns {
    /// In printed order.
    pub fn order(&self) -> &[Column] {
        &self.0
    }
}

impl FromStr for Columns {
    type Err = ColumnsFault;

    fn from_str(text: &str) -> Result<Columns, ColumnsFault> {
        let mut order = Vec::new();
        for (place, line) in text.lines().enumerate() {
            let name = line.split('#').next().unwrap_or_default().trim();
            if name.is_empty() {
                continue;
            }
            let line = place + 1;
            let column = Column::ALL
                .into_iter()
                .find(|column| column.name() == name)
                .ok_or_else(|| ColumnsFault::Unknown { line, name: name.to_owned() })?;
            if order.contains(&column) {
                return Err(ColumnsFault::Twice { line, name: column.name() });
            }
            order.push(column);
        }
        match order.contains(&Column::Zones) {
            true => Ok(Columns(order)),
            false => Err(ColumnsFault::NoZones),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_sets_the_order_and_may_leave_columns_out() {
        let columns: Columns =
            "# the house's order\ninitials\n\nzones # ticks\nwindow\n".parse().unwrap();
        assert_eq!(columns.order(), [Column::Initials, Column::Zones, Column::Window]);
    }

    #[test]
    fn a_wrong_file_is_told_what_is_wrong() {
        let says = |text: &str| text.parse::<Columns>().unwrap_err().to_string();
        assert!(says("zones\nsmell").starts_with("line 2: there is no column \"smell\""));
        assert!(says("zones\nend\nend").contains("line 3: the column end stands there twice"));
        assert!(says("window").contains("nothing to tick"));
    }
}
