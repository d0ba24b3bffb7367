//! `slackwater serve`: the server, from opening the file to a clean stop.

use std::io::Write;
use std::net::SocketAddr;
use std::process::ExitCode;

use anyhow::Context;
use tokio::net::TcpListener;

use crate::clock::Clock;
use crate::config::Config;
use crate::db::Db;
use crate::routes;
use crate::state::App;

#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    pub config: Config,
}

pub fn run(args: Args) -> anyhow::Result<ExitCode> {
    start_log();
    runtime()?.block_on(async {
        let app = open(args.config).await?;
        serve(app, "").await
    })?;
    Ok(ExitCode::SUCCESS)
}

/// Opens the database in the data folder, which is made if it is missing.
pub async fn open(config: Config) -> anyhow::Result<App> {
    std::fs::create_dir_all(&config.data)
        .with_context(|| format!("the data folder {} cannot be made", config.data.display()))?;
    let file = config.database();
    let db = Db::open(&file)
        .await
        .with_context(|| format!("the database {} cannot be opened", file.display()))?;
    Ok(App::new(db, Clock::System, config))
}

/// Answers until it is told to stop, then finishes what is being answered, ten seconds at most.
pub async fn serve(app: App, greeting: &str) -> anyhow::Result<()> {
    let listen = app.config.listen;
    let listener = TcpListener::bind(listen)
        .await
        .with_context(|| format!("{listen} cannot be listened on"))?;
    let address = listener.local_addr()?;
    let mut out = std::io::stdout();
    // Nobody may be reading; that is no reason not to serve.
    let _ =
        writeln!(out, "Slackwater is at http://{address}\n{greeting}").and_then(|()| out.flush());
    let (db, asking) = (app.db.clone(), app.asking.clone());
    let (stopping, stopped) = tokio::sync::watch::channel(());
    let service = routes::router(app).into_make_service_with_connect_info::<SocketAddr>();
    let server = axum::serve(listener, service).with_graceful_shutdown(async move {
        told_to_stop().await;
        drop(stopping);
    });
    let give_up = async move {
        let mut stopped = stopped;
        let _ = stopped.changed().await;
        tokio::time::sleep(std::time::Duration::from_secs(10)).await;
    };
    tokio::select! {
        done = server.into_future() => done?,
        () = give_up => tracing::warn!("some answers took longer than ten seconds and were cut off"),
    }
    asking.stop_all();
    db.close().await;
    Ok(())
}

pub fn runtime() -> std::io::Result<tokio::runtime::Runtime> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
}

/// The log goes to standard error; `RUST_LOG` says how much.
pub fn start_log() {
    let filter = tracing_subscriber::EnvFilter::try_from_default_env()
        .unwrap_or_else(|_| "warn,slackwater=info".into());
    let _ = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .try_init();
}

async fn told_to_stop() {
    let interrupt = tokio::signal::ctrl_c();
    #[cfg(unix)]
    let terminate = async {
        match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
            Ok(mut signal) => {
                signal.recv().await;
            }
            Err(_) => std::future::pending().await,
        }
    };
    #[cfg(not(unix))]
    let terminate = std::future::pending::<()>();
    tokio::select! {
        _ = interrupt => {}
        () = terminate => {}
    }
}
