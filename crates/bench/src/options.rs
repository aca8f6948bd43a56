<<<<<<< HEAD
//! Options of a bench: one word without a dash, and `--name value` pairs.
=======
//! Arguments of a bench: plain words, and `--name value` pairs.
>>>>>>> 1f1eb75 (planner: closed tours by deepening exchange with kicks, the 1-tree bound; bench tour)

use anyhow::{Context, Result, bail};
use std::collections::BTreeMap;
use std::str::FromStr;

<<<<<<< HEAD
/// What was given.
pub(crate) struct Options {
    words: Vec<String>,
=======
pub(crate) struct Options {
    pub(crate) words: Vec<String>,
>>>>>>> 1f1eb75 (planner: closed tours by deepening exchange with kicks, the 1-tree bound; bench tour)
    named: BTreeMap<String, String>,
}

impl Options {
<<<<<<< HEAD
    /// Takes the arguments apart; `known` are the names that may come.
    pub(crate) fn new(args: &[String], known: &[&str]) -> Result<Self> {
=======
    /// Splits the arguments; a name that is not among `known` is refused.
    pub(crate) fn parse(args: &[String], known: &[&str]) -> Result<Options> {
>>>>>>> 1f1eb75 (planner: closed tours by deepening exchange with kicks, the 1-tree bound; bench tour)
        let (mut words, mut named) = (Vec::new(), BTreeMap::new());
        let mut args = args.iter();
        while let Some(arg) = args.next() {
            match arg.strip_prefix("--") {
                Some(name) if known.contains(&name) => {
                    let value = args.next().with_context(|| format!("--{name} needs a value"))?;
                    named.insert(name.to_owned(), value.clone());
                }
<<<<<<< HEAD
                Some(name) => bail!("--{name} is not known; known are --{}", known.join(", --")),
                None => words.push(arg.clone()),
            }
        }
        Ok(Self { words, named })
    }

    /// The first plain word.
    pub(crate) fn word(&self, what: &str) -> Result<&str> {
        self.words.first().map(String::as_str).with_context(|| format!("name {what}"))
    }

    /// A named value, or `default`.
    pub(crate) fn get<T: FromStr>(&self, name: &str, default: T) -> Result<T> {
        match self.named.get(name) {
            None => Ok(default),
            Some(text) => {
                text.parse().ok().with_context(|| format!("--{name} {text:?} is not understood"))
            }
=======
                Some(name) => bail!("unknown option --{name}; known are {}", known.join(", ")),
                None => words.push(arg.clone()),
            }
        }
        Ok(Options { words, named })
    }

    /// The value of an option, or `default` when it was not given.
    pub(crate) fn get<T: FromStr>(&self, name: &str, default: T) -> Result<T> {
        match self.named.get(name) {
            None => Ok(default),
            Some(text) => match text.parse() {
                Ok(value) => Ok(value),
                Err(_) => bail!("--{name} {text} is not understood"),
            },
        }
    }

    /// The one plain word, usually a file.
    pub(crate) fn file(&self) -> Result<&str> {
        match self.words.as_slice() {
            [file] => Ok(file),
            other => bail!("one file is needed, {} were given", other.len()),
>>>>>>> 1f1eb75 (planner: closed tours by deepening exchange with kicks, the 1-tree bound; bench tour)
        }
    }
}
