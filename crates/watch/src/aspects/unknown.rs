//! Kinds that this program does not know: kept, shown as such, changing nothing else.

use crate::fold::Item;
use crate::time::Written;
use serde::Serialize;

/// A line that could not be read as one of the known kinds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unknown {
    /// The line.
    pub written: Written,
    /// Its kind.
    pub kind: String,
    /// What is wrong, if the kind is known and its body is not.
    pub fault: Option<String>,
}

impl Unknown {
    pub(crate) fn of(item: &Item<'_>, fault: Option<String>) -> Unknown {
        Unknown { written: item.written.clone(), kind: item.kept.said.kind().to_owned(), fault }
    }
}
