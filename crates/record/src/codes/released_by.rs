//! Who ended a watch.

use serde::{Deserialize, Serialize};

/// Who ended a watch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReleasedBy {
    /// The authority.
    Authority,
    /// The impairment coordinator.
    Coordinator,
    /// The client.
    Client,
    /// The guard company.
    House,
    /// A technician who restored the system.
    Technician,
}

impl ReleasedBy {
    /// All of them, in the order in which they are shown.
    pub const ALL: [ReleasedBy; 5] = [
        ReleasedBy::Authority,
        ReleasedBy::Coordinator,
        ReleasedBy::Client,
        ReleasedBy::House,
        ReleasedBy::Technician,
    ];
}
