//! Passwords: argon2id, made and compared away from the threads that serve.

use crate::problem::Problem;
use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use std::collections::BTreeSet;
use words::{Lang, account, desk};

/// The shortest password (NIST SP 800-63B-4 section 3.1.1.2: 15 characters when it stands alone).
pub(crate) const LENGTH_MIN: usize = 15;
/// The longest: more only costs time.
pub(crate) const LENGTH_MAX: usize = 200;

/// What is wrong with a password that somebody chooses. `near` are words that whoever guesses tries
/// first: the sign-in name, the house's name.
pub(crate) fn fault(lang: Lang, password: &str, near: &[&str]) -> Option<&'static str> {
    match password.chars().count() {
        0..LENGTH_MIN => return Some(desk::password_short(lang)),
        length if length > LENGTH_MAX => return Some(desk::password_long(lang)),
        _ => {}
    }
    let lower = password.to_lowercase();
    let different: BTreeSet<char> = lower.chars().collect();
    let names = near.iter().copied().chain(["rattlewatch", "password", "contraseña"]);
    // What is left beside the name alone would be too short to stand.
    let mostly_name =
        names.map(str::to_lowercase).filter(|name| name.chars().count() > 3).any(|name| {
            lower.contains(&name) && lower.replace(&name, "").chars().count() < LENGTH_MIN / 2
        });
    (different.len() < DIFFERENT_MIN || mostly_name).then(|| account::password_easy(lang))
}

/// Fewer different characters are a pattern, not a password (our own default).
const DIFFERENT_MIN: usize = 6;

/// A hash that no password has, so that an unknown name costs as much time as a wrong password.
const NOBODY: &str = "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$\
6uS4mZ1nW3s0b1cPWwTz3m7cJXnM6w6Q0g2Zk4n0K4w";

/// Hashes a password that was just chosen.
pub(crate) async fn hash(password: String) -> Result<String, Problem> {
    in_background(move || {
        let hash = Argon2::default().hash_password(password.as_bytes());
        hash.map(|hash| hash.to_string()).map_err(|error| Problem::Machine(error.to_string()))
    })
    .await
}

/// Whether the password is the one that was hashed. Without a hash it takes as long and is false.
pub(crate) async fn matches(password: String, hash: Option<String>) -> Result<bool, Problem> {
    in_background(move || {
        let text = hash.as_deref().unwrap_or(NOBODY);
        let parsed =
            PasswordHash::new(text).map_err(|error| Problem::Machine(error.to_string()))?;
        Ok(Argon2::default().verify_password(password.as_bytes(), &parsed).is_ok())
    })
    .await
}

async fn in_background<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    tokio::task::spawn_blocking(work).await.map_err(|error| Problem::Machine(error.to_string()))?
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_guessed_first_is_no_password() {
        let near = ["rosa", "Lantern Guards"];
        for easy in [
            "short",
            "aaaaaaaaaaaaaaaaaaaa",
            "121212121212121212",
            "Lantern Guards1",
            "rattlewatch2026",
        ] {
            assert!(fault(Lang::En, easy, &near).is_some(), "{easy}");
        }
        for good in
            ["lanterns along the quay", "rosa walks the harbour at night", "ñandú y café con pan"]
        {
            assert_eq!(fault(Lang::En, good, &near), None, "{good}");
        }
    }

    #[tokio::test]
    async fn only_the_right_password_matches() {
        let kept = hash("a long night on the quay".to_owned()).await.unwrap();
        assert!(kept.starts_with("$argon2id$"));
        assert!(matches("a long night on the quay".to_owned(), Some(kept.clone())).await.unwrap());
        assert!(!matches("a long night on the quey".to_owned(), Some(kept)).await.unwrap());
        assert!(!matches("a long night on the quay".to_owned(), None).await.unwrap());
    }
}
