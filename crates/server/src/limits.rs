//! How often somebody may try: by address and by account or token.

use crate::problem::Problem;
use governor::clock::{Clock as _, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use std::fmt;
use std::num::NonZeroU32;

/// Bursts and refills, our own defaults.
pub(crate) struct Limits {
    sign_in: DefaultKeyedRateLimiter<String>,
    enrol: DefaultKeyedRateLimiter<String>,
    try_out: DefaultKeyedRateLimiter<String>,
    program: DefaultKeyedRateLimiter<String>,
    address: DefaultKeyedRateLimiter<String>,
}

impl fmt::Debug for Limits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Limits")
    }
}

impl Default for Limits {
    fn default() -> Limits {
        let per_minute = |n| NonZeroU32::new(n).expect("a quota is not zero");
        Limits {
            sign_in: RateLimiter::keyed(Quota::per_minute(per_minute(10))),
            enrol: RateLimiter::keyed(Quota::per_minute(per_minute(120))),
            program: RateLimiter::keyed(Quota::per_minute(per_minute(600))),
            address: RateLimiter::keyed(Quota::per_minute(per_minute(60))),
            try_out: RateLimiter::keyed(Quota::per_minute(per_minute(5))),
        }
    }
}

impl Limits {
    /// One try to sign in, by account name.
    pub(crate) fn sign_in(&self, account: &str) -> Result<(), Problem> {
        check(&self.sign_in, account)
    }

    /// One request of a program, by token.
    pub(crate) fn program(&self, token: &str) -> Result<(), Problem> {
        check(&self.program, token)
    }

    /// One try to come in, by the address that it comes from.
    pub(crate) fn address(&self, address: std::net::IpAddr) -> Result<(), Problem> {
        check(&self.address, &address.to_string())
    }

    /// One round of trial messages, by person.
    pub(crate) fn try_out(&self, person: &str) -> Result<(), Problem> {
        check(&self.try_out, person)
    }

    /// One request about an enrolment, by token or address.
    pub(crate) fn enrol(&self, token: &str) -> Result<(), Problem> {
        check(&self.enrol, token)
    }

    /// Forgets whoever may do everything again: strangers choose the names and tokens that are held here, and
    /// without this each would be held until the server stops.
    pub(crate) fn forget_the_quiet(&self) {
        for limiter in self.all() {
            limiter.retain_recent();
            limiter.shrink_to_fit();
        }
    }

    fn all(&self) -> [&DefaultKeyedRateLimiter<String>; 5] {
        [&self.sign_in, &self.enrol, &self.try_out, &self.program, &self.address]
    }
}

fn check(limiter: &DefaultKeyedRateLimiter<String>, key: &str) -> Result<(), Problem> {
    limiter.check_key(&key.to_owned()).map_err(|until| {
        let wait = until.wait_time_from(DefaultClock::default().now());
        Problem::TooMany { retry_s: wait.as_secs() + 1 }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_eleventh_try_waits_and_others_do_not() {
        let limits = Limits::default();
        assert!((0..10).all(|_| limits.sign_in("ines").is_ok()));
        assert!(matches!(limits.sign_in("ines"), Err(Problem::TooMany { retry_s: 1..=61 })));
        assert!(limits.sign_in("jon").is_ok());
    }

    /// A program may ask again a tenth of a second later, whoever tried to sign in ten times waits six seconds for
    /// the next try.
    #[test]
    fn who_was_quiet_is_forgotten_and_nobody_else() {
        let limits = Limits::default();
        assert!((0..10).all(|_| limits.sign_in("ines").is_ok()));
        for n in 0..1_000 {
            limits.program(&format!("made-up-{n}")).unwrap();
        }
        std::thread::sleep(std::time::Duration::from_millis(300));
        limits.forget_the_quiet();
        assert!(limits.program.is_empty(), "{} tokens are held", limits.program.len());
        assert!(limits.sign_in("ines").is_err(), "a limit that was reached still holds");
    }
}
