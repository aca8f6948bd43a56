//! `equipment_checked`: The guard checked the kit and the way to call.

use crate::codes::CheckedItem;
use crate::ids::ZoneId;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The guard checked the kit and the way to call.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EquipmentChecked {
    /// What was there (true) or missing.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub items: BTreeMap<CheckedItem, bool>,
    /// Where the call path was tried, if in a zone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<ZoneId>,
}
