//! What a handler may hold.

use std::sync::Arc;

use crate::asking::Asking;
use crate::clock::Clock;
use crate::config::Config;
use crate::db::Db;
use crate::kept::Kept;
use crate::web::{Tries, Visits};

/// One per server; cloning it is cheap.
#[derive(Clone, Debug)]
pub struct App {
    pub db: Db,
    pub clock: Clock,
    pub config: Arc<Config>,
    /// Failed sign-ins of the last minutes.
    pub tries: Arc<Tries>,
    /// Pages that visitors asked for of late.
    pub visits: Arc<Visits>,
    /// Long questions to the planner, and how they stand.
    pub asking: Asking,
    /// The plan as it was last worked out.
    pub plan: Kept,
}

impl App {
    pub fn new(db: Db, clock: Clock, config: Config) -> Self {
        Self {
            db,
            asking: Asking::new(clock.clone()),
            clock,
            config: Arc::new(config),
            tries: Arc::default(),
            visits: Arc::default(),
            plan: Kept::default(),
        }
    }
}
