//! What a person may do (the server's role table decides).

use serde::{Deserialize, Serialize};

/// What a person may do (the server's role table decides).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Walks rounds.
    Guard,
    /// Leads a shift.
    ShiftLead,
    /// Opens and follows watches.
    Dispatcher,
    /// Keeps sites, people and settings.
    Keeper,
    /// Owns the organisation.
    Proprietor,
    /// Sees own sites.
    Client,
    /// Sees one watch by a link that expires.
    Inspector,
    /// Reads every record.
    Auditor,
    /// A program.
    Service,
    /// The server itself.
    Server,
}

impl Role {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Role; 10] = [
        Role::Guard,
        Role::ShiftLead,
        Role::Dispatcher,
        Role::Keeper,
        Role::Proprietor,
        Role::Client,
        Role::Inspector,
        Role::Auditor,
        Role::Service,
        Role::Server,
    ];
}
