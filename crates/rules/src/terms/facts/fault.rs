//! What is wrong with a FACTS file: the key, the fault, an example. `words` makes sentences of it.

/// One fault. A file is read to its end, so that all its faults are told at once.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// The key, with its place in a list counted from 1: `outage[2].from`.
    pub key: String,
    /// What is wrong.
    pub wrong: Wrong,
    /// A line that would be accepted.
    pub example: String,
}

/// What can be wrong with a key.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Wrong {
    /// The text is no TOML; what the reader of TOML says, with the line.
    NotToml(String),
    /// It must be stated.
    Missing,
    /// There is no such key; the nearest one.
    UnknownKey {
        /// The key that was most likely meant.
        nearest: String,
    },
    /// The value is none of the list; the nearest one.
    UnknownValue {
        /// What was given.
        given: String,
        /// The value that was most likely meant.
        nearest: String,
    },
    /// It is not of the kind that is wanted.
    NotA {
        /// The kind wanted.
        kind: Kind,
        /// What was given.
        given: String,
    },
    /// The number is below what makes sense.
    TooSmall {
        /// What was given.
        given: String,
        /// The least that is accepted.
        least: i64,
    },
    /// The number or time is beyond what makes sense.
    TooLarge {
        /// What was given.
        given: String,
    },
    /// The clocks of the zone were put forward over this local time.
    NoSuchLocalTime {
        /// What was given.
        given: String,
        /// The time that the clocks showed instead.
        example: String,
    },
    /// It ends before it begins.
    EndsBeforeItBegins {
        /// The key of the beginning.
        begins: String,
        /// A time an hour after the beginning.
        example: String,
    },
    /// It contradicts another key.
    Contradicts {
        /// That key.
        other: String,
    },
}

/// Kinds of value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// `true` or `false`.
    Flag,
    /// A number.
    Number,
    /// A whole number.
    WholeNumber,
    /// Text in quotes.
    Text,
    /// An instant.
    Time,
    /// A day.
    Day,
    /// A time of day.
    TimeOfDay,
    /// Hours of the week.
    Hours,
    /// A list.
    List,
    /// A section in brackets.
    Section,
    /// A repeated section in double brackets.
    Sections,
}
