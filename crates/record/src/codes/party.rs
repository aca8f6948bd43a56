//! Somebody who is told something.

use serde::{Deserialize, Serialize};

/// Somebody who is told something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Party {
    /// The fire service, by its emergency number.
    FireService,
    /// The authority having jurisdiction.
    Authority,
    /// The alarm monitoring company.
    Monitoring,
    /// The insurer.
    Insurer,
    /// The owner or manager.
    Owner,
    /// The impairment coordinator.
    Coordinator,
    /// The guard company's supervisor.
    Supervisor,
    /// The guard company's dispatcher.
    Dispatcher,
    /// The people in the building.
    Occupants,
    /// The foreman or contractor.
    Foreman,
    /// An electrician.
    Electrician,
    /// The gas, water or power company.
    Utility,
    /// The police.
    Police,
    /// A technician of the system.
    Engineer,
    /// Somebody else, named in the private line.
    Other,
}

impl Party {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Party; 15] = [
        Party::FireService,
        Party::Authority,
        Party::Monitoring,
        Party::Insurer,
        Party::Owner,
        Party::Coordinator,
        Party::Supervisor,
        Party::Dispatcher,
        Party::Occupants,
        Party::Foreman,
        Party::Electrician,
        Party::Utility,
        Party::Police,
        Party::Engineer,
        Party::Other,
    ];
}
