//! Passwords: length counts, composition does not (NIST SP 800-63B), hashed with argon2id.

use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};

use super::store;
use crate::state::App;
use crate::web::AppError;

/// A password as typed; it is never shown, logged or stored.
#[derive(Clone)]
pub struct Password(String);

impl std::fmt::Debug for Password {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Password(not shown)")
    }
}

impl Password {
    pub const SHORTEST: usize = 12;
    pub const LONGEST: usize = 200;

    pub fn parse(typed: &str) -> Result<Self, String> {
        match typed.chars().count() {
            n if n < Self::SHORTEST => Err(format!(
                "Use at least {} characters: a few words that only you put together.",
                Self::SHORTEST
            )),
            n if n > Self::LONGEST => Err(format!("Use at most {} characters.", Self::LONGEST)),
            _ => Ok(Self(typed.to_owned())),
        }
    }

    pub async fn hash(self) -> anyhow::Result<String> {
        hashed(self.0).await
    }
}

/// The hash of a password or a PIN. Hashing is slow on purpose, so it runs beside the requests, not
/// among them.
pub async fn hashed(secret: String) -> anyhow::Result<String> {
    let hashed = tokio::task::spawn_blocking(move || {
        Argon2::default()
            .hash_password(secret.as_bytes())
            .map(|hash| hash.to_string())
    })
    .await?;
    hashed.map_err(|error| anyhow::anyhow!("hashing failed: {error}"))
}

/// Whether this is the password of whoever signs in so: asked again before what a stranger at an open
/// screen must not do. Wrong ones count like those of a sign-in.
pub async fn is_own(app: &App, sign_in: &str, typed: String) -> Result<bool, AppError> {
    let now = app.clock.now();
    if !app.tries.allowed(sign_in, now) {
        return Err(AppError::TooManyTries);
    }
    let mut conn = app.db.read().await?;
    let hash = store::password_hash_of(&mut conn, sign_in).await?;
    drop(conn);
    let right = matches(typed, hash.map(|(_, hash)| hash)).await?;
    if right {
        app.tries.forget(sign_in);
    } else {
        app.tries.note_failure(sign_in, now);
    }
    Ok(right)
}

/// Whether what was typed is the password behind this hash. Without a hash the same work is done
/// and the answer is no, so that an unknown name takes as long as a wrong password.
pub async fn matches(typed: String, hash: Option<String>) -> anyhow::Result<bool> {
    Ok(
        tokio::task::spawn_blocking(move || match hash.as_deref().map(PasswordHash::new) {
            Some(Ok(hash)) => Argon2::default()
                .verify_password(typed.as_bytes(), &hash)
                .is_ok(),
            _ => {
                let _ = Argon2::default().hash_password(typed.as_bytes());
                false
            }
        })
        .await?,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_hash_is_argon2id_and_fits_only_its_password() {
        let hash = Password::parse("tide pools at noon")
            .unwrap()
            .hash()
            .await
            .unwrap();
        assert!(hash.starts_with("$argon2id$"));
        assert!(
            matches("tide pools at noon".to_owned(), Some(hash.clone()))
                .await
                .unwrap()
        );
        assert!(
            !matches("tide pools at none".to_owned(), Some(hash))
                .await
                .unwrap()
        );
        assert!(
            !matches("tide pools at noon".to_owned(), None)
                .await
                .unwrap()
        );
    }

    #[test]
    fn a_short_password_is_refused() {
        assert!(Password::parse("eleven char").unwrap_err().contains("12"));
        assert!(Password::parse("twelve chars").is_ok());
    }
}
