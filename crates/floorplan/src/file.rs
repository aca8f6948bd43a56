//! Bytes of a plan: read with a reason, written in the one form whose SHA-256 names the plan.

use crate::plan::{Plan, VERSION};
use serde_json::Value;
use sha2::{Digest, Sha256};
use std::fmt;

/// The largest plan file that is read, in bytes.
pub const BYTES_MAX: usize = 256 * 1024 * 1024;

/// The SHA-256 of a plan's canonical bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlanDigest(pub [u8; 32]);

impl fmt::Display for PlanDigest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

/// Why bytes are no plan.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// Not JSON, or not of this shape.
    #[error("this is no plan file: {0}. Compare it with the example in docs/spec/plan-file.md")]
    Shape(#[from] serde_json::Error),
    /// Written by a newer program.
    #[error(
        "the plan is of version {0} and this program reads up to {VERSION}: update the program"
    )]
    Newer(u64),
    /// No `version` at all.
    #[error(
        "the file has no \"version\": if it is a drawing or GeoJSON, use `rattlewatch import` first"
    )]
    NoVersion,
    /// Larger than [`BYTES_MAX`].
    #[error("the file has {0} bytes, more than the {BYTES_MAX} that are read: split the site")]
    Large(usize),
}

impl Plan {
    /// Reads a plan file. What is wrong *inside* a plan is found by [`Plan::check`].
    pub fn read(bytes: &[u8]) -> Result<Plan, ReadError> {
        if bytes.len() > BYTES_MAX {
            return Err(ReadError::Large(bytes.len()));
        }
        let value: Value = serde_json::from_slice(bytes)?;
        match value.get("version").and_then(Value::as_u64) {
            None => Err(ReadError::NoVersion),
            Some(newer) if newer > u64::from(VERSION) => Err(ReadError::Newer(newer)),
            Some(_) => Ok(serde_json::from_value(value)?),
        }
    }

    /// The one byte form: keys sorted, no spaces, whole numbers only (RFC 8785 for these values).
    pub fn canonical(&self) -> Vec<u8> {
        let value =
            serde_json::to_value(self).expect("a plan holds only strings, whole numbers and lists");
        let mut out = Vec::new();
        write_sorted(&value, &mut out);
        out
    }

    /// The name of exactly this plan.
    pub fn digest(&self) -> PlanDigest {
        PlanDigest(Sha256::digest(self.canonical()).into())
    }

    /// The form for people: indented, in the order of the documentation.
    pub fn pretty(&self) -> String {
        let mut text = serde_json::to_string_pretty(self)
            .expect("a plan holds only strings, whole numbers and lists");
        text.push('\n');
        text
    }
}

fn write_sorted(value: &Value, out: &mut Vec<u8>) {
    match value {
        Value::Object(map) => {
            let mut keys: Vec<_> = map.iter().collect();
            keys.sort_by_key(|(key, _)| key.as_str());
            out.push(b'{');
            for (i, (key, inner)) in keys.into_iter().enumerate() {
                if i > 0 {
                    out.push(b',');
                }
                out.extend(Value::from(key.as_str()).to_string().bytes());
                out.push(b':');
                write_sorted(inner, out);
            }
            out.push(b'}');
        }
        Value::Array(items) => {
            out.push(b'[');
            for (i, inner) in items.iter().enumerate() {
                if i > 0 {
                    out.push(b',');
                }
                write_sorted(inner, out);
            }
            out.push(b']');
        }
        plain => out.extend(plain.to_string().bytes()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn canonical_bytes_of_the_smallest_plan() {
        let plan = Plan::simple("Gannet Quay", &["Floor 1"], 1800);
        let text = String::from_utf8(plan.canonical()).expect("JSON is text");
        assert_eq!(
            text,
            r#"{"name":"Gannet Quay","stops":[{"id":"floor-1","name":"Floor 1","zone":"floor-1"}],"version":1,"zones":[{"gap_s":1800,"id":"floor-1","kind":"general","name":"Floor 1"}]}"#
        );
        // Checked with `sha256sum` over exactly these bytes.
        assert_eq!(
            plan.digest().to_string(),
            "619dc00bc439846dd5eb833bf8e34e453c86743e13c0b43915090f6e69d9f2b4"
        );
    }

    #[test]
    fn pretty_and_canonical_read_back_to_the_same_plan() {
        let plan = Plan::simple("Gannet Quay", &["Floor 1", "Roof"], 900);
        assert_eq!(Plan::read(plan.pretty().as_bytes()).expect("own bytes"), plan);
        assert_eq!(Plan::read(&plan.canonical()).expect("own bytes"), plan);
    }

    #[test]
    fn foreign_bytes_say_what_to_do() {
        for (bytes, says) in [
            (&b"\xff\xd8"[..], "no plan file"),
            (b"{\"type\":\"FeatureCollection\"}", "rattlewatch import"),
            (b"{\"version\":2}", "update the program"),
            (b"{\"version\":1,\"name\":\"x\",\"zones\":[{\"id\":\"A B\",\"name\":\"\",\"gap_s\":1}],\"stops\":[]}", "a-z 0-9"),
        ] {
            let error = Plan::read(bytes).expect_err("not a plan").to_string();
            assert!(error.contains(says), "{error}");
        }
    }
}
