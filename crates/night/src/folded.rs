//! A night's lines as the fold of a watch takes them in.

use crate::{NightLine, Record};
use watch::{Held, Sealing, Watch};

impl Record {
    /// The watch that the night makes, every line of it held.
    pub fn folded(&self) -> Watch {
        let mut watch = Watch::new(self.watch.clone());
        self.lines.iter().for_each(|line| {
            watch.add(line.held());
        });
        watch
    }
}

impl NightLine {
    /// The line with its seal and its words.
    pub fn held(&self) -> Held {
        let sealing = Sealing {
            index: self.index,
            rx_ms: self.rx_ms,
            rxe_ms: self.rxe_ms,
            not_before_ms: self.not_before_ms,
        };
        Held { line: self.line.clone(), sealing: Some(sealing), words: self.words.clone() }
    }
}
