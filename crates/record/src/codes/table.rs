//! Which table was taken out of the record.

use serde::{Deserialize, Serialize};

/// Which table was taken out of the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Table {
    /// The live watches, most urgent first.
    Tonight,
    /// One watch as it stands.
    Watch,
    /// Every entry of one watch.
    Lines,
    /// What the rules say about one watch.
    Findings,
    /// Hours on duty by client and order.
    Hours,
    /// Who is planned when.
    Roster,
    /// Which report went to whom.
    Deliveries,
}

impl Table {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Table; 7] = [
        Table::Tonight,
        Table::Watch,
        Table::Lines,
        Table::Findings,
        Table::Hours,
        Table::Roster,
        Table::Deliveries,
    ];
}
