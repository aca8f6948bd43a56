//! The end of most papers: from which record they were printed, and whether it held.

use crate::page::Page;
use crate::sheets::{Block, Form};
use words::papers;

impl Page<'_> {
    /// Adds what the paper rests on: the code of the head, whether the lines are unaltered, and that
    /// blanks are for a pen.
    pub(super) fn add_sources(&self, form: &mut Form) {
        let lang = self.lang();
        let wide_mm = if form.dense { 17 } else { 22 };
        form.pictures.insert("head.svg".to_owned(), self.head_svg().into_bytes());
        let mut right = vec![Block::says(self.unaltered())];
        right.extend(self.integrity().into_iter().map(Block::soft));
        form.blocks.extend([
            Block::part(papers::from_record(lang)),
            Block::Beside {
                left_mm: wide_mm,
                left: vec![Block::Picture {
                    file: "head.svg".to_owned(),
                    alt: self.head_says(),
                    wide_mm,
                }],
                right,
            },
            Block::soft(papers::by_hand(lang)),
        ]);
    }
}
