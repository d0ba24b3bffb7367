//! The dated bands that come with a new register, against the published limits: at each limit, and just below it.

use std::collections::HashSet;

use slackwater::db::Db;
use slackwater::science::classes::{
    ClassRow, Scheme, Signal, StorageRow, Use, class_at, storage_at,
};
use slackwater::science::quantity::{MassFraction, in_kilograms};
use slackwater::site::store;

/// What a new register holds.
pub struct Bands {
    eu: Vec<ClassRow>,
    us: Vec<ClassRow>,
    fire: Vec<StorageRow>,
}

/// A hair under a limit.
const JUST_UNDER: f64 = 1e-4;

fn percent(percent: f64) -> MassFraction {
    MassFraction::from_percent(percent).unwrap()
}

fn says(bands: &[ClassRow], at: f64, statement: &str) -> bool {
    let band = class_at(bands, Scheme::Hazard, percent(at)).unwrap();
    band.statements.iter().any(|code| code == statement)
}

impl Bands {
    /// Reads them from a fresh file that is made from the migrations.
    pub fn read() -> Self {
        let name = format!("slackwater-bands-{}.db", std::process::id());
        let file = std::env::temp_dir().join(name);
        let runtime = tokio::runtime::Runtime::new().unwrap();
        let bands = runtime.block_on(async {
            let db = Db::open(&file).await.unwrap();
            let mut conn = db.read().await.unwrap();
            let mut of = async |rule_set| {
                let bands = store::bands(&mut conn, rule_set).await.unwrap();
                bands.into_iter().map(|band| band.class).collect()
            };
            let (eu, us) = (of("eu").await, of("us").await);
            let fire = store::storage::bands(&mut conn, "us").await.unwrap();
            drop(conn);
            db.close().await;
            let fire = fire.into_iter().map(|band| band.row).collect();
            Self { eu, us, fire }
        });
        for end in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(format!("{}{end}", file.display()));
        }
        bands
    }

    /// Whether the EU's bands carry a statement from a strength on, inclusive, and no more from another on.
    pub fn between(&self, statement: &str, from: f64, below: f64) -> bool {
        let says = |at| says(&self.eu, at, statement);
        says(from) && says(below - JUST_UNDER) && !says(from - JUST_UNDER) && !says(below)
    }

    /// The whole label of a strength in the EU.
    pub fn label(&self, at: f64) -> (Signal, HashSet<&str>) {
        let band = class_at(&self.eu, Scheme::Hazard, percent(at)).unwrap();
        let codes = band.statements.iter().chain(&band.pictograms);
        (band.signal, codes.map(String::as_str).collect())
    }

    /// Whether a solution is said to damage eyes in the US and only to irritate them in the EU.
    pub fn differ_at(&self, at: f64) -> bool {
        says(&self.us, at, "H318") && says(&self.eu, at, "H319") && !says(&self.eu, at, "H318")
    }

    /// The class of the fire code.
    pub fn fire_class(&self, at: f64) -> String {
        storage_at(&self.fire, percent(at))
            .unwrap()
            .class
            .words
            .clone()
    }

    /// The most that one control area may hold, in kilograms: kept, in closed and in open use.
    pub fn most(&self, at: f64) -> Vec<f64> {
        let most = storage_at(&self.fire, percent(at)).unwrap().most;
        [Use::Kept, Use::Closed, Use::Open]
            .map(|of| in_kilograms(most.of(of).unwrap()))
            .to_vec()
    }
}
