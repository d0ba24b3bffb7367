//! Passwords, hashed with argon2id. The rule is that of NIST SP 800-63B-4, section 3.1.1.2, for a
//! password that is the only factor: 15 characters or more, any characters in any mixture, none that
//! are commonly used or expected here, no change by the calendar, and the whole of it is compared.

use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};

pub use super::guessable::Avoid;
use super::store;
use crate::state::App;
use crate::web::AppError;

/// What stands beside the field of a new one.
pub const HINT: &str = "At least 15 characters: a few words that only you put together. Spaces are fine, and so is pasting from a password manager.";

/// A password as typed; it is never shown, logged or stored.
#[derive(Clone)]
pub struct Password(String);

impl std::fmt::Debug for Password {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Password(not shown)")
    }
}

impl Password {
    pub const SHORTEST: usize = 15;
    pub const LONGEST: usize = 200;

    pub fn parse(typed: &str, avoid: &Avoid) -> Result<Self, String> {
        match typed.chars().count() {
            n if n < Self::SHORTEST => Err(format!(
                "Use at least {} characters: a few words that only you put together.",
                Self::SHORTEST
            )),
            n if n > Self::LONGEST => Err(format!("Use at most {} characters.", Self::LONGEST)),
            _ => match avoid.why(typed) {
                Some(why) => Err(format!(
                    "Choose another: {why}. A few words that have nothing to do with each other are good."
                )),
                None => Ok(Self(typed.to_owned())),
            },
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
        let hash = Password::parse("tide pools at noon", &Avoid::default())
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
        let parse = |typed: &str| Password::parse(typed, &Avoid::default());
        assert!(parse("fourteen chars").unwrap_err().contains("15"));
        assert!(parse("fifteen charact").is_ok());
        assert!(parse(&"long enough! ".repeat(5)).is_ok(), "64 and more");
        assert!(
            parse("passwordpassword")
                .unwrap_err()
                .contains("Choose another")
        );
    }
}
