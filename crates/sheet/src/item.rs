//! What stands on a page: the few shapes that a typesetter or a screen has to draw.

use serde::Serialize;

/// What to draw with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Ink {
    /// Black on paper: marks, boxes, words.
    Ink,
    /// A second line of words.
    Soft,
    /// Rules between rows.
    Line,
    /// The emergency.
    Ember,
    /// Paper.
    White,
}

/// Where words stand in their place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Align {
    /// At the left.
    Left,
    /// In the middle.
    Center,
    /// At the right.
    Right,
}

/// Which face words are set in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Face {
    /// Words.
    Plain,
    /// Strong words.
    Bold,
    /// Times and numbers.
    Mono,
    /// What the record filled in, where a hand would have written.
    Filled,
}

/// One thing on a page.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "is", rename_all = "lowercase")]
pub enum Item {
    /// Words in a place; they are set smaller, and then cut off, if they do not fit.
    Text {
        /// Left edge.
        x: i32,
        /// Upper edge.
        y: i32,
        /// Width.
        w: i32,
        /// Height.
        h: i32,
        /// Size at most, in tenths of a point.
        size: i32,
        /// The face.
        face: Face,
        /// Where in its place.
        align: Align,
        /// Colour.
        ink: Ink,
        /// The words.
        text: String,
    },
    /// A straight line.
    Line {
        /// From.
        from: (i32, i32),
        /// To.
        to: (i32, i32),
        /// Thickness.
        weight: i32,
        /// Colour.
        ink: Ink,
    },
    /// A box: its outer edges; the outline lies inside them.
    Frame {
        /// Left edge.
        x: i32,
        /// Upper edge.
        y: i32,
        /// Width.
        w: i32,
        /// Height.
        h: i32,
        /// Thickness of the outline.
        weight: i32,
        /// Colour.
        ink: Ink,
    },
    /// A full circle.
    Disc {
        /// Its middle.
        at: (i32, i32),
        /// Its radius.
        r: i32,
        /// Colour.
        ink: Ink,
    },
    /// The sheet code as a QR code; the place includes its quiet zone.
    Code {
        /// Left edge.
        x: i32,
        /// Upper edge.
        y: i32,
        /// Width and height.
        side: i32,
        /// What it says.
        text: String,
        /// The same for those who do not see it.
        says: String,
    },
}
