//! Limits of work and rest, read from `standards/site/staffing` with their sources.

use serde::Deserialize;

/// Limits in minutes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rules {
    /// Longest stretch on duty.
    pub shift_longest: i64,
    /// Shortest rest between two stretches.
    pub rest_shortest: i64,
    /// Longest work in any seven days.
    pub week_longest: i64,
    /// Longest work without a break.
    pub break_after: i64,
    /// Length of a break.
    pub break_length: i64,
    /// How long the guard who comes and the one who goes are both there.
    pub overlap: i64,
    /// Each limit with its source, as lines to print.
    pub sources: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Limit {
    id: String,
    text: String,
    unit: String,
    value: Vec<Value>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Value {
    at_most: Option<i64>,
    at_least: Option<i64>,
    usual: Option<i64>,
    source: String,
    clause: String,
    known: String,
}

impl Rules {
    /// Reads the limits out of the texts of their files.
    pub fn read<'t>(files: impl IntoIterator<Item = &'t str>) -> Result<Rules, String> {
        let mut limits: Vec<Limit> = Vec::new();
        for text in files {
            limits.push(toml::from_str(text).map_err(|e| e.to_string())?);
        }
        let mut sources = Vec::new();
        let mut minutes = |id: &str| -> Result<i64, String> {
            let limit =
                limits.iter().find(|l| l.id == id).ok_or(format!("no limit {id:?} is given"))?;
            let value = limit.value.first().ok_or(format!("{id} has no value"))?;
            let number = value.at_most.or(value.at_least).or(value.usual);
            let number = number.filter(|n| *n >= 0 && limit.unit == "min");
            let number = number.ok_or(format!("{id} must be minutes, 0 or more"))?;
            sources.push(format!(
                "{}: {number} min ({}, {}, {})",
                limit.text, value.source, value.clause, value.known
            ));
            Ok(number)
        };
        let rules = Rules {
            shift_longest: minutes("shift-longest")?,
            rest_shortest: minutes("rest-shortest")?,
            week_longest: minutes("week-longest")?,
            break_after: minutes("break-after")?,
            break_length: minutes("break-length")?,
            overlap: minutes("overlap")?,
            sources: Vec::new(),
        };
        Ok(Rules { sources, ..rules })
    }
}
