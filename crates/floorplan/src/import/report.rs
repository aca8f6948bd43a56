//! What an import understood, guessed and dropped, counted and with examples.

use crate::plan::Plan;
use std::collections::BTreeMap;
use std::fmt;

/// A plan and the account of how it came about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Imported {
    /// The plan.
    pub plan: Plan,
    /// The account.
    pub report: Report,
}

/// How often something happened, and where first.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Note {
    /// How often.
    pub count: usize,
    /// The first few parts it happened to.
    pub examples: Vec<String>,
}

/// What was understood, guessed and dropped, each sorted by its sentence.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Report {
    /// Taken as the file says it.
    pub understood: BTreeMap<String, Note>,
    /// Not said by the file; our assumption stands in the sentence.
    pub guessed: BTreeMap<String, Note>,
    /// Not used, with the reason.
    pub dropped: BTreeMap<String, Note>,
}

const EXAMPLES_MAX: usize = 5;

impl Report {
    /// Notes something taken as the file says it.
    pub fn understood(&mut self, what: &str, part: &str) {
        note(&mut self.understood, what, part);
    }

    /// Notes an assumption.
    pub fn guessed(&mut self, what: &str, part: &str) {
        note(&mut self.guessed, what, part);
    }

    /// Notes something left out.
    pub fn dropped(&mut self, what: &str, part: &str) {
        note(&mut self.dropped, what, part);
    }
}

fn note(notes: &mut BTreeMap<String, Note>, what: &str, part: &str) {
    let note = notes.entry(what.to_owned()).or_default();
    note.count += 1;
    if note.examples.len() < EXAMPLES_MAX {
        note.examples.push(part.to_owned());
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (title, notes) in [
            ("understood", &self.understood),
            ("guessed", &self.guessed),
            ("dropped", &self.dropped),
        ] {
            writeln!(f, "{title}")?;
            for (what, note) in notes {
                write!(f, "  {:>6}  {what}", note.count)?;
                if title == "understood" {
                    writeln!(f)?;
                } else {
                    let more = if note.count > note.examples.len() { ", …" } else { "" };
                    writeln!(f, "  ({}{more})", note.examples.join(", "))?;
                }
            }
        }
        Ok(())
    }
}
