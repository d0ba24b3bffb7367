//! The database: readers that cannot write, and one writer.
//!
//! SQLite lets one connection write at a time. Here that is one connection in one pool, every write
//! transaction begins with `begin immediate`, and a function that writes takes `&mut WriteTx`: it
//! cannot be called outside a transaction, and it cannot slip onto another connection.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use sqlx::migrate::Migrator;
use sqlx::pool::PoolConnection;
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqlitePool, SqlitePoolOptions,
    SqliteSynchronous,
};
use sqlx::{Sqlite, Transaction};

use crate::clock::Moment;
use crate::web::{AppError, Once, Redirect};

/// The schema, every step of it.
pub static MIGRATOR: Migrator = sqlx::migrate!();

#[derive(Clone, Debug)]
pub struct Db {
    readers: SqlitePool,
    writer: SqlitePool,
    /// Writes of this server that were finished.
    writes: Arc<AtomicU64>,
}

impl Db {
    /// Opens the file, makes it if it is missing, and brings its schema up to date.
    pub async fn open(file: &Path) -> anyhow::Result<Self> {
        let options = SqliteConnectOptions::new()
            .filename(file)
            .create_if_missing(true)
            .foreign_keys(true)
            .journal_mode(SqliteJournalMode::Wal)
            // An answered write is on the disk, not only in the machine's memory.
            .synchronous(SqliteSynchronous::Full);
        let writer = SqlitePoolOptions::new()
            .max_connections(1)
            .min_connections(1)
            .idle_timeout(None)
            .max_lifetime(None)
            .test_before_acquire(false)
            .connect_with(options.clone())
            .await?;
        MIGRATOR.run(&writer).await?;
        let readers = SqlitePoolOptions::new()
            .max_connections(4)
            .test_before_acquire(false)
            .connect_with(options.create_if_missing(false).read_only(true))
            .await?;
        Ok(Self {
            readers,
            writer,
            writes: Arc::default(),
        })
    }

    pub async fn read(&self) -> sqlx::Result<PoolConnection<Sqlite>> {
        self.readers.acquire().await
    }

    /// Begins a write that no form asked for: start-up, import, the command line.
    pub async fn write(&self) -> sqlx::Result<WriteTx> {
        let tx = self.writer.begin_with("begin immediate").await?;
        Ok(WriteTx {
            tx,
            once: None,
            writes: Arc::clone(&self.writes),
        })
    }

    /// How many writes this server has finished: for as long as it is the same, and the logbook has no newer
    /// line from another program, the records are as they were.
    pub fn writes(&self) -> u64 {
        self.writes.load(Ordering::SeqCst)
    }

    /// Begins the write that a form asks for. If the same form was answered before, the earlier
    /// answer is given again and nothing is written twice.
    pub async fn write_once(&self, once: &Once) -> Result<WriteTx, AppError> {
        let mut write = self.write().await?;
        if let Some(location) = seen(write.conn(), once).await? {
            return Err(AppError::AlreadyDone(location));
        }
        write.once = Some(once.clone());
        Ok(write)
    }

    /// Finishes what is being written and closes the file.
    pub async fn close(&self) {
        self.readers.close().await;
        self.writer.close().await;
    }
}

/// A write in progress. Dropped without `commit` or `finish`, nothing of it stays.
#[derive(Debug)]
pub struct WriteTx {
    tx: Transaction<'static, Sqlite>,
    once: Option<Once>,
    writes: Arc<AtomicU64>,
}

impl WriteTx {
    /// The connection inside this transaction, for reads and for the stores.
    pub fn conn(&mut self) -> &mut SqliteConnection {
        &mut self.tx
    }

    pub async fn commit(self) -> sqlx::Result<()> {
        self.tx.commit().await?;
        self.writes.fetch_add(1, Ordering::SeqCst);
        Ok(())
    }

    /// Notes where the form's answer lies, commits, and sends the reader there.
    pub async fn finish(mut self, location: String, at: Moment) -> Result<Redirect, AppError> {
        let location = match &self.once {
            Some(once) => once.onward(location),
            None => location,
        };
        if let Some(key) = self.once.as_ref().and_then(Once::key) {
            let key = key.to_owned();
            sqlx::query!(
                "insert into post_key (key, location, at) values (?1, ?2, ?3)",
                key,
                location,
                at
            )
            .execute(self.conn())
            .await?;
        }
        self.commit().await?;
        Ok(Redirect::to(location))
    }
}

async fn seen(conn: &mut SqliteConnection, once: &Once) -> sqlx::Result<Option<String>> {
    let Some(key) = once.key() else {
        return Ok(None);
    };
    sqlx::query_scalar!("select location from post_key where key = ?1", key)
        .fetch_optional(conn)
        .await
}

/// Whether an insert or update failed because the value of this column is taken, as in `system.name`.
pub fn taken(error: &sqlx::Error, column: &str) -> bool {
    error.as_database_error().is_some_and(|e| {
        e.is_unique_violation() && e.message().split([' ', ',']).any(|word| word == column)
    })
}

/// What SQLite itself finds wrong with the file: damaged pages and indexes, and rows that point at nothing.
pub async fn faults(conn: &mut SqliteConnection) -> sqlx::Result<Vec<String>> {
    let mut faults: Vec<String> = sqlx::query_scalar::<_, String>("pragma integrity_check")
        .fetch_all(&mut *conn)
        .await?;
    faults.retain(|line| line != "ok");
    let dangling = sqlx::query_scalar::<_, String>(
        "select \"table\" || ' row ' || coalesce(rowid, '?') || ' points at a missing ' || parent from pragma_foreign_key_check",
    )
    .fetch_all(&mut *conn)
    .await?;
    faults.extend(dangling);
    Ok(faults)
}
