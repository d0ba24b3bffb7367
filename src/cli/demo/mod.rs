//! `slackwater demo`: the server with a site of ours to try everything on.
//!
//! The site is not written into tables. Its people sign in and send the same forms that readers send,
//! on a clock that starts two weeks ago, so that nothing stands in it that the pages would not allow.

mod person;
mod story;

use std::process::ExitCode;

use anyhow::{Context, bail};

use super::serve;
use crate::clock::Clock;
use crate::config::Config;
use crate::site;
use crate::state::App;

/// The folder of the demo, so that it never meets a site's own records.
const FOLDER: &str = "data-demo";

#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    pub config: Config,
}

pub fn run(args: Args) -> anyhow::Result<ExitCode> {
    serve::start_log();
    let mut config = args.config;
    if config.data.as_os_str() == crate::config::DATA {
        config.data = FOLDER.into();
    }
    serve::runtime()?.block_on(async {
        let app = serve::open(config).await?;
        furnish(&app).await?;
        serve::serve(app, &greeting()).await
    })?;
    Ok(ExitCode::SUCCESS)
}

/// Makes the demo site on an empty register; one that is there already goes on as it is.
pub async fn furnish(app: &App) -> anyhow::Result<()> {
    let mut conn = app.db.read().await?;
    let site = site::store::current(&mut conn).await?;
    drop(conn);
    match site {
        Some(site) if site.name.as_str() == story::SITE => Ok(()),
        Some(site) => bail!(
            "{} holds the records of {}; the demo needs a folder of its own",
            app.config.data.display(),
            site.name
        ),
        None => {
            let now = app.clock.now();
            story::tell(&app.db, &app.config, now)
                .await
                .context("the demo site cannot be made")
        }
    }
}

fn greeting() -> String {
    format!(
        "It shows {}, a site that does not exist.\nSign in as ines (coordinator), oda (lead) or tobit (hand); the password of each is: {}\n",
        story::SITE,
        story::PASSWORD
    )
}

/// The demo's own app: the same database, on a clock that the story moves.
fn on_clock(app: &crate::db::Db, config: &Config, clock: Clock) -> App {
    App::new(app.clone(), clock, config.clone())
}
