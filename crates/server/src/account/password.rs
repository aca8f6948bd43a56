//! Passwords: argon2id, made and compared away from the threads that serve.

use crate::problem::Problem;
use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};

/// The shortest password (NIST SP 800-63B-4 section 3.1.1.2: 15 characters when it stands alone).
pub(crate) const LENGTH_MIN: usize = 15;
/// The longest: more only costs time.
pub(crate) const LENGTH_MAX: usize = 200;

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

    #[tokio::test]
    async fn only_the_right_password_matches() {
        let kept = hash("a long night on the quay".to_owned()).await.unwrap();
        assert!(kept.starts_with("$argon2id$"));
        assert!(matches("a long night on the quay".to_owned(), Some(kept.clone())).await.unwrap());
        assert!(!matches("a long night on the quey".to_owned(), Some(kept)).await.unwrap());
        assert!(!matches("a long night on the quay".to_owned(), None).await.unwrap());
    }
}
