//! How often the phone asks for news: soon while something goes on, seldom through the quiet of a night. Each question
//! wakes the radio, and a battery has to last for twelve hours.

use crate::model::Model;
use crate::moment::Moment;

/// While something goes on, ms.
const LIVELY_MS: i64 = 10_000;

/// While nothing does, ms: half of the 120 s after which the desk says *not heard from*, so that one question may be
/// lost and the next is still in time.
const QUIET_MS: i64 = 60_000;

/// So long after a touch or after the screen was lit somebody looks at what may come, ms.
const AFTER_TOUCH_MS: i64 = 60_000;

/// What the next question waits for.
#[derive(Debug, Default)]
pub(crate) struct Pace {
    /// Answers in a row that brought nothing while nothing went on.
    quiet: u32,
    touched_mono_ms: Option<i64>,
    answered_mono_ms: Option<i64>,
}

impl Pace {
    /// Somebody touches the screen or it was lit. Since when the next question is due at the latest.
    pub(crate) fn touched(&mut self, at: &Moment) -> i64 {
        self.quiet = 0;
        self.touched_mono_ms = Some(at.mono_ms);
        self.answered_mono_ms.map_or(at.mono_ms, |answered_ms| answered_ms + LIVELY_MS)
    }

    /// An answer came, with or without news: how long the next question waits, ms. It doubles from 10 s to a minute.
    fn answered(&mut self, at: &Moment, news: bool, goes_on: bool) -> i64 {
        self.answered_mono_ms = Some(at.mono_ms);
        let touched_ms = self.touched_mono_ms.map(|touched_ms| at.mono_ms - touched_ms);
        let touched = touched_ms.is_some_and(|since_ms| since_ms < AFTER_TOUCH_MS);
        self.quiet = if news || goes_on || touched { 0 } else { self.quiet.saturating_add(1) };
        (LIVELY_MS << self.quiet.min(4)).min(QUIET_MS)
    }
}

/// How long the next question waits after an answer, ms.
pub(crate) fn next(model: &mut Model, at: &Moment, news: bool) -> i64 {
    let goes_on = goes_on(model);
    model.syncing.pace.answered(at, news, goes_on)
}

/// An emergency, or a question to the desk that has no answer: somebody waits for what comes.
fn goes_on(model: &Model) -> bool {
    let Some(state) = &model.state else { return false };
    let person = model.person();
    let asks = |question: &watch::Question| {
        question.answers.is_empty() && Some(&question.written.who) == person
    };
    state.emergency().is_some() || state.questions.iter().any(asks)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(s: i64) -> Moment {
        Moment {
            wall_ms: s * 1000,
            mono_ms: s * 1000,
            tz_min: 0,
            site_tz_min: None,
            random: [0; 16],
        }
    }

    /// When questions are asked from `from_s` on, each answered at once, s.
    fn asked(pace: &mut Pace, from_s: i64, goes_on: bool) -> Vec<i64> {
        let mut now_s = from_s;
        let mut next = || {
            now_s += pace.answered(&at(now_s), false, goes_on) / 1000;
            now_s
        };
        (0..6).map(|_| next()).collect()
    }

    #[test]
    fn questions_grow_rare_in_the_quiet_and_frequent_after_a_touch() {
        let mut pace = Pace::default();
        assert_eq!(asked(&mut pace, 0, false), [20, 60, 120, 180, 240, 300]);
        // Ten seconds after the last answer have passed long ago: at once.
        assert_eq!(pace.touched(&at(299)), 250_000);
        assert_eq!(asked(&mut pace, 300, false), [310, 320, 330, 340, 350, 360]);
        assert_eq!(pace.touched(&at(352)), 360_000, "not more often than every ten seconds");
        assert_eq!(asked(&mut pace, 460, false), [480, 520, 580, 640, 700, 760]);
        assert_eq!(asked(&mut pace, 760, true), [770, 780, 790, 800, 810, 820]);
        assert_eq!(pace.answered(&at(900), true, false), 10_000, "news seldom come alone");
    }
}
