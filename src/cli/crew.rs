//! `slackwater crew password`: a way back in when nobody who may set a password can sign in. Whoever
//! can run it can read the database file anyway, so it opens no new door.

use std::io::Write;
use std::process::ExitCode;

use anyhow::{Context, bail};
use serde_json::json;

use super::serve::{open, runtime};
use crate::config::Config;
use crate::crew::password::{Avoid, Password};
use crate::crew::{link_store, store};
use crate::logbook::{self, Author, Entry};
use crate::state::App;

#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    /// Set a new password for somebody who signs in, print it once, and sign that person out everywhere
    Password {
        /// The sign-in name
        name: String,
        #[command(flatten)]
        config: Config,
    },
}

pub fn run(args: Args, out: &mut impl Write) -> anyhow::Result<ExitCode> {
    let What::Password { name, config } = args.what;
    let file = config.database();
    if !file.exists() {
        bail!("there is no database at {}", file.display());
    }
    runtime()?.block_on(async {
        let app = open(config).await?;
        let password = set_password(&app, &name).await?;
        app.db.close().await;
        writeln!(
            out,
            "{name} signs in with this password now, and changes it on the page 'Change your password':\n{password}"
        )?;
        Ok(ExitCode::SUCCESS)
    })
}

/// Gives a password that nobody chose, and says it.
async fn set_password(app: &App, name: &str) -> anyhow::Result<String> {
    let typed = drawn()?;
    let hash = Password::parse(&typed, &Avoid::default())
        .map_err(anyhow::Error::msg)?
        .hash()
        .await?;
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    let sign_in = name.trim().to_lowercase();
    let person = store::all(tx.conn())
        .await?
        .into_iter()
        .find(|person| !person.ended && person.sign_in.as_deref() == Some(&sign_in))
        .with_context(|| format!("nobody in the crew signs in as '{sign_in}'"))?;
    store::set_password(&mut tx, person.id, &hash).await?;
    link_store::end_of(&mut tx, person.id, now).await?;
    let entry = Entry::about(
        "person",
        person.id.get(),
        person.name.as_str(),
        "new password given",
    )
    .with(json!({ "how": "on the command line of the server" }));
    logbook::write(&mut tx, &Author::server(), entry, now).await?;
    tx.commit().await?;
    Ok(typed)
}

/// Four groups of five letters and figures that do not look alike: 32 to the power of 20 of them.
fn drawn() -> anyhow::Result<String> {
    const SIGNS: &[u8; 32] = b"abcdefghjkmnpqrstuvwxyz23456789+";
    let mut bytes = [0; 20];
    getrandom::fill(&mut bytes)
        .map_err(|error| anyhow::anyhow!("no randomness for a password: {error}"))?;
    let mut password = String::new();
    for (place, byte) in bytes.iter().enumerate() {
        if place > 0 && place % 5 == 0 {
            password.push('-');
        }
        // 32 divides 256, so each sign is as likely as the next.
        let sign = SIGNS.get(usize::from(byte % 32)).copied();
        password.push(char::from(sign.unwrap_or(b'a')));
    }
    Ok(password)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawn_password_is_long_and_not_drawn_twice() {
        let (one, other) = (drawn().unwrap(), drawn().unwrap());
        assert_eq!(one.len(), 23);
        assert!(Password::parse(&one, &Avoid::default()).is_ok());
        assert_ne!(one, other);
    }
}
