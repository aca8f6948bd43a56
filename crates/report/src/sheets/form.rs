//! A paper made of blocks: fields, checks, tables, pictures, cards to be cut out. What is not known
//! stays blank and leaves room for a pen.

use super::Photo;
use crate::pdf::{Document, Paper, PdfFault, set};
use serde::Serialize;
use std::collections::BTreeMap;

/// The whole paper, ready to be placed. Texts are in one language and final.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Default)]
pub struct Form {
    /// BCP 47 tag of the texts.
    pub lang: String,
    /// Size of the sheet.
    pub paper: Paper,
    /// What this paper is.
    pub title: String,
    /// Of which site, and when.
    pub subtitle: String,
    /// Said on every page: a drill, a demonstration, a bundle that did not verify.
    pub warning: Option<String>,
    /// Stands at the foot of every page beside the page's number.
    pub foot: String,
    /// `Page {page} of {pages}` as its two words.
    pub page_words: [String; 2],
    /// Whether the sheet carries cards only: no heading, narrow margins.
    pub bare: bool,
    /// Whether as much as can be read stands on one sheet: less room between the parts.
    pub dense: bool,
    /// What stands on it, in reading order.
    pub blocks: Vec<Block>,
    /// Pictures by file name.
    #[serde(skip)]
    pub pictures: BTreeMap<String, Vec<u8>>,
}

/// One thing on the paper.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "is", rename_all = "snake_case")]
pub enum Block {
    /// A new sheet begins.
    Sheet,
    /// A heading.
    Part {
        /// Its words.
        says: String,
    },
    /// Large words.
    Large {
        /// The words.
        says: String,
        /// Their size, points.
        size_pt: u32,
    },
    /// A paragraph.
    Says {
        /// Its words.
        says: String,
    },
    /// A paragraph that explains, in the softer ink.
    Soft {
        /// Its words.
        says: String,
    },
    /// Names and values, side by side.
    Fields {
        /// How many side by side.
        columns: u32,
        /// The fields.
        rows: Vec<Field>,
    },
    /// Boxes to be ticked.
    Checks {
        /// How many columns, once there are four rows.
        columns: usize,
        /// The rows.
        rows: Vec<Check>,
    },
    /// A table.
    Table(Table),
    /// A picture.
    Picture {
        /// Its file among the pictures.
        file: String,
        /// The same in words.
        alt: String,
        /// How wide, mm.
        wide_mm: u32,
    },
    /// Two groups side by side.
    Beside {
        /// How wide the left one is, mm.
        left_mm: u32,
        /// The left one.
        left: Vec<Block>,
        /// The right one.
        right: Vec<Block>,
    },
    /// Lines to sign on, each with what it is for.
    Signatures {
        /// What each is for.
        rows: Vec<String>,
    },
    /// Photos with their digests.
    Photos {
        /// The photos.
        rows: Vec<Photo>,
    },
    /// Cards to be cut out.
    Cards(Cards),
}

/// A name and its value; none is a line to write on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Field {
    /// The name.
    pub name: String,
    /// The value.
    pub value: Option<String>,
}

/// A box and what it stands for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Check {
    /// Whether it is ticked.
    pub mark: Mark,
    /// What it stands for.
    pub says: String,
    /// In words, what the mark says; empty for a blank box.
    pub note: String,
}

/// What stands in a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// Done, in order.
    Yes,
    /// Not in order.
    No,
    /// The record says nothing.
    Blank,
}

/// A table; blank rows leave room for a pen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Default)]
pub struct Table {
    /// The words of its head.
    pub head: Vec<String>,
    /// Which columns take what room is left; the others are as wide as their content.
    pub wide: Vec<usize>,
    /// Which of these takes twice as much.
    pub widest: Option<usize>,
    /// Which columns hold times and numbers.
    pub mono: Vec<usize>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
    /// How many blank rows follow.
    pub blank: usize,
}

/// Cards of one size on sheets, with marks to cut along.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Cards {
    /// Width, mm.
    pub wide_mm: u32,
    /// Height, mm.
    pub high_mm: u32,
    /// How many stand side by side.
    pub columns: u32,
    /// The cards.
    pub cards: Vec<Vec<Block>>,
}

impl Form {
    /// Sets the paper. `ident` names the document; `issued_ms` is when it was issued, ms UTC.
    pub fn to_pdf(&self, ident: &str, issued_ms: i64) -> Result<Vec<u8>, PdfFault> {
        set(Document {
            template: include_str!("../templates/form.typ"),
            data: self,
            pictures: self.pictures.clone(),
            ident: ident.to_owned(),
            issued_ms,
            tagged: true,
        })
    }
}

impl Block {
    /// A heading.
    pub(crate) fn part(says: &str) -> Block {
        Block::Part { says: says.to_owned() }
    }

    /// A paragraph.
    pub(crate) fn says(says: impl Into<String>) -> Block {
        Block::Says { says: says.into() }
    }

    /// A paragraph that explains.
    pub(crate) fn soft(says: impl Into<String>) -> Block {
        Block::Soft { says: says.into() }
    }
}

impl Field {
    /// A field whose value is known.
    pub(crate) fn of(name: &str, value: impl Into<String>) -> Field {
        Field::maybe(name, Some(value.into()))
    }

    /// A field whose value may be known; an empty text is not.
    pub(crate) fn maybe(name: &str, value: Option<String>) -> Field {
        Field { name: name.to_owned(), value: value.filter(|value| !value.is_empty()) }
    }

    /// A field to be written by hand.
    pub(crate) fn blank(name: &str) -> Field {
        Field::maybe(name, None)
    }
}

impl Check {
    /// A box that the record does not fill.
    pub(crate) fn blank(says: &str) -> Check {
        Check { mark: Mark::Blank, says: says.to_owned(), note: String::new() }
    }
}
