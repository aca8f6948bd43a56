//! `structure_entered`: A structure was entered and inspected.

use crate::ids::PlaceId;
use serde::{Deserialize, Serialize};

/// A structure was entered and inspected.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StructureEntered {
    /// The structure.
    pub place: PlaceId,
}
