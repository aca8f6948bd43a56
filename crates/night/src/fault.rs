//! What is wrong with a night, and what was probably meant.

use std::fmt;

/// A line of a night that cannot be told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NightFault {
    /// The line in the text, counted from 1.
    pub line: usize,
    /// What it says.
    pub text: String,
    /// What is wrong.
    pub says: String,
    /// The nearest sentence that can be told.
    pub nearest: Option<String>,
}

impl fmt::Display for NightFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {:?}: {}", self.line, self.text, self.says)?;
        match &self.nearest {
            Some(nearest) => write!(f, "; the nearest sentence is: {nearest}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for NightFault {}
