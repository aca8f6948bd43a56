//! A drill's stages.

use serde::{Deserialize, Serialize};

/// A drill's stages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DrillStage {
    /// It begins: nothing is dialled.
    Began,
    /// Somebody said that it is real: from here on in earnest.
    Real,
    /// It ends.
    Ended,
}

impl DrillStage {
    /// All of them, in the order in which they are shown.
    pub const ALL: [DrillStage; 3] = [DrillStage::Began, DrillStage::Real, DrillStage::Ended];
}
