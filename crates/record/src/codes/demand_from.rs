//! Where a demand comes from.

use serde::{Deserialize, Serialize};

/// Where a demand comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DemandFrom {
    /// A published code, law, rule or guideline.
    Code,
    /// The authority, for this very site.
    Authority,
    /// The client.
    Client,
    /// The contract.
    Contract,
    /// The guard company itself.
    House,
}

impl DemandFrom {
    /// All of them, in the order in which they are shown.
    pub const ALL: [DemandFrom; 5] = [
        DemandFrom::Code,
        DemandFrom::Authority,
        DemandFrom::Client,
        DemandFrom::Contract,
        DemandFrom::House,
    ];
}
