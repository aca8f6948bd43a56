//! What a guard checks when a shift begins.

use serde::{Deserialize, Serialize};

/// What a guard checks when a shift begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CheckedItem {
    /// The phone is charged.
    Phone,
    /// A call can be made from here.
    Signal,
    /// The radio answers.
    Radio,
    /// Horn or whistle.
    Horn,
    /// Flashlight.
    Flashlight,
    /// Keys to every area.
    Keys,
    /// An extinguisher.
    Extinguisher,
    /// Vest and shoes.
    Vest,
    /// A paper sheet and a pen.
    Paper,
}

impl CheckedItem {
    /// All of them, in the order in which they are shown.
    pub const ALL: [CheckedItem; 9] = [
        CheckedItem::Phone,
        CheckedItem::Signal,
        CheckedItem::Radio,
        CheckedItem::Horn,
        CheckedItem::Flashlight,
        CheckedItem::Keys,
        CheckedItem::Extinguisher,
        CheckedItem::Vest,
        CheckedItem::Paper,
    ];
}
