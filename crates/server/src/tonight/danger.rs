//! Which of several late watches is looked at first: our own order, no demand of any code.
//!
//! A place that is owed a look every 10 minutes and has had none for 25 is in more danger than one that is owed a look
//! every hour and has had none for 80 minutes: what counts is how many allowed gaps have gone by. Where hot work has left
//! sparks that are still watched, or a hazard was seen and nothing has been done, the same lateness counts double.

use crate::standing::Standing;

/// So many thousandths of an allowed gap have gone by unseen, in the worst zone; nothing if no zone is over its gap.
pub(crate) fn danger(standing: &Standing, now_ms: i64) -> i64 {
    let gaps = standing.over(now_ms).into_iter().map(|due| {
        let unseen_ms = (now_ms - due.since_ms).max(0);
        unseen_ms / i64::from(due.allowed_s.max(1))
    });
    let worst = gaps.max().unwrap_or(0);
    let sparks = standing.tail_until_ms.is_some_and(|until_ms| until_ms > now_ms);
    if sparks || !standing.observations.is_empty() { worst * 2 } else { worst }
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::ZoneId;
    use watch::Due;

    const MINUTE_MS: i64 = 60_000;

    fn unseen(minutes: i64, allowed_min: u32) -> Standing {
        let due = Due {
            zone: ZoneId::new("hall").unwrap(),
            due_ms: i64::from(allowed_min) * MINUTE_MS - minutes * MINUTE_MS,
            allowed_s: allowed_min * 60,
            since_ms: -minutes * MINUTE_MS,
            since: None,
            stopped: false,
        };
        Standing { due: vec![due], ..Standing::default() }
    }

    #[test]
    fn what_has_missed_more_of_its_gaps_comes_first() {
        let (hot, calm) = (unseen(25, 10), unseen(80, 60));
        assert_eq!((danger(&hot, 0), danger(&calm, 0)), (2_500, 1_333));
        assert_eq!(danger(&unseen(9, 10), 0), 0, "not over");
    }

    #[test]
    fn sparks_and_open_hazards_count_double() {
        let calm = unseen(40, 30);
        let sparks = Standing { tail_until_ms: Some(MINUTE_MS), ..calm.clone() };
        let seen = Standing { observations: vec![-MINUTE_MS], ..calm.clone() };
        assert_eq!(danger(&sparks, 0), 2 * danger(&calm, 0));
        assert_eq!(danger(&seen, 0), 2 * danger(&calm, 0));
        assert_eq!(danger(&sparks, 2 * MINUTE_MS), danger(&calm, 2 * MINUTE_MS), "it has ended");
    }
}
