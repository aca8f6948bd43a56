//! Options of a bench: one word without a dash, and `--name value` pairs.

use anyhow::{Context, Result, bail};
use std::collections::BTreeMap;
use std::str::FromStr;

/// What was given.
pub struct Options {
    words: Vec<String>,
    named: BTreeMap<String, String>,
}

impl Options {
    /// Takes the arguments apart; `known` are the names that may come.
    pub fn new(args: &[String], known: &[&str]) -> Result<Self> {
        let (mut words, mut named) = (Vec::new(), BTreeMap::new());
        let mut args = args.iter();
        while let Some(arg) = args.next() {
            match arg.strip_prefix("--") {
                Some(name) if known.contains(&name) => {
                    let value = args.next().with_context(|| format!("--{name} needs a value"))?;
                    named.insert(name.to_owned(), value.clone());
                }
                Some(name) => bail!("--{name} is not known; known are --{}", known.join(", --")),
                None => words.push(arg.clone()),
            }
        }
        Ok(Self { words, named })
    }

    /// The first plain word.
    pub fn word(&self, what: &str) -> Result<&str> {
        self.words.first().map(String::as_str).with_context(|| format!("name {what}"))
    }

    /// A named value, or `default`.
    pub fn get<T: FromStr>(&self, name: &str, default: T) -> Result<T> {
        match self.named.get(name) {
            None => Ok(default),
            Some(text) => {
                text.parse().ok().with_context(|| format!("--{name} {text:?} is not understood"))
            }
        }
    }
}
