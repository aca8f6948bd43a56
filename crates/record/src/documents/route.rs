//! The walk of a round, as it was issued: what `route_set` names.

use super::Document;
use crate::StopId;
use serde::{Deserialize, Serialize};

/// The legs of a round over a drawn plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Route {
    /// Format version.
    pub v: u32,
    /// In walking order; the first leads from the last stop back to the first one.
    pub legs: Vec<Leg>,
}

/// The walk to a stop from the one before.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Leg {
    /// Where it leads.
    pub to: StopId,
    /// Lines level by level; empty where the plan shows no way.
    pub pieces: Vec<Piece>,
}

/// A line on one level.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Piece {
    /// The level's id in the plan.
    pub level: String,
    /// Bends and ends, x and y in millimetres of the plan.
    pub line: Vec<[i64; 2]>,
}

impl Document for Route {
    const NAME: &'static str = "route";

    fn version(&self) -> u32 {
        self.v
    }
}
