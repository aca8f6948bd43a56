//! Questions from the guard, and their answers.

use crate::fold::Item;
use crate::time::Written;
use ledger::LineId;
use record::{Answered, Asked};
use serde::Serialize;

/// A question; its words are in the private line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Question {
    /// The line.
    pub written: Written,
    /// About which line.
    pub of: Option<LineId>,
    /// The answers, oldest first.
    pub answers: Vec<Written>,
}

#[derive(Default)]
pub(crate) struct Fold {
    questions: Vec<Question>,
    answers: Vec<(LineId, Written)>,
}

impl Fold {
    pub(crate) fn asked(&mut self, item: &Item<'_>, body: &Asked) {
        self.questions.push(Question {
            written: item.written.clone(),
            of: body.of,
            answers: Vec::new(),
        });
    }

    pub(crate) fn answered(&mut self, item: &Item<'_>, body: &Answered) {
        self.answers.push((body.of, item.written.clone()));
    }

    pub(crate) fn finish(self) -> Vec<Question> {
        let Fold { mut questions, answers } = self;
        for question in &mut questions {
            let id = question.written.line;
            question.answers = answers
                .iter()
                .filter(|(of, _)| *of == id)
                .map(|(_, written)| written.clone())
                .collect();
        }
        questions
    }
}
