//! What the guard must know of this site.

use super::Document;
use serde::{Deserialize, Serialize};

/// The site's instructions in one language.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Instructions {
    /// Format version.
    pub v: u32,
    /// BCP 47 tag.
    pub language: String,
    /// One instruction each.
    pub lines: Vec<String>,
}

impl Document for Instructions {
    const NAME: &'static str = "instructions sheet";

    fn version(&self) -> u32 {
        self.v
    }
}
